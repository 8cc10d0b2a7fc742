"""That an arch is what the builder asked for: heights, ledge, recurve, falloff, pads."""

from dataclasses import replace

import numpy as np
import pytest
import shapely
from outlines import CUTAWAY, HORNED, WAISTED, smooth

from carve.arrays import Array
from carve.errors import DesignError
from carve.parts.sentences.said import in_sentences
from carve.shape.plate.arch import (
    arch_surface,
    falloff_of,
    long_arch,
    map_on,
    places_on,
)
from carve.shape.plate.foundation import ArchFoundation, arch_foundation
from carve.shape.plate.request import Arch, Pad, StationHeight, Template

EXACT = 1e-3  # mm
THREE = (StationHeight(140, 12.0), StationHeight(270, 18.0), StationHeight(390, 13.0))
ARCH = Arch(6, 16, 1.0, THREE)
OUTLINES = {"waisted": smooth(WAISTED), "cutaway": smooth(CUTAWAY), "horned": smooth(HORNED)}
ARCHES = {
    "waisted": ARCH,
    "cutaway": replace(ARCH, depth=1.2),
    "horned": Arch(
        4, 14, 0.8, (StationHeight(160, 9.0), StationHeight(230, 12.0), StationHeight(320, 10.0))
    ),
}


@pytest.fixture(scope="module")
def grounds() -> dict[str, ArchFoundation]:
    return {name: arch_foundation(OUTLINES[name], ARCHES[name].lines) for name in OUTLINES}


@pytest.fixture(scope="module")
def waisted(grounds: dict[str, ArchFoundation]) -> ArchFoundation:
    return grounds["waisted"]


def inside(outline: Array, depth: float, spacing: float = 3.0) -> Array:
    """(n, 2) mm: places further inside an outline than ``depth`` mm."""
    region = shapely.Polygon(outline).buffer(-depth)
    low_x, low_y, high_x, high_y = region.bounds
    x, y = np.meshgrid(np.arange(low_x, high_x, spacing), np.arange(low_y, high_y, spacing))
    points = np.stack([x.ravel(), y.ravel()], axis=1)
    return points[shapely.contains_xy(region, points)]


def on_line(outline: Array, depth: float) -> Array:
    """(n, 2) mm on the outline's offset."""
    ring = shapely.segmentize(shapely.Polygon(outline).buffer(-depth).exterior, 2.0)
    return np.asarray(shapely.get_coordinates(ring))


@pytest.mark.parametrize("name", OUTLINES)
def test_heights_at_stations_are_exact(grounds: dict[str, ArchFoundation], name: str) -> None:
    surface = arch_surface(grounds[name], ARCHES[name])
    for station in ARCHES[name].stations:
        height = surface(np.array([station.x]), np.zeros(1))
        assert height == pytest.approx(station.height, abs=EXACT)


@pytest.mark.parametrize("name", OUTLINES)
def test_the_long_arch_is_the_template(grounds: dict[str, ArchFoundation], name: str) -> None:
    """From recurve to recurve, and nowhere does the plate stand above its long arch's crown."""
    on = grounds[name]
    surface = arch_surface(on, ARCHES[name])
    x = np.linspace(*on.reach, 300)[3:-3]
    template = long_arch(on, ARCHES[name])(x)
    assert surface(x, np.zeros_like(x)) == pytest.approx(template, abs=0.02)
    highest = surface(*inside(OUTLINES[name], 1.0).T).max()
    assert highest <= max(station.height for station in ARCHES[name].stations) + 0.01


@pytest.mark.parametrize("name", OUTLINES)
def test_the_ledge_is_flat(grounds: dict[str, ArchFoundation], name: str) -> None:
    surface = arch_surface(grounds[name], ARCHES[name])
    ledge = ARCHES[name].ledge
    for depth in (0.05, ledge / 2, ledge - 0.3):
        assert surface(*on_line(OUTLINES[name], depth).T) == pytest.approx(0, abs=1e-3)


def test_the_recurve_is_lowest_and_level_at_its_depth(waisted: ArchFoundation) -> None:
    surface = arch_surface(waisted, ARCH)
    line = on_line(OUTLINES["waisted"], ARCH.recurve)
    jet = surface.jet(*line.T)
    assert jet.z == pytest.approx(-ARCH.depth, abs=EXACT)
    assert jet.steepness == pytest.approx(0, abs=2e-3)
    assert surface(*inside(OUTLINES["waisted"], 0.1).T).min() > -ARCH.depth - 0.02


def test_beyond_reach_of_the_recurve_a_horn_stays_whole() -> None:
    """Where a horn is narrower than ledge and recurve need, no step and no spike appears."""
    narrow = replace(ARCHES["horned"], ledge=9, recurve=22)
    surface = arch_surface(arch_foundation(OUTLINES["horned"], narrow.lines), narrow)
    jet = surface.jet(*inside(OUTLINES["horned"], 0.5).T)
    assert jet.z.min() > -narrow.depth - 0.02
    assert jet.steepness.max() < 0.5


