"""Which trials there are."""

from trials import drawings, mutants
from trials.trial import Trial

TRIALS: tuple[Trial, ...] = (mutants.TRIAL, drawings.TRIAL)
