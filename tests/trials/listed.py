"""Which trials there are."""

from trials.drawings import TRIAL as DRAWINGS
from trials.trial import Trial

TRIALS: tuple[Trial, ...] = (DRAWINGS,)
