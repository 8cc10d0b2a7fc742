"""Which trials there are."""

from trials import kills
from trials.trial import Trial

TRIALS: tuple[Trial, ...] = (kills.TRIAL,)
