"""Dials of an example turned at random, within their travel and beyond what can be made."""

import random
from pathlib import Path

from carve.design import parse, value_at
from carve.design.io.dials import dials
from carve.errors import DesignError
from carve.lab.state import LabState, opened
from trials.trial import Outcome, Trial

EXAMPLES = Path(__file__).parents[2] / "examples"
NAMES = ("siskin", "wren", "kite", "pipit")  # quick to make; mm and inches, two scale lengths
TURNS = 6


def turned_at_random(number: int) -> Outcome:
    """Turn six dials of an example, one after the other, and look at the state after each."""
    chance = random.Random(number)
    state = opened(EXAMPLES / f"{chance.choice(NAMES)}.toml").settled()
    numbers = [spec for spec in dials(state.opened) if spec.step is not None]
    refused = 0
    for _ in range(TURNS):
        spec = chance.choice(numbers)
        assert spec.lowest is not None
        assert spec.highest is not None
        near = chance.random() < 0.6  # most turns are small; the ends are seldom possible
        value = (
            spec.value + chance.uniform(-1, 1)
            if near
            else chance.choice(
                (spec.lowest, spec.highest, chance.uniform(spec.lowest, spec.highest))
            )
        )
        state = state.turned({spec.key: value}).settled()
        wrong = _wrong(state)
        if wrong:
            return Outcome("wrong", f"after {dict(state.turns)}: {wrong}")
        refused += state.made is None
    return Outcome("held", f"{refused} of {TURNS} turns could not be made")


def _wrong(state: LabState) -> str:
    """What is not as it should be, whatever was turned before; empty where all is."""
    fresh = opened_again(state)
    if fresh.problems != state.problems:
        return f"a new lab says {fresh.problems}, this one {state.problems}"
    if state.made is None:
        return _wrong_refusal(state)
    if state.refusal or state.notice or state.marks or state.held:
        return "what can be made is refused or marked"
    if fresh.design != state.design:
        return "a new lab has another design"
    if parse(state.rewritten()) != state.design:
        return "the file says something else than the dials"
    return ""


def opened_again(state: LabState) -> LabState:
    """A lab that has shown nothing yet, with its dials where these stand."""
    return LabState(state.text, state.opened, state.rounded).standing(state.turns).settled()


def _wrong_refusal(state: LabState) -> str:
    """The same of a state that cannot be made."""
    try:
        state.rewritten()
    except DesignError:
        pass
    else:
        return "what cannot be made is written"
    if not (state.refusal and state.notice and state.marks and state.held):
        return "what cannot be made is not said, not marked, or holds no dial"
    assert state.shown is not None
    for spec in dials(state.opened):
        says = state.turns.get(spec.key, value_at(state.opened, spec.key))
        if (value_at(state.shown.design, spec.key) != says) != (spec.key in state.held):
            return f"{spec.key} is shown elsewhere and not held, or held and not elsewhere"
    return ""


TRIAL = Trial(
    name="dials turned",
    claim="what can be made is what the dials say, to the last digit; what cannot is refused",
    count=300,
    once=turned_at_random,
)
