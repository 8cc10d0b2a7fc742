"""Which trials there are."""

from trials import mutants
from trials.trial import Trial

TRIALS: tuple[Trial, ...] = (mutants.TRIAL,)
