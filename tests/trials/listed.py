"""Which trials there are."""

from trials.trial import Trial

TRIALS: tuple[Trial, ...] = ()
