"""Which trials there are."""

from trials import (
    designs,
    drawings,
    kills,
    lab_states,
    mutants,
    plates,
    stations_by_heel,
    wire_ways,
)
from trials.trial import Trial

TRIALS: tuple[Trial, ...] = (
    designs.TRIAL,
    mutants.TRIAL,
    drawings.TRIAL,
    stations_by_heel.TRIAL,
    plates.TRIAL,
    wire_ways.TRIAL,
    lab_states.TRIAL,
    kills.TRIAL,
)
