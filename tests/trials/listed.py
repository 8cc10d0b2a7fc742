"""Which trials there are."""

from trials import kills, lab_states
from trials.trial import Trial

TRIALS: tuple[Trial, ...] = (kills.TRIAL, lab_states.TRIAL)
