"""Which trials there are."""

from trials import plates
from trials.trial import Trial

TRIALS: tuple[Trial, ...] = (plates.TRIAL,)
