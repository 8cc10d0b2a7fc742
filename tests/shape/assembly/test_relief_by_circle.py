"""How relief enters the neck angle: `carve keys`'s formula, worked out again by plain trigonometry.

Nothing of ``carve.shape`` is used for the answers here: frets by twelve equal semitones, the neck's
arc by its centre and radius, the straightedge by the distance of a point from a line, and the
angle by turning the saddle's contact until it lies right (plane trigonometry, by hand).
"""

import math
from dataclasses import dataclass
from pathlib import Path

import pytest

from carve.design import load, with_values
from carve.design.schema.design import Design
from carve.shape.assembly.side_view import side_view

EXAMPLES = Path(__file__).parents[3] / "examples"
SAME = 1e-7  # degrees between two ways of reckoning the same


@dataclass(frozen=True)
class Arc:
    """A neck that is straight from the body's edge on and round before it. radius: mm."""

    edge: float
    radius: float

    def rise(self, x: float) -> float:
        """mm above the straight part's line: the circle's centre stands square over its end."""
        ahead = max(self.edge - x, 0.0)
        return (
            0.0 if math.isinf(self.radius) else self.radius - math.sqrt(self.radius**2 - ahead**2)
        )

    def gap(self, first: float, last: float) -> float:
        """mm between the neck and a straightedge over two of its places, half way between."""
        (ax, az), (bx, bz) = ((x, self.rise(x)) for x in (first, last))
        x = (first + last) / 2
        return ((bx - ax) * (az - self.rise(x)) - (ax - x) * (bz - az)) / math.hypot(
            bx - ax, bz - az
        )


def arc_with(relief: float, edge: float, first: float, last: float) -> Arc:
    if relief == 0:
        return Arc(edge, math.inf)
    tight, wide = 2 * edge, 1e9
    for _ in range(200):
        middle = math.sqrt(tight * wide)
        tight, wide = (
            (middle, wide) if Arc(edge, middle).gap(first, last) > relief else (tight, middle)
        )
    return Arc(edge, tight)


def one_circle(relief: float, edge: float, first: float, last: float) -> Arc:
    """The arc whose sagitta over the whole straightedge is the relief: r = c^2 / 8h + h / 2."""
    return Arc(edge, (last - first) ** 2 / (8 * relief) + relief / 2)


def fret(design: Design, number: int) -> float:
    return design.scale_length * (1 - 2 ** (-number / 12))


def straightedge(design: Design) -> tuple[float, float]:
    return fret(design, 1), fret(design, design.fretboard.frets)


def edge_of(design: Design) -> float:
    place = design.joint.at
    return place.length if place.fret is None else fret(design, place.fret)


def angle_by_hand(design: Design, neck: Arc) -> float:
    """The neck angle in degrees, from the design's numbers and the neck's arc alone."""
    action, bridge, joint = design.action, design.bridge, design.joint
    crown = design.fretboard.thickness
    crown += 0.0 if design.finish is None else design.finish.on("fretboard top")
    over_first = action.nut_over == "1st fret"
    x0 = fret(design, 1) if over_first else 0.0
    z0 = crown + (action.fret_height if over_first else 0.0) + action.nut_height + neck.rise(x0)
    x12 = design.scale_length / 2
    z12 = crown + action.fret_height + (action.bass + action.treble) / 2 + neck.rise(x12)
    saddle = design.scale_length + bridge.compensation
    z = z0 + (z12 - z0) * (saddle - x0) / (x12 - x0)
    away = saddle - neck.edge
    height = (bridge.height_lowest + bridge.height_highest) / 2
    wanted = (bridge.height if bridge.height is not None else height) + (bridge.top_height or 0.0)
    low, high = -math.pi / 4, math.pi / 4
    for _ in range(100):  # turn the contact about the body's edge until it stands where it must
        angle = (low + high) / 2
        stands = (joint.height or 0.0) + away * math.sin(angle) + z * math.cos(angle)
        low, high = (angle, high) if stands < wanted else (low, angle)
    return math.degrees(low)


def asked(name: str, relief: float) -> Design:
    """An example on a flat top whose angle follows, with a relief in mm."""
    design = load(EXAMPLES / f"{name}.toml")
    changes = {"action.relief": relief, "body": None, "joint.angle": None, "joint.height": 2.0}
    return with_values(design, changes | {"bridge.top_height": 3.0, "neck.heel": None})


EXAMPLES_WITH_JOINT = ["heron", "redstart", "plover"]


@pytest.mark.parametrize("name", EXAMPLES_WITH_JOINT)
@pytest.mark.parametrize("relief", [0.0, 0.15, 0.3, 1.0])
def test_the_neck_angle_is_that_of_the_formula_in_the_reference(name: str, relief: float) -> None:
    design = asked(name, relief)
    neck = arc_with(relief, edge_of(design), *straightedge(design))
    side = side_view(design)
    assert side is not None
    assert math.degrees(side.angle) == pytest.approx(angle_by_hand(design, neck), abs=SAME)


@pytest.mark.parametrize("name", EXAMPLES_WITH_JOINT)
def test_one_circle_under_all_frets_would_be_one_or_two_hundredths_of_a_degree_off(
    name: str,
) -> None:
    design = asked(name, 0.3)
    ends = straightedge(design)
    assert ends[1] > edge_of(design), "the last frets lie over the body"
    ours = angle_by_hand(design, arc_with(0.3, edge_of(design), *ends))
    other = angle_by_hand(design, one_circle(0.3, edge_of(design), *ends))
    straight = angle_by_hand(design, Arc(edge_of(design), math.inf))
    assert 0.005 < ours - other < 0.025  # degrees, as the reference of keys says
    assert ours - straight > 0.1  # what relief makes in all


def test_before_the_body_a_fretless_neck_is_one_circle() -> None:
    """With the straightedge on nut and body's edge both ways are the same, by construction."""
    edge = 400.0
    relief = 0.4
    arc = arc_with(relief, edge, 0.0, edge)
    # the relief is the sagitta over the chord, which is a little longer than the neck is level
    chord = math.hypot(edge, arc.rise(0.0))
    assert arc.radius == pytest.approx(chord**2 / (8 * relief) + relief / 2, rel=1e-5)
