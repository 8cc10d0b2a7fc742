"""Random designs of whole instruments, each from its number alone.

Of four families: an example with some of its dials turned; one with a body of its own outline,
pockets, chamber and carved faces; a neck alone; and any of them dressed with what is optional. Not
every one is free of contradictions.
"""

import math
from collections.abc import Callable
from functools import cache
from pathlib import Path
from typing import Any

from random_bodies import random_body
from random_necks import Dice, random_neck

from carve.design import Design, load
from carve.design.io.dials import DialSpec, dials
from carve.design.io.parse import read_key
from carve.design.schema.assembly import FACES
from carve.design.schema.design import plain
from carve.design.values.profile import LETTERS, Profile

SEED = 1618
EXAMPLES = Path(__file__).parents[1] / "examples"
NEAR = 0.7  # of the dials that are turned, those that are turned a little
STEP = 0.06  # of a dial's travel, how far these are turned, about

Data = dict[str, Any]


def random_design(number: int) -> Data:
    """A design in nested tables, lengths in mm, for ``read_design(data, "mm")``."""
    dice = Dice(SEED, number)
    share = dice.figure(0, 1)
    if share < 0.4:
        data = _turned(dice)
    elif share < 0.8:
        data = _with_own_body(dice)
    else:
        data = random_neck(SEED, number)
    _dress(dice, data)
    return data


@cache
def examples() -> dict[str, Design]:
    """Every example, by its name."""
    return {path.stem: load(path) for path in sorted(EXAMPLES.glob("*.toml"))}


def copied(value: Any) -> Any:
    """Nested tables and lists of their own."""
    if isinstance(value, dict):
        return {key: copied(inner) for key, inner in value.items()}
    return [copied(inner) for inner in value] if isinstance(value, list) else value


def _turned(dice: Dice) -> Data:
    """An example with a handful of its dials turned, now and then with most of them."""
    design = examples()[dice.one_of(*examples())]
    data: Data = copied(plain(design))
    # what an example leaves at nothing mostly does not go with its other choices
    found = [dial for dial in dials(design) if dial.value or dice.true(0.15)]
    many = dice.whole(1, 6) if dice.true(0.8) else dice.whole(6, 20)
    for _ in range(min(many, len(found))):
        dial = dice.one_of(*found)
        table: Any = data
        *way, last = read_key(dial.key)
        for step in way:
            table = table[step]
        table[last] = _turn(dice, dial)
    return data


def _turn(dice: Dice, dial: DialSpec) -> Any:
    if isinstance(dial.value, Profile):
        return random_profile(dice)
    lowest, highest = dial.lowest or 0.0, dial.highest or 0.0
    if not dice.true(NEAR):
        return dice.figure(lowest, highest)
    reach = STEP * (highest - lowest)
    low, high = max(dial.value - reach, lowest), min(dial.value + reach, highest)
    return dice.figure(low, max(low, high))


def random_profile(dice: Dice) -> Any:
    """A letter, two dials, or those of each side."""

    def side() -> Any:
        if dice.true():
            return dice.one_of(*LETTERS)
        return {"shoulder": dice.figure(0, 1), "keel": dice.figure(0, 1)}

    return side() if dice.true(0.7) else {"bass": side(), "treble": side()}


ON_BODIES = {
    "bolted": ("linnet", "merlin", "lapwing", "sanderling"),
    "tenon": ("brambling", "dotterel"),
    "carved": ("bittern", "dipper", "wigeon"),
}
"""Examples whose necks are laid on bodies of other shapes, by their heels."""


def _with_own_body(dice: Dice) -> Data:
    """A neck as an example has it, on a body as none has it."""
    heel = dice.one_of(*ON_BODIES)
    data: Data = copied(plain(examples()[dice.one_of(*ON_BODIES[heel])]))
    for station in data["neck"]["stations"]:
        station["shape"] = random_profile(dice)
        station["thickness"] += dice.figure(-0.5, 1.5)
    joint, design = data["joint"], data
    if dice.true(0.3):
        joint.pop("angle", None)
        joint.setdefault("height", 4.0)
    data["bridge"].pop("top_height", None)
    scale = float(design["scale_length"])
    at = joint["at"].mm(scale)
    data["body"] = random_body(
        dice, saddle=scale - at, heel=data["neck"]["heel"], height=joint.get("height", 4.0)
    )
    return data


def _dress(dice: Dice, data: Data) -> None:
    """What a design may have whatever it is: hand, unit, board, finish, covers, limits."""
    if dice.true(0.3):
        data["handed"] = "left"
        for outline in _outlines(data):
            if outline.get("file") is not None:
                outline["handed"] = dice.one_of("right", "left")
    data["units"] = dice.one_of("mm", "in")
    choices: tuple[Callable[[Dice, Data], None], ...] = (
        _board,
        _slots,
        _markers,
        _films,
        _strings,
        _limits,
    )
    for choice in choices:
        if dice.true(0.35):
            choice(dice, data)


