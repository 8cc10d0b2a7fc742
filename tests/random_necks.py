"""Random designs of whole necks, over every family of keys. Number and seed give one again."""

import math
from typing import Any

import numpy as np

END = 0.12  # how often a figure lies at either end of its range
ROUND = 0.6  # how often it is a round one, as people write them: then places coincide


class Dice:
    """Figures at random, ends of ranges and round ones more often than chance has them."""

    def __init__(self, seed: int, number: int) -> None:
        self._random = np.random.default_rng([seed, number])

    def true(self, share: float = 0.5) -> bool:
        return bool(self._random.random() < share)

    def figure(self, low: float, high: float) -> float:
        where = self._random.random()
        if where < END:
            return float(low)
        if where > 1 - END:
            return float(high)
        found = float(self._random.uniform(low, high))
        return round(found * 2) / 2 if self.true(ROUND) and high - low > 2 else found

    def whole(self, low: int, high: int) -> int:
        return int(self._random.integers(low, high + 1))

    def one_of(self, *choices: Any) -> Any:
        return choices[self.whole(0, len(choices) - 1)]

    def or_nothing(self, low: float, high: float) -> float:
        return self.figure(low, high) if self.true(0.7) else 0.0


def random_neck(seed: int, number: int) -> dict[str, Any]:
    """A design as a file would hold it, in mm. Not every one is free of contradictions."""
    dice = Dice(seed, number)
    scale = dice.figure(330, 870)
    nut = dice.figure(35, 58)
    end = dice.whole(15, 22)
    board: dict[str, Any] = {"thickness": dice.figure(3, 8), "frets": end - dice.whole(1, 4)}
    design: dict[str, Any] = {"scale_length": scale, "fretboard": board}
    if dice.true(0.25):
        board |= {
            "treble_scale_length": scale - dice.figure(1, 0.05 * scale),
            "perpendicular_fret": dice.whole(0, 12),
        }
        design["strings"] = {
            "number": dice.whole(4, 8),
            "nut_edge_bass": dice.figure(2.5, 5),
            "nut_edge_treble": dice.figure(2.5, 5),
            "bridge_spread": dice.figure(40, 70),
        }
    if dice.true(0.4):
        faces = ["fretboard top", "fretboard sides", "neck sides"]
        design["finish"] = {
            "films": [{"thickness": dice.figure(0.02, 0.6)}],
            "masked": [face for face in faces if dice.true(0.6)],
        }
    neck: dict[str, Any] = {
        "nut_width": nut,
        "heel_width": nut + dice.figure(0, 18),
        "heel_end": f"fret {end}",
        "blank": {"length": 1500, "width": 300, "thickness": 120},
    }
    last = end
    if dice.true(0.2):
        last = _in_body(dice, design, neck, end)
    elif dice.true(0.75):
        heel = neck["heel"] = _heel(dice, neck["heel_width"])
        # stations lie before the heel's blend; a fret further for those that don't quite
        before = scale * (1 - 2 ** (-end / 12)) - heel["length"] - heel["blend"]
        last = math.floor(12 * math.log2(scale / (scale - before))) if before > 0 else 2
        last += dice.true(0.05)
    if dice.true(0.25) and neck.get("heel", {}).get("kind") not in ("carved", "through"):
        neck["heel_slant"] = dice.figure(-14, 14)
    neck["stations"] = _stations(dice, board["thickness"], min(last, 13))
    if dice.true(0.85):
        neck["headstock"] = _headstock(dice, nut)
    if dice.true(0.8):
        neck["truss_rod"] = _rod(dice, headed="headstock" in neck)
    return {**design, "neck": neck}


def _stations(dice: Dice, board: float, last: int) -> list[dict[str, Any]]:
    thickest = board + dice.figure(13, 18)
    found = []
    for fret in sorted({1, *(dice.whole(2, max(last, 2)) for _ in range(dice.whole(1, 3)))}):
        thickest += dice.figure(0, 2.5) if dice.true(0.8) else -1.0
        found.append({"at": f"fret {fret}", "thickness": thickest, "shape": _profile(dice)})
    return found


def _profile(dice: Dice) -> Any:
    def dials() -> dict[str, float]:
        return {"shoulder": dice.figure(0, 1), "keel": dice.figure(0, 1)}

    if dice.true(0.3):
        return dice.one_of("V", "soft V", "C", "D", "U")
    return dials() if dice.true() else {"bass": dials(), "treble": dials()}


