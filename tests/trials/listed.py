"""Which trials there are."""

from trials import lab_states
from trials.trial import Trial

TRIALS: tuple[Trial, ...] = (lab_states.TRIAL,)
