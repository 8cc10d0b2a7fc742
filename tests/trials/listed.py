"""Which trials there are."""

from trials import stations_by_heel
from trials.trial import Trial

TRIALS: tuple[Trial, ...] = (stations_by_heel.TRIAL,)