def _rod(dice: Dice, *, headed: bool) -> dict[str, Any]:
    rod: dict[str, Any] = {
        "start": "nut" if dice.true(0.7) else dice.figure(3, 40),
        "end": f"fret {dice.whole(8, 15)}",
        "width": dice.figure(3, 8),
        "depth": dice.figure(5, 10),
    }
    if dice.true(0.3):
        rod["depth_middle"] = rod["depth"] + dice.figure(0.2, 2)
    if dice.true(0.3):
        rod["depth_heel"] = rod["depth"] + dice.figure(-2, 1)
    if dice.true():
        rod["access"] = {
            "at": dice.one_of("nut", "nut", "heel"),
            "length": dice.figure(5, 25),
            "width": dice.figure(6, 14),
            "depth": dice.figure(5, 10),
        }
        if headed and rod["access"]["at"] == "nut" and rod["start"] == "nut":
            rod["access"]["behind"] = dice.or_nothing(1, 30)
    return rod


def _headstock(dice: Dice, nut: float) -> dict[str, Any]:
    head: dict[str, Any] = {
        "thickness": dice.figure(9, 19),
        "blend_radius": dice.figure(8, 110),
        "transition": dice.figure(9, 55),
        "seat": dice.or_nothing(0.2, 8),
        "ramp": dice.or_nothing(4, 25),
    }
    face = dice.one_of("tilted", "dropped", "level")
    if face == "tilted":
        head["tilt"] = dice.figure(1, 18)
        if head["tilt"] >= 5 and dice.true(0.4):
            head["joint"] = "scarfed"
    elif face == "dropped":
        head["drop"] = dice.figure(0.5, 9)
    width = nut + dice.figure(8, 50)
    family = dice.one_of("straight", "waisted")
    outline: dict[str, Any] = {
        "family": family,
        "length": dice.figure(130, 230),
        "width": width,
        "end_width": width + dice.figure(-35, 15),
        "flare": dice.figure(15, 55),
        "corner_radius": dice.or_nothing(1, 14),
    }
    if family == "waisted":
        outline["waist"] = width - dice.figure(2, 25)
    if dice.true(0.4):
        outline |= {
            "aside": dice.figure(-9, 9),
            "end_aside": dice.figure(-25, 25),
            "slant": dice.figure(-35, 35),
        }
    if dice.true(0.25):
        head["drawn"] = _drawn(dice, nut)
        return head
    head["outline"] = outline
    if dice.true(0.6):
        head["tuners"] = _tuners(dice, outline, head["transition"])
    if dice.true(0.4):
        long = dice.figure(20, 60)
        head["volute"] = {
            "height": dice.figure(0.5, 5),
            "length": long,
            "width": min(dice.figure(12, 40), 0.85 * nut),
            "behind": long / 2 + dice.figure(-5, 8),
        }
    return head


def _drawn(dice: Dice, nut: float) -> dict[str, Any]:
    """A paddle by points, its two sides each on its own, its tip hooked now and then."""
    places = [20.0, 45.0, 80.0, 120.0, 160.0, 190.0]
    sides = []
    for _ in range(2):
        half, width = [nut / 2, nut / 2 + dice.figure(2, 9)], dice.figure(30, 44)
        half += [width, width + dice.figure(-8, 3), width + dice.figure(-8, 6), width]
        half.append(width - dice.figure(6, 20))
        sides.append(list(zip([0.0, *places], half, strict=True)))
    tip = [[205.0, -12.0], [dice.figure(178, 215), 0.0], [205.0, 12.0]]
    bass = [[x, -y] for x, y in sides[0]]
    treble = [[x, y] for x, y in reversed(sides[1])]
    smooth = dice.true(0.8)
    return {"points": [*bass, *tip, *treble], "smooth": smooth, "flare": dice.figure(8, 50)}


def _tuners(dice: Dice, outline: dict[str, Any], flat: float) -> list[dict[str, Any]]:
    number = dice.whole(1, 3)
    first = max(outline["flare"], flat, 30.0) + dice.figure(14, 25)
    row = {
        "diameter": dice.figure(6, 12),
        "behind": first,
        "number": number,
        "spacing": min(max(outline["length"] - first - 25, 45) / number, 78.0),
        "drift": dice.figure(-1, 1),
    }
    aside = outline["width"] / 2 - dice.figure(13, 18)
    sides = (1, -1) if dice.true(0.7) else (-1,)
    return [{**row, "aside": side * aside + outline.get("aside", 0.0)} for side in sides]


