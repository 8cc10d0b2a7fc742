"""Which trials there are."""

from trials import designs
from trials.trial import Trial

TRIALS: tuple[Trial, ...] = (designs.TRIAL,)
