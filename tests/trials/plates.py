"""Carved plates of random outlines and heights: a falloff puts no groove where there was none."""

import numpy as np
from outlines import curve

from carve.errors import ShapeError
from carve.shape.planar.outline import Outline
from carve.shape.plate.arch import ArchSurface, falloff_of
from carve.shape.plate.carved_face import CarvedFace, make_foundation
from carve.shape.plate.fairness import unasked
from carve.shape.plate.request import Arch, StationHeight
from trials.trial import Outcome, Trial

ADDED = 0.01  # mm, half of what limits.arch_fair allows
PLACES = (0, 25, 80, 140, 190, 250, 320, 380, 440, 474)  # mm along a body of 480 mm


def _side(rng: np.random.Generator) -> np.ndarray:
    """(n,) mm from the centre line: an upper bout, a waist and a lower bout."""
    lower, upper = rng.uniform(150, 200), rng.uniform(115, 150)
    waist = upper * rng.uniform(0.75, 0.95)
    shares = (0.45, 0.85, 1.0, 0.95)
    return np.array(
        [*(upper * share for share in shares), waist, 1.08 * waist]
        + [lower * share for share in (0.9, 1.0, 0.85, 0.45)]
    )


def _plate(number: int) -> tuple[Outline, Arch, float]:
    """An outline, the same on both sides or not, an arch on it and a share of its own falloff."""
    rng = np.random.default_rng(number)
    length = rng.uniform(380, 500) / 480
    treble = _side(rng)
    bass = treble if rng.random() < 0.5 else _side(rng)
    x = length * np.array(PLACES)
    up, down = np.column_stack([x, treble])[::-1], np.column_stack([x, -bass])
    points = [(480 * length, 0.0), *map(tuple, up), (0.0, 0.0), *map(tuple, down)]
    height = rng.uniform(12, 20)
    stations = [StationHeight(length * rng.uniform(240, 300), height)]
    if rng.random() < 0.6:
        stations.insert(0, StationHeight(140 * length, height * rng.uniform(0.6, 0.9)))
        stations.append(StationHeight(390 * length, height * rng.uniform(0.6, 0.85)))
    arch = Arch(6.0, rng.uniform(14, 20), rng.uniform(0, 1.5), tuple(stations))
    return Outline(curve("plate", points)), arch, rng.uniform(0.55, 1.05)


def once(number: int) -> Outcome:
    """Compare what stands out with a falloff and without."""
    outline, arch, share = _plate(number)
    try:
        natural = CarvedFace(make_foundation(outline, arch.lines), arch)
        assert isinstance(natural.surface, ArchSurface)
        asked = share * falloff_of(natural.surface)
        found = _most(CarvedFace(natural.foundation, _with(arch, asked)))
    except ShapeError as error:
        return Outcome("refused", str(error))
    before = _most(natural)
    said = f"falloff {asked:.1f} mm: {found:.3f} mm, without it {before:.3f} mm"
    return Outcome("held" if found <= before + ADDED else "wrong", said)


def _with(arch: Arch, falloff: float) -> Arch:
    return Arch(arch.ledge, arch.recurve, arch.depth, arch.stations, falloff=falloff)


def _most(face: CarvedFace) -> float:
    """Mm of what stands out most unasked."""
    return max((one.prominence for one in unasked(face)), default=0.0)


TRIAL = Trial("plates", "a falloff puts no groove where a thin plate has none", 200, once)
