"""The plate as a sum of fields is the plate itself, whatever was asked for before."""

from dataclasses import replace

import numpy as np
import pytest
from outlines import WAISTED, smooth

from carve.shape.numeric.bspline import fit_lines
from carve.shape.plate.arch import arch_surface, long_arch
from carve.shape.plate.foundation import arch_foundation
from carve.shape.plate.request import Arch, Pad, StationHeight, Template

OUTLINE = smooth(WAISTED)
PAD = Pad("bridge", ((250.0, -40.0), (290.0, -40.0), (290.0, 40.0), (250.0, 40.0)), 15.0, 0.01)
PLAIN = Arch(6, 16, 1.0, (StationHeight(140, 13.0), StationHeight(330, 14.0)))
ARCHES = [
    PLAIN,
    replace(PLAIN, pads=(PAD,)),
    Arch(5, 14, 0.5, (StationHeight(150, 12.0),), (Template(250.0, ((-90.0, 6.0), (70.0, 9.0))),)),
]


@pytest.mark.parametrize("arch", ARCHES[:2])
def test_the_sum_is_what_one_solution_for_these_heights_gives(arch):
    # LAPACK solves the plate with the heights themselves held, and knows nothing of fields
    on = arch_foundation(OUTLINE, arch.lines)
    long, places = long_arch(on, arch), on.centre_samples[:, 0]
    exact = np.array([station.x for station in arch.stations])
    held = [fit_lines(on.lattice, 0, (places, long(places)), (exact, long(exact)))]
    held += [pad.at(*samples.T) for pad, samples in zip(arch.pads, on.pad_samples, strict=True)]
    ring = np.zeros(2 * len(on.ring[0]))
    solved = on.natural.through(np.concatenate([ring, *(line + arch.depth for line in held)]))
    x, y = np.linspace(20, 450, 87), np.linspace(-120, 120, 49)
    summed = arch_surface(on, arch).rise.grid(x, y)
    assert np.abs(summed - solved.grid(x, y)).max() < 1e-6


@pytest.mark.parametrize("arch", ARCHES)
def test_heights_are_as_asked_whatever_was_asked_before(arch):
    on = arch_foundation(OUTLINE, arch.lines)
    for more in (0.0, 3.0, -2.0):
        first, *others = arch.stations
        moved = replace(arch, stations=(StationHeight(first.x, first.height + more), *others))
        surface = arch_surface(on, moved)
        asked = [(station.x, 0.0, station.height) for station in moved.stations]
        asked += [(line.x, y, height) for line in moved.templates for y, height in line.heights]
        x, y, heights = np.array(asked).T
        assert surface(x, y) == pytest.approx(heights, abs=1e-3)
