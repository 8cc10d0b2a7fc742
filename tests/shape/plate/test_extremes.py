"""That highest points, tops, pits and hollows of known surfaces are told true."""

from dataclasses import dataclass

import numpy as np
import pytest
from scipy.ndimage import gaussian_filter, label
from scipy.optimize import minimize_scalar
from scipy.signal import find_peaks

from carve.arrays import Array
from carve.shape.numeric.jet import Jet
from carve.shape.plate.extremes import highest_point, hollows, pits, standing_water, tops

EVERYWHERE = np.ones((1, 1), dtype=bool)
LEAST = 1e-6  # mm


@dataclass(frozen=True)
class Cap:
    """A spherical cap, z = height - R + sqrt(R^2 - r^2), its apex beside all lines of the grid."""

    apex: tuple[float, float] = (41.37, -7.113)
    height: float = 16.0
    radius: float = 300.0

    def __call__(self, x: Array, y: Array) -> Array:
        r2 = (x - self.apex[0]) ** 2 + (y - self.apex[1]) ** 2
        return self.height - self.radius + np.sqrt(self.radius**2 - r2)

    def grid(self, x: Array, y: Array) -> Array:
        return self(x[:, None], y[None, :])

    def grid_jet(self, x: Array, y: Array) -> Jet:
        raise NotImplementedError


def test_the_top_of_a_spherical_cap_is_found() -> None:
    cap = Cap()
    x, y = np.arange(-60.0, 140.0, 2.0), np.arange(-90.0, 90.0, 2.0)
    z = cap.grid(x, y)
    within = np.ones(z.shape, dtype=bool)
    highest = highest_point(cap, x, y, z, within)
    assert highest.value == pytest.approx(16.0, abs=1e-6)
    assert highest.at == pytest.approx(cap.apex, abs=0.01)
    assert z.max() < 16.0 - 1e-4, "the grid alone does not find it"
    (only,) = tops(z, within, 0.0)
    assert (x[only.row], y[only.column]) == pytest.approx(cap.apex, abs=1.0)
    assert only.prominence == pytest.approx(16.0, abs=0.01)
    assert pits(z, within) == []
    for rows in (z, z.T):
        assert len(hollows(rows, np.ones(rows.shape, dtype=bool), LEAST).depth) == 0


def test_an_egg_box_has_as_many_tops_and_pits_as_it_says() -> None:
    """cos x cos y: 1 where both are even multiples of pi, or both odd; passes of 0 between."""
    x = np.linspace(-np.pi / 2, 4.5 * np.pi, 1001)
    y = np.linspace(-np.pi / 2, 3.5 * np.pi, 801)  # 5 by 4 cells, a top or a pit in each
    z = np.cos(x)[:, None] * np.cos(y)
    within = np.ones(z.shape, dtype=bool)
    # at a corner of the box, between two passes, rounding makes a top of its own
    high = [top for top in tops(z, within, -1.0) if top.prominence > LEAST]
    low = pits(z, within)
    assert (len(high), len(low)) == (10, 10)
    assert high[0].prominence == pytest.approx(2.0, abs=1e-3), "to the base that was given"
    # from cell to cell of a colour one goes over a corner, which is a pass of height 0
    assert [top.prominence for top in high[1:]] == pytest.approx([1.0] * 9, abs=1e-2)
    assert [pit.prominence for pit in low] == pytest.approx([1.0] * 10, abs=1e-2)


@pytest.mark.parametrize("seed", range(6))
def test_tops_are_born_and_end_as_scipy_counts_the_islands(seed: int) -> None:
    """What stands out of a flood of any level falls into as many islands as tops say."""
    rng = np.random.default_rng(seed)
    z = gaussian_filter(rng.normal(size=(60, 50)), 2.0)
    within = gaussian_filter(rng.normal(size=z.shape), 6.0) > -0.05
    found = tops(z, within, -np.inf)
    assert len(found) > 5
    for level in np.quantile(z[within], [0.1, 0.3, 0.5, 0.7, 0.9, 0.97]):
        _, islands = label(within & (z >= level), structure=np.ones((3, 3)))
        alive = [
            top
            for top in found
            if z[top.row, top.column] >= level > z[top.row, top.column] - top.prominence
        ]
        assert len(alive) == islands


@pytest.mark.parametrize("seed", range(3))
def test_pits_are_as_deep_as_their_water(seed: int) -> None:
    """Islands of the surface upside down, of which those at the shore have run off."""
    rng = np.random.default_rng(seed)
    z = gaussian_filter(rng.normal(size=(60, 50)), 2.0)
    within = np.ones(z.shape, dtype=bool)
    found = pits(z, within)
    border = np.ones(z.shape, dtype=bool)
    border[1:-1, 1:-1] = False
    for level in np.quantile(z, [0.1, 0.3, 0.5]):
        lakes, count = label(z <= level, structure=np.ones((3, 3)))
        closed = set(range(1, count + 1)) - set(lakes[border].tolist())
        alive = [
            pit
            for pit in found
            if z[pit.row, pit.column] <= level < z[pit.row, pit.column] + pit.prominence
        ]
        assert len(alive) == len(closed)


def test_hollows_of_sections_are_as_deep_as_scipys_peaks_stand_out() -> None:
    rng = np.random.default_rng(3)
    z = np.cumsum(rng.normal(size=(40, 150)), axis=1)
    found = hollows(z, np.ones(z.shape, dtype=bool), LEAST)
    assert len(found.depth) > 300
    for row in range(len(z)):
        lows, told = find_peaks(-z[row], prominence=0.0)
        prominence = dict(zip(lows.tolist(), told["prominences"].tolist(), strict=True))
        here = found.row == row
        for bottom, depth in zip(found.bottom[here].tolist(), found.depth[here], strict=True):
            assert depth == pytest.approx(prominence[bottom], abs=1e-9)


def test_a_groove_that_falls_all_along_is_no_pit_but_a_hollow_across() -> None:
    """Its depth by scipy's minimum and maximum of the section's own formula."""

    def section(y: float) -> float:
        return -1e-4 * y**2 - 0.05 * np.exp(-((y / 5) ** 2))

    bank = minimize_scalar(lambda y: -section(y), bounds=(1, 30), method="bounded").x
    depth = section(bank) - section(0.0)
    assert depth > 0.02
    x, y = np.arange(0.0, 200.0, 2.0), np.arange(-80.0, 80.5, 0.5)
    z = 10 - 0.05 * x[:, None] + np.vectorize(section)(y)
    within = np.ones(z.shape, dtype=bool)
    assert pits(z, within) == []
    found = hollows(z, within, LEAST)
    assert len(found.depth) == len(x)
    assert found.depth == pytest.approx(depth, abs=1e-4)
    assert y[found.bottom] == pytest.approx(0.0)
    assert y[found.last] == pytest.approx(bank, abs=0.6)
    assert len(hollows(z.T, within.T, LEAST).depth) == 0


def test_water_runs_off_where_a_section_is_parted() -> None:
    z = np.array([[5.0, 1.0, 5.0, 0.0, 0.0, 3.0, 2.0, 4.0]])
    within = np.array([[True, True, True, False, False, True, True, True]])
    assert standing_water(z, within)[0] == pytest.approx([0, 4, 0, 0, 0, 0, 1, 0], abs=1e-9)
    assert standing_water(z, ~within)[0] == pytest.approx(0.0)
    assert standing_water(z, EVERYWHERE | within)[0] == pytest.approx(
        [0, 4, 0, 4, 4, 1, 2, 0], abs=1e-9
    )
