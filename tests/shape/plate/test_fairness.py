"""That plates do what was asked of them and nothing besides, and that what does more is found."""

from dataclasses import replace

import numpy as np
import pytest
import shapely
from outlines import CUTAWAY, HORNED, LOPSIDED, WAISTED, curve, smooth
from scipy.signal import find_peaks
from trials.plates import TRIAL

from carve.arrays import Array
from carve.shape.numeric.bspline import Spline
from carve.shape.planar.outline import Outline
from carve.shape.plate.arch import ArchSurface, arch_surface, falloff_of, long_arch
from carve.shape.plate.carved_face import CarvedFace, RidgeWidth, make_foundation
from carve.shape.plate.contour_arch import ContourArch
from carve.shape.plate.fairness import highest_asked, highest_of, unasked
from carve.shape.plate.foundation import STIFFNESS, ArchFoundation, arch_foundation
from carve.shape.plate.request import Arch, Pad, StationHeight, Template
from carve.shape.plate.thin_plate import held, held_slope, plate

SEEN = 0.02  # mm, as limits.arch_fair has it
THREE = (StationHeight(140, 12.0), StationHeight(270, 15.0), StationHeight(380, 11.5))
ARCH = Arch(6, 18, 1.0, THREE)
ONE = replace(ARCH, stations=(StationHeight(270, 15.0),))
POINTS = {"waisted": WAISTED, "cutaway": CUTAWAY, "horned": HORNED, "lopsided": LOPSIDED}


def face(name: str, arch: Arch) -> CarvedFace:
    return CarvedFace(make_foundation(Outline(curve(name, POINTS[name])), arch.lines), arch)


def with_share_of_falloff(made: CarvedFace, share: float) -> CarvedFace:
    asked, surface = made.asked, made.surface
    assert isinstance(asked, Arch)
    assert isinstance(surface, ArchSurface)
    falloff = share * falloff_of(surface)
    return CarvedFace(made.foundation, replace(asked, falloff=falloff))


def groove(made: CarvedFace) -> float:
    """Mm of the deepest low on the centre line in any section across, by scipy's prominence."""
    on = made.foundation.arch
    assert on is not None
    deepest = 0.0
    for x in np.arange(on.reach[0] + 2, on.reach[1] - 2, 2.0):
        y = np.linspace(*on.span(x), 2001)
        z = made.surface(np.full_like(y, x), y)
        lows, told = find_peaks(-z, prominence=0.0)
        near = np.abs(y[lows]) < 20
        deepest = max(deepest, *told["prominences"][near], 0.0)
    return deepest


@pytest.mark.parametrize("name", ["waisted", "lopsided"])
@pytest.mark.parametrize("share", [0.6, 0.8])
def test_a_fuller_plate_has_no_groove_along_the_centre_line(name: str, share: float) -> None:
    """The long arch falls to the tail in a hollow, which a plate drawn to its height rounds."""
    fuller = with_share_of_falloff(face(name, ONE), share)
    assert groove(fuller) < SEEN / 4
    assert [one for one in unasked(fuller) if one.prominence > SEEN / 4] == []


def test_a_groove_is_told_as_deep_as_it_is() -> None:
    """A long arch that drops behind a pad pulls the plate down; scipy measures the groove too."""
    pad = Pad("bridge", ((325, -60), (350, -60), (350, 60), (325, 60)), 13.0)
    made = face("waisted", replace(ARCH, stations=(StationHeight(220, 16.0),), pads=(pad,)))
    worst = unasked(made)[0]
    assert worst.sort == "hollow across"
    assert worst.prominence > SEEN
    assert worst.prominence == pytest.approx(groove(made), abs=1e-3)
    assert worst.at[0] > 400
    assert worst.at[1] == pytest.approx(0.0, abs=0.2)


def test_a_dent_is_told_where_it_is() -> None:
    made = face("waisted", replace(ONE, falloff=90.0))
    surface = made.surface
    assert isinstance(surface, ArchSurface)
    lattice, coefficients = surface.rise.lattice, surface.rise.coefficients.copy()
    i, j = (int((at - low) / lattice.step) for at, low in zip((330, 70), lattice.low, strict=True))
    coefficients[i : i + 3, j : j + 3] -= 1.0
    dented = CarvedFace(made.foundation, made.asked)
    vars(dented)["surface"] = replace(surface, rise=Spline(lattice, coefficients))
    assert unasked(made) == [] or unasked(made)[0].prominence < SEEN
    worst = unasked(dented)[0]
    assert worst.prominence > 0.2
    assert worst.at == pytest.approx((330, 70), abs=8)