def _outlines(data: Data) -> list[Data]:
    head = data["neck"].get("headstock", {}).get("drawn")
    body = data.get("body", {}).get("outline")
    return [outline for outline in (head, body) if outline is not None]


def _board(dice: Dice, data: Data) -> None:
    board = data["fretboard"]
    nut = dice.figure(180, 420)
    board["radius"] = dice.one_of(
        "flat", nut, {"nut": nut, "end": nut + dice.figure(0, 200)}, {"nut": nut, "end": nut}
    )
    if "strings" in data and dice.true(0.3):
        board["radius"] = {"nut": nut, "follow": "strings"}
    kind = dice.one_of("ledge", "slot", "zero fret")
    board["nut"] = kind
    board.pop("nut_slot", None)
    board["behind"] = 0.0 if kind == "ledge" else dice.figure(4, 9)
    head = data["neck"].get("headstock")
    if head is not None:
        head["seat"] = max(head.get("seat", 5.0), board["behind"])
    if kind == "slot":
        board["nut_slot"] = {"width": dice.figure(3, 4), "depth": dice.figure(1, 3)}
    if dice.true(0.3):
        board["binding"] = {
            "thickness": dice.figure(0.5, 2.5),
            "around": dice.one_of("sides", "sides and end"),
        }
    if dice.true(0.3):
        board["blank"] = {
            "length": dice.figure(450, 800),
            "width": dice.figure(55, 80),
            "thickness": board["thickness"] + dice.figure(0.5, 4),
            "allowance": 0.5,
        }


def _slots(dice: Dice, data: Data) -> None:
    board = data["fretboard"]
    deepest = max(min(board["thickness"] - 1.3, 4.0), 0.8)
    slots: Data = {"width": dice.figure(0.4, 0.8), "depth": dice.figure(0.8, deepest)}
    slots["floor"] = dice.one_of("radius", "flat")
    slots["blind"] = dice.or_nothing(1, 3) if dice.true() else 0.0
    if dice.true(0.4):
        slots["tang"] = slots["depth"] - (dice.figure(0, 0.4) if dice.true() else 0.0)
    board["slots"] = slots


def _markers(dice: Dice, data: Data) -> None:
    board = data["fretboard"]
    if board.get("frets", 0) < 3:
        return
    board["markers"] = {
        "frets": [fret for fret in (3, 5, 7, 9, 12, 15, 17, 19, 21) if fret <= board["frets"]],
        "diameter": dice.figure(2, 7),
        "depth": dice.figure(0.5, 2.5),
        "spacing": dice.figure(14, 24),
    }


def _films(dice: Dice, data: Data) -> None:
    films, masked = [], []
    for face in FACES:
        if dice.true(0.6):
            films.append({"on": [face], "thickness": dice.figure(0.03, 0.4)})
        elif dice.true():
            masked.append(face)
    if films:
        data["finish"] = {"films": films, "masked": masked}


def _strings(dice: Dice, data: Data) -> None:
    if "strings" not in data or data["fretboard"].get("treble_scale_length"):
        return
    strings = data["strings"]
    strings.pop("gauges", None)
    number = dice.whole(4, 9)
    strings["number"] = number
    strings["nut_spacing"] = strings["bridge_spacing"] = "even centres"
    if dice.true(0.4):
        strings["gauges"] = [round(1.3 * 0.8**place, 3) for place in range(number)]
        strings["nut_spacing"] = "even gaps"
    strings["bridge_spread"] = dice.figure(44, 56)


def _limits(dice: Dice, data: Data) -> None:
    """Limits that lie where a figure of the design lies: then equal ones are compared."""
    limits, board = data.setdefault("limits", {}), data["fretboard"]
    slots = board.get("slots") or {}
    if slots.get("depth"):
        limits["board_under_slots"] = max(board["thickness"] - slots["depth"], 0.0)
    body = data.get("body", {})
    for pocket in body.get("pockets", ()):
        if isinstance(pocket["depth"], float) and pocket.get("kind") != "cover recess":
            left = max(body["thickness"] - pocket["depth"], 0.0)
            limits[
                "wood_over_pockets" if pocket.get("face") == "back" else "wood_under_pockets"
            ] = left
    hollow = body.get("hollow") or {}
    if hollow.get("top"):
        limits["hollow_plate"] = hollow["top"]
    if hollow:
        limits["hollow_rim"] = hollow["rim"]
    heights = [
        data.get("bridge", {}).get(name, 0.0) for name in ("height_lowest", "height_highest")
    ]
    if heights[1] > heights[0] and dice.true(0.3):
        limits["bridge_spare"] = math.floor(heights[1] - heights[0]) / 2
    for name in ("pocket_play", "neck_height", "cover_gap", "action"):
        if dice.true(0.3):
            limits[name] = dice.figure(0.02, 0.5)