def test_the_same_on_both_sides_of_the_centre_line(waisted: ArchFoundation) -> None:
    surface = arch_surface(waisted, replace(ARCH, falloff=70.0))
    points = inside(OUTLINES["waisted"], 1.0)
    left, right = surface(*points.T), surface(points[:, 0], -points[:, 1])
    assert left == pytest.approx(right, abs=2e-3)


def test_height_slope_and_curvature_have_no_jumps(waisted: ArchFoundation) -> None:
    """Along lines across ledge, recurve and centre line, second differences stay small."""
    surface = arch_surface(waisted, replace(ARCH, falloff=70.0))
    y = np.arange(-181.0, 181.0, 0.01)
    jet = surface.jet(np.full_like(y, 370.0), y)
    by_hand = np.gradient(jet.z, y)
    assert by_hand[5:-5] == pytest.approx(jet.zy[5:-5], abs=1e-4)
    again = np.gradient(jet.zy, y)
    assert again[5:-5] == pytest.approx(jet.zyy[5:-5], abs=1e-3)
    assert np.abs(np.diff(jet.zyy)).max() < 1e-3


def test_slopes_and_curvatures_by_differences(waisted: ArchFoundation) -> None:
    surface = arch_surface(waisted, ARCH)
    at = inside(OUTLINES["waisted"], 2.0, 11.0)
    x, y = at.T
    jet, h = surface.jet(x, y), 1e-4
    assert (surface(x + h, y) - surface(x - h, y)) / (2 * h) == pytest.approx(jet.zx, abs=1e-6)
    mixed = (surface.jet(x, y + h).zx - surface.jet(x, y - h).zx) / (2 * h)
    assert mixed == pytest.approx(jet.zxy, abs=1e-5)


@pytest.mark.parametrize("name", OUTLINES)
def test_falloff_is_a_dial_that_does_what_it_says(
    grounds: dict[str, ArchFoundation], name: str
) -> None:
    """Measured as at the bench: half of the rise on the widest section, from the recurve."""
    on, arch = grounds[name], ARCHES[name]
    natural = falloff_of(arch_surface(on, arch))
    for share in (0.6, 0.8, 0.95, 1.04):
        asked = share * natural
        surface = arch_surface(on, replace(arch, falloff=asked))
        low, high = on.span(on.widest)
        edge, way = (high, -1) if high >= -low else (low, 1)
        inward = np.linspace(0, max(high, -low), 4000)
        z = surface(np.full(4000, on.widest), edge + way * inward)
        crown = z[-1]
        half_way = inward[np.argmax(z >= (crown - arch.depth) / 2)]
        assert half_way == pytest.approx(asked, abs=0.1)
        for station in arch.stations:
            height = surface(np.array([station.x]), np.zeros(1))
            assert height == pytest.approx(station.height, abs=EXACT)


def test_a_falloff_out_of_reach_says_what_is_within(waisted: ArchFoundation) -> None:
    for asked, word in ((5.0, "less"), (165.0, "more")):
        with (
            pytest.raises(DesignError, match=rf"arch.falloff: {asked:g} mm .* {word} than"),
            in_sentences("mm"),
        ):
            arch_surface(waisted, replace(ARCH, falloff=asked))


def test_every_section_rises_once_and_falls_once(waisted: ArchFoundation) -> None:
    """No ripple: from the recurve up to the crown it only rises, with any falloff."""
    for falloff in (None, 50.0, 95.0):
        surface = arch_surface(waisted, replace(ARCH, falloff=falloff))
        for x in (150.0, 270.0, 374.0):
            low, _ = waisted.span(x)
            z = surface(np.full(400, x), np.linspace(low, 0, 400))
            assert np.diff(z).min() > -1e-3


def test_dials_turn_all_heights_together(waisted: ArchFoundation) -> None:
    """Twice the rise of everything is twice the rise everywhere."""
    once = arch_surface(waisted, ARCH)
    twice = arch_surface(
        waisted,
        replace(
            ARCH, depth=2.0, stations=tuple(StationHeight(s.x, 2 * s.height) for s in ARCH.stations)
        ),
    )
    points = inside(OUTLINES["waisted"], 0.5)
    assert twice(*points.T) == pytest.approx(2 * once(*points.T), abs=1e-6)


def test_a_cross_template_is_met_all_along_its_line() -> None:
    template = Template(210, ((-60.0, 9.0), (50.0, 12.0)))
    arch = replace(ARCH, templates=(template,))
    on = arch_foundation(OUTLINES["waisted"], arch.lines)
    surface = arch_surface(on, arch)
    y, height = np.array(template.heights).T
    assert surface(np.full_like(y, 210.0), y) == pytest.approx(height, abs=EXACT)
    low, high = on.span(210)
    z = surface(np.full(500, 210.0), np.linspace(low + 1, high - 1, 500))
    crown = float(long_arch(on, arch)(210.0))
    assert z.max() <= crown + 0.02
    assert z.min() >= -arch.depth - 0.02


