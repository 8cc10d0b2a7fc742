"""Which trials there are."""

from trials import kills, lab_states, plates, stations_by_heel, wire_ways
from trials.trial import Trial

TRIALS: tuple[Trial, ...] = (
    stations_by_heel.TRIAL,
    plates.TRIAL,
    wire_ways.TRIAL,
    lab_states.TRIAL,
    kills.TRIAL,
)
