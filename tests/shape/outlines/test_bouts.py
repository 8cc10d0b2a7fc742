"""An outline from its bouts has the measures it was asked for, and no wiggle that was not.

Held against shapely (simple, and its widths by slicing) and against plain differentiation of
the curve's own points.
"""

from typing import Any

import numpy as np
import pytest
import shapely
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from carve.design.schema.bouts import Bouts, Cutaway
from carve.errors import DesignError
from carve.parts.sentences.said import in_sentences
from carve.shape.outlines.bouts import bouts_curve
from carve.shape.planar.curves import curve_extent
from carve.shape.planar.outline import polygon

PLAIN: dict[str, Any] = {
    "length": 480,
    "upper": 290,
    "upper_at": 100,
    "waist": 244,
    "waist_at": 195,
    "lower": 396,
    "lower_at": 350,
}
DOUBLE = {"bass": Cutaway(depth=58, horn=80), "treble": Cutaway(depth=84, horn=36, notch=42)}
PEAR = {"upper": 122, "upper_at": 40, "waist": 206, "waist_at": 150, "lower": 304, "length": 380}

KINDS: dict[str, dict[str, Any]] = {
    "single cutaway": {"treble": Cutaway(depth=96, horn=-14)},
    "double cutaway": DOUBLE,
    "offset waist": {**DOUBLE, "offset": 38},
    "hollow body": {},
    "pear": {**PEAR, "lower_at": 255},
}


def bouts(**changes: Any) -> Bouts:
    return Bouts.model_validate({**PLAIN, **changes})


def width_at(region: shapely.Polygon, x: float, side: int) -> float:
    """How far the region reaches from the centre line on one side of a line across."""
    cut = region.intersection(shapely.LineString([(x, 0), (x, side * 900)]))
    return float(abs(np.array(cut.bounds)[[1, 3]]).max())


@pytest.mark.parametrize("kind", KINDS)
def test_every_kind_has_the_measures_it_was_asked_for(kind: str) -> None:
    asked = bouts(**KINDS[kind])
    region = shapely.Polygon(polygon(bouts_curve(asked, "body.bouts"), 0.001))
    assert region.is_valid
    for side, cut in ((1, asked.treble), (-1, asked.bass)):
        aside = side * asked.offset / 2
        assert width_at(region, asked.upper_at + aside, side) == pytest.approx(
            asked.upper / 2, abs=0.05
        )
        assert width_at(region, asked.waist_at + aside, side) == pytest.approx(
            asked.waist / 2, abs=0.05
        )
        assert width_at(region, asked.lower_at + aside, side) == pytest.approx(
            asked.lower / 2, abs=0.05
        )
        half = region.intersection(shapely.box(-500, 0, 900, side * 900))
        assert half.bounds[0] == pytest.approx(min(0.0, -cut.horn if cut else 0.0), abs=0.05)
        assert half.bounds[2] == pytest.approx(asked.length, abs=0.05)
        if cut is not None:
            beside_neck = shapely.LineString([(-300, 0.0), (cut.depth - 0.5, 0.0)])
            notch = [
                shapely.affinity.translate(beside_neck, 0, side * y)
                for y in np.linspace(asked.joint / 2, asked.joint / 2 + cut.notch, 300)
            ]
            assert any(line.disjoint(region) for line in notch)
            deeper = [shapely.affinity.translate(line, 1.0, 0) for line in notch]
            assert not any(line.disjoint(region) for line in deeper)