@pytest.mark.parametrize(
    "pad",
    [
        Pad("bridge", ((325, -60), (350, -60), (350, 60), (325, 60)), 13.0),
        Pad("tilted", ((300, 20), (340, 20), (340, 60), (300, 60)), 2.0, 0.03, -0.05),
        Pad("neck", ((-20, -30), (85, -30), (85, 30), (-20, 30)), 0.0, 0.05),
    ],
    ids=lambda pad: pad.name,
)
def test_a_pad_is_flat(pad: Pad) -> None:
    arch = replace(ARCH, stations=(StationHeight(220, 16.0),), pads=(pad,))
    surface = arch_surface(arch_foundation(OUTLINES["waisted"], arch.lines), arch)
    region = pad.region.intersection(shapely.Polygon(OUTLINES["waisted"]))
    points = inside(np.asarray(region.exterior.coords), 0.01, 1.3)
    assert surface(*points.T) == pytest.approx(pad.at(*points.T), abs=0.02)


def test_a_station_on_a_pad_must_agree_with_it() -> None:
    pad = Pad("bridge", ((325, -60), (350, -60), (350, 60), (325, 60)), 13.0)
    arch = replace(ARCH, stations=(StationHeight(335, 15.0),), pads=(pad,))
    with (
        pytest.raises(DesignError, match=r"arch.stations\[0\].height: 15 mm stands on the pad"),
        in_sentences("mm"),
    ):
        arch_surface(arch_foundation(OUTLINES["waisted"], arch.lines), arch)


def _pad(x: float) -> Pad:
    return Pad("pad", ((x, 20.0), (x + 30, 20.0), (x + 30, 50.0), (x, 50.0)), 9.0)


def test_what_does_not_fit_is_said_in_one_sentence() -> None:
    for wrong, said in (
        ({"recurve": 5.0}, "arch.recurve: 5 mm must be more than the ledge's width"),
        ({"recurve": 190.0}, "arch.recurve: 190 mm from the edge nothing is left"),
        (
            {"stations": (StationHeight(475, 3.0),)},
            r"arch.stations\[0\].x: 475 mm is not on the long",
        ),
        ({"templates": (Template(200, ((0.0, 3.0),)),)}, r"arch.templates\[0\]: y = 0 mm must lie"),
        ({"templates": (Template(3, ((1.0, 3.0),)),)}, "arch.templates: at x = 3 mm"),
        (
            {"stations": (StationHeight(200, 9.0), StationHeight(200, 8.0))},
            "arch.stations: two heights stand",
        ),
        (
            {"templates": (Template(200, ((30.0, 3.0), (30.0, 4.0))),)},
            r"arch.templates\[0\].heights: two heights stand at y = 30 mm",
        ),
        ({"pads": (_pad(900),)}, r"arch.pads\[0\].points: the pad lies beside the body"),
        ({"pads": (_pad(200), _pad(235))}, r"arch.pads\[1\].points: .* too near"),
        (
            {"pads": (Pad("bow", ((200, 0), (220, 9), (200, 9), (220, 0)), 9.0),)},
            r"arch.pads\[0\].points: it must have at least 3 corners",
        ),
        (
            {"stations": (StationHeight(200, -3.0),), "falloff": 70.0},
            "arch.falloff: on the widest section, at x = .* does not rise",
        ),
        (
            {"templates": (Template(370, ((50.0, 9.0),)),), "falloff": 70.0},
            "arch.falloff: the cross template at x = 370 mm says already",
        ),
    ):
        arch = replace(ARCH, **wrong)
        with pytest.raises(DesignError, match=said) as raised, in_sentences("mm"):
            arch_surface(arch_foundation(OUTLINES["waisted"], arch.lines), arch)
        assert all("\n" not in problem for problem in raised.value.problems)


def test_a_waist_that_the_recurve_closes_is_refused() -> None:
    bow = np.array([[0, -50], [60, -15], [120, -50], [120, 50], [60, 15], [0, 50]], dtype=float)
    arch = Arch(4, 18, 1.0, (StationHeight(30, 4.0),))
    with (
        pytest.raises(DesignError, match=r"arch.recurve: 18 mm from the edge the body is parted"),
        in_sentences("mm"),
    ):
        arch_foundation(bow, arch.lines)


def test_a_map_and_places_are_the_surface(waisted: ArchFoundation) -> None:
    surface = arch_surface(waisted, ARCH)
    x, y = np.arange(0.0, 480, 7), np.arange(-180.0, 180, 7)
    assert map_on(waisted, x, y).heights(surface) == pytest.approx(surface.grid(x, y), abs=1e-12)
    points = inside(OUTLINES["waisted"], 1.0, 17.0)
    assert places_on(waisted, points).heights(surface) == pytest.approx(
        surface(*points.T), abs=1e-12
    )