def _in_body(dice: Dice, design: dict[str, Any], neck: dict[str, Any], end: int) -> int:
    """A carved heel, or a core through the body, with the joint it needs.

    Returns the last fret on which a station may stand.
    """
    scale = design["scale_length"]
    edge = scale * (1 - 2 ** (-end / 12))
    leans = dice.or_nothing(0.2, 5)
    design["action"] = {"bass": 2.0, "treble": 1.6, "fret_height": 1.0, "nut_height": 1.5}
    design["bridge"] = {"height_lowest": 0.0, "height_highest": 60.0}
    design["joint"] = {"at": edge, "angle": leans}
    if dice.true():
        heel: dict[str, Any] = {
            "kind": "carved",
            "depth": dice.figure(45, 105),
            "blend": dice.figure(34, 70),
            "cap_length": dice.figure(4, 28),
            "cap_width": dice.figure(14, 34),
            "flank": dice.figure(-1, 1),
        }
        if dice.true():
            heel["tongue"] = {
                "length": dice.figure(10, 40),
                "width": dice.figure(12, 26),
                "depth": dice.figure(12, 44),
                "angle": dice.or_nothing(0.5, 4),
            }
        before = edge - heel["blend"] - heel["cap_length"] - 0.1 * heel["depth"]
        neck["heel_end"] = edge + heel.get("tongue", {}).get("length", 0.0)
    else:
        heel = {"kind": "through", "depth": dice.figure(26, 55), "blend": dice.figure(20, 110)}
        design["fretboard"]["beyond_last_fret"] = dice.figure(10, 60)
        if dice.true():
            heel["width"] = dice.figure(50, 80)
        before = edge - heel["blend"]
        neck["heel_end"] = scale + dice.figure(10, 150)
    neck["heel"] = heel
    return math.floor(12 * math.log2(scale / (scale - before))) if before > 0 else 2


def _heel(dice: Dice, neck_width: float) -> dict[str, Any]:
    long = dice.figure(25, 80)
    heel: dict[str, Any] = {
        "kind": dice.one_of("bolted", "tenon"),
        "length": long,
        "depth": dice.figure(10, 45),
        "blend": dice.figure(8, 60),
        "corner_radius": dice.or_nothing(1, 12),
    }
    if heel["kind"] == "tenon":
        heel |= {"width": neck_width - dice.figure(9, 25), "angle": dice.figure(0, 4)}
        return heel
    if dice.true(0.4):
        heel["width"] = neck_width + dice.figure(-2, 10)
    if dice.true(0.6):
        heel["holes"] = [
            {"from_end": from_end, "aside": side * (neck_width / 2 - 10), "diameter": 5.0}
            for from_end in (10.0, long - 10.0)[: 2 if long > 40 else 1]
            for side in (-1, 1)
        ]
    return heel


def random_heel_after_stations(seed: int, number: int) -> dict[str, Any]:
    """A neck with stations at the 1st and the 12th fret, and its heel end anywhere behind those.

    As common necks have them, of every scale: guitars from 560 to 650 mm, and basses. The blend's
    length is stated in half of them, whatever the station says to it.
    """
    dice = Dice(seed, number)
    scale = 864.0 if dice.true(0.15) else dice.figure(560, 650)
    board, nut, end = dice.figure(4.5, 7), dice.figure(40, 54), dice.whole(12, 24)
    first = dice.figure(19.5, 23)
    twelfth = first + dice.figure(0, 3)
    # as deep as the shaft comes to it, carried on to the heel end, or deeper
    deep = first + 2.2 * (twelfth - first) - board + dice.figure(0.5, 30)
    heel: dict[str, Any] = {
        "kind": dice.one_of("bolted", "tenon"),
        "length": dice.figure(35, 85),
        "depth": deep,
    }
    if heel["kind"] == "tenon":
        heel["width"] = nut - 12
    if dice.true(0.25):
        heel = {"kind": "carved", "depth": dice.figure(60, 90), "cap_length": dice.figure(6, 14)}
        heel |= {"cap_width": dice.figure(32, 40)}
    if dice.true():
        heel["blend"] = dice.figure(30 if heel["kind"] == "carved" else 10, 70)
    return {
        "scale_length": scale,
        "fretboard": {"thickness": board, "frets": end - 1},
        "neck": {
            "nut_width": nut,
            "heel_width": nut + dice.figure(8, 14),
            "heel_end": f"fret {end}",
            "blank": {"length": 1500, "width": 300, "thickness": 160},
            "stations": [
                {"at": "fret 1", "thickness": first, "shape": _profile(dice)},
                {"at": "fret 12", "thickness": twelfth, "shape": _profile(dice)},
            ],
            "heel": heel,
        },
    }