@pytest.mark.parametrize("kind", KINDS)
def test_every_kind_is_fair(kind: str) -> None:
    curve = bouts_curve(bouts(**KINDS[kind]), "body.bouts")
    pieces = np.array(curve.pieces)
    starts, stops = pieces, np.roll(pieces, -1, axis=0)
    # C2: second differences of the control points on either side of a joint are the same
    before = starts[:, 3] - 2 * starts[:, 2] + starts[:, 1]
    after = stops[:, 2] - 2 * stops[:, 1] + stops[:, 0]
    assert np.allclose(before, after, atol=1e-9)
    # between hollows and swellings the edge turns as often as a body of that kind has places to:
    # one waist a side, and a corner and a notch for each horn
    ring = polygon(curve, 0.01)
    ways = np.unwrap(np.arctan2(*np.diff(np.vstack([ring, ring[:1]]), axis=0).T[::-1]))
    turning = np.diff(ways)
    signs = np.sign(turning[abs(turning) > 1e-4])
    changes = int((np.diff(np.concatenate([signs, signs[:1]])) != 0).sum())
    cuts = sum(cut is not None for cut in (bouts(**KINDS[kind]).bass, bouts(**KINDS[kind]).treble))
    assert changes <= 4 + 2 * cuts
    # a hollow tighter than a small cutter would be no use at the router
    concave = shapely.Polygon(ring).buffer(4.0).buffer(-4.0)
    assert concave.difference(shapely.Polygon(ring)).area < 2.0


@settings(max_examples=60, suppress_health_check=[HealthCheck.filter_too_much])
@given(data=st.data())
def test_any_measures_give_a_sound_outline_or_a_sentence(data: st.DataObject) -> None:
    def length(low: float, high: float) -> float:
        return data.draw(st.floats(low, high))

    def cutaway() -> Cutaway | None:
        return data.draw(
            st.none()
            | st.builds(
                Cutaway,
                depth=st.floats(15, 140),
                horn=st.floats(-60, 110),
                notch=st.floats(20, 80),
            )
        )

    asked = bouts(
        length=length(300, 560),
        upper=length(180, 420),
        upper_at=length(20, 220),
        waist=length(150, 400),
        waist_at=length(80, 320),
        lower=length(240, 480),
        lower_at=length(180, 440),
        joint=length(50, 100),
        offset=length(-50, 50),
        bass=cutaway(),
        treble=cutaway(),
    )
    try:
        with in_sentences("mm"):
            curve = bouts_curve(asked, "body.bouts")
    except DesignError as error:
        assert all(problem.startswith("body.outline.bouts") for problem in error.problems)  # noqa: PT017
        assert all(len(problem) < 300 for problem in error.problems)  # noqa: PT017
        return
    region = shapely.Polygon(polygon(curve, 0.01))
    assert region.is_valid
    _, high = curve_extent(curve)
    assert high[0] == pytest.approx(asked.length, abs=0.1)
    assert region.contains(shapely.Point(asked.length / 2, 0))


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ({"waist_at": 90}, "body.outline.bouts.waist_at: 90 mm is not allowed; more than 100 mm"),
        ({"lower_at": 490}, "body.outline.bouts.lower_at: 490 mm is not allowed"),
        (
            {"upper": 60},
            "body.outline.bouts.upper: 60 mm is not allowed; it is wider than the edge",
        ),
        (
            {"treble": Cutaway(depth=20, horn=-15)},
            "body.outline.bouts.treble.horn: -15 mm is not allowed",
        ),
        (
            {"bass": Cutaway(depth=200, horn=9)},
            "body.outline.bouts.bass.depth: 200 mm is not allowed",
        ),
        ({"bass": Cutaway(depth=60, horn=9, notch=90)}, "body.outline.bouts.bass.notch: 90 mm"),
        (
            {"upper": 400, "waist": 90, "lower": 400, "waist_at": 110, "lower_at": 120},
            "body.outline.bouts: no smooth outline goes through these measures",
        ),
    ],
)
def test_measures_that_do_not_go_together_are_told(changes: dict[str, Any], said: str) -> None:
    with pytest.raises(DesignError) as caught, in_sentences("mm"):
        bouts_curve(bouts(**changes), "body.bouts")
    assert any(problem.startswith(said) for problem in caught.value.problems), caught.value.problems