@pytest.mark.parametrize("name", POINTS)
@pytest.mark.parametrize("share", [None, 0.7])
def test_what_outline_and_recurve_make_is_asked_for(name: str, share: float | None) -> None:
    """Waist, cutaway and horns leave hollows in sections; none of them is told."""
    made = face(name, ONE if name != "horned" else replace(ONE, recurve=14, ledge=4))
    if share is not None:
        made = with_share_of_falloff(made, share)
    assert [one for one in unasked(made) if one.prominence > SEEN] == []


@pytest.mark.parametrize("name", ["waisted", "lopsided"])
def test_two_hills_that_the_stations_ask_for_are_asked_for(name: str) -> None:
    two = (StationHeight(120, 12.0), StationHeight(240, 9.0), StationHeight(360, 13.0))
    made = face(name, replace(ARCH, stations=two))
    assert [one for one in unasked(made) if one.prominence > SEEN] == []


def test_hills_that_a_template_asks_for_are_asked_for() -> None:
    hills = Template(210, ((-60.0, 15.0), (60.0, 15.0)))
    made = face("waisted", replace(ONE, templates=(hills,)))
    assert [one for one in unasked(made) if one.prominence > SEEN] == []


def test_plates_by_contours_have_what_their_outline_has() -> None:
    outline = Outline(curve("waisted", WAISTED))
    asked = ContourArch(6.0, ((20.0, 0.0), (60.0, 8.0), (100.0, 14.0)))
    made = CarvedFace(make_foundation(outline, RidgeWidth(12.0)), asked)
    assert unasked(made) == []
    assert highest_asked(made) == 14.0
    assert highest_of(made).value == pytest.approx(14.0, abs=1e-6)
    farther = CarvedFace(made.foundation, ContourArch(6.0, ((20.0, 0.0), (250.0, 14.0))))
    assert highest_of(farther).value < 13.0


@pytest.mark.parametrize("share", [None, 0.65])
def test_the_highest_point_is_that_of_dense_samples(share: float | None) -> None:
    """Every 0.25 mm all over, and every 0.02 mm around the highest of those."""
    made = face("lopsided", ARCH)
    if share is not None:
        made = with_share_of_falloff(made, share)
    found = highest_of(made)
    x, y = np.arange(0.0, 470.0, 0.25), np.arange(-130.0, 166.0, 0.25)
    z = made.surface.grid(x, y)
    region = shapely.Polygon(smooth(LOPSIDED))
    shapely.prepare(region)
    z[~shapely.contains_xy(region, x[:, None], y)] = -np.inf
    i, j = np.unravel_index(int(np.argmax(z)), z.shape)
    near = made.surface.grid(x[i] + np.arange(-0.5, 0.5, 0.02), y[j] + np.arange(-0.5, 0.5, 0.02))
    assert found.value == pytest.approx(near.max(), abs=1e-5)
    assert found.at == pytest.approx((x[i], y[j]), abs=0.5)
    assert highest_asked(made) == 15.0
    assert found.value > 15.1, "beside the centre line it rises above what was asked"
    assert found.at[1] > 3.0


def test_on_an_outline_that_is_the_same_on_both_sides_nothing_is_higher_than_asked() -> None:
    for made in (face("waisted", ARCH), with_share_of_falloff(face("waisted", ARCH), 0.7)):
        assert highest_of(made).value == pytest.approx(15.0, abs=1e-3)
        assert highest_of(made).at[1] == pytest.approx(0.0, abs=0.1)


def test_held_at_its_stations_alone_the_plate_would_lie_elsewhere() -> None:
    """So the long arch is a curve that it is held to along the whole centre line."""
    on = arch_foundation(smooth(WAISTED), ARCH.lines)
    x = np.linspace(on.reach[0] + 2, on.reach[1] - 2, 400)
    template = long_arch(on, ARCH)(x)
    along = arch_surface(on, ARCH)(x, np.zeros_like(x))
    assert along == pytest.approx(template, abs=0.02)
    alone = at_stations_alone(on, ARCH)(x, np.zeros_like(x)) - ARCH.depth
    assert 1.0 < np.abs(alone - template).max() < 10.0


def at_stations_alone(on: ArchFoundation, arch: Arch) -> Spline:
    """The rise of a plate that is clamped along the recurve and held at points."""
    points, square, stands_for = on.ring
    stations = np.array([(station.x, 0.0) for station in arch.stations])
    holds = [
        held(on.lattice, points, STIFFNESS * stands_for),
        held_slope(on.lattice, points, square, STIFFNESS * stands_for),
        held(on.lattice, stations, 1e4 * STIFFNESS),
    ]
    heights: Array = np.array([station.height + arch.depth for station in arch.stations])
    values = np.r_[np.zeros(2 * len(points)), heights]
    return plate(on.lattice, holds, share=on.share).through(values)


@pytest.mark.parametrize("number", range(4))
def test_a_falloff_puts_no_groove_on_a_random_plate(number: int) -> None:
    """``scripts/trials plates`` tries many more."""
    outcome = TRIAL.once(number)
    assert outcome.verdict == "held", outcome.said
