"""How fast a carved plate follows its dials, against finite elements on the same machine.

    python tests/benchmarks/plate.py

What is timed, on a waisted plate of 480 x 370 mm
    ledge, recurve  the outline's lines moved: ground laid and factored anew, surface
    height          one height of the long arch moved: surface, 1 mm map, preview mesh
    falloff         the same with a falloff asked for
    plan, export    the mesh's plan for the preview and within 0.02 mm
    finite elements scikit-fem's Morley element, triangles of 3 mm, clamped and held on the same
                    lines: from nothing, and with its factor kept and only a height moved, each
                    with its heights read on the same map, straight between its corners

The two are then compared: where they differ, and how many times as fast ours is. No two repeats
have the same height. Only ratios within one run mean anything, so all is timed in turns.
"""

import argparse
import itertools
import json
import sys
from dataclasses import replace
from pathlib import Path

import numpy as np
import shapely
from neck import Times, total
from rich.console import Console
from rich.table import Table

sys.path.insert(0, str(Path(__file__).parents[1]))
from morley import MorleyPlate, morley_plate
from outlines import WAISTED, smooth

from carve.arrays import Array
from carve.parts.kind import EXPORT_CHORD
from carve.shape.plate.arch import arch_surface, long_arch, map_on, places_on
from carve.shape.plate.foundation import ArchFoundation, arch_foundation
from carve.shape.plate.request import Arch, StationHeight
from carve.solid.kit.triangulated_plan import plate_solid, triangulated_plan

OUTLINE = smooth(WAISTED)
ARCH = Arch(6, 16, 1.0, (StationHeight(140, 13.0), StationHeight(270, 18.0)))
FALLOFF = 70.0  # mm
DIAL_STEP = 0.0005  # mm; the height moves by this from one repeat to the next
PREVIEW_CHORD = 0.15  # mm
TRIANGLE = 3.0  # mm
HEIGHT_GOAL = 0.010  # s
LINES_GOAL = 0.5  # s
FASTER_GOAL = 10.0
SAME = 0.05  # mm


def map_lines() -> tuple[Array, Array]:
    low, high = OUTLINE.min(axis=0), OUTLINE.max(axis=0)
    return np.arange(low[0], high[0] + 1), np.arange(low[1], high[1] + 1)


def moved(arch: Arch, by: float) -> Arch:
    first, *others = arch.stations
    return replace(arch, stations=(StationHeight(first.x, first.height + by), *others))


def timed(repeats: int, warm_up: int) -> tuple[dict[str, Times], dict[str, float]]:
    names = (
        "lines moved", "factor for a falloff", "surface", "map", "preview mesh",
        "surface with falloff", "preview plan", "export plan", "elements, from nothing",
        "elements, factor kept", "elements, on the map",
    )  # fmt: skip
    times = {name: Times(name) for name in names}
    x, y = map_lines()
    wanted = replace(ARCH, falloff=FALLOFF)
    on = arch_foundation(OUTLINE, ARCH.lines)
    map_ = map_on(on, x, y)
    surface = arch_surface(on, wanted)
    stations = tuple((station.x, 0.0) for station in ARCH.stations)
    rim = np.asarray(on.inner.exterior.coords)[:-1]
    within = shapely.contains_xy(on.inner.buffer(-1.0), x[:, None], y[None, :])
    inside = np.stack(np.meshgrid(x, y, indexing="ij"), axis=-1)[within]
    other = morley_plate(rim, TRIANGLE)
    reader = other.reader(inside)
    preview = triangulated_plan(
        OUTLINE, [surface], PREVIEW_CHORD, ARCH.recurve, stations, (ARCH.ledge,)
    )
    places = places_on(on, preview.points)
    back = np.full(len(preview.points), -40.0)
    steps = itertools.count(1)
    for turn in range(warm_up + repeats):
        if turn == warm_up:
            for step in times.values():
                step.settle()
        by = DIAL_STEP * next(steps)
        with times["lines moved"].timed():
            again = arch_foundation(OUTLINE, replace(ARCH, recurve=ARCH.recurve + by).lines)
            arch_surface(again, ARCH)
        with times["factor for a falloff"].timed():
            _ = again.full
        with times["surface"].timed():
            plain = arch_surface(on, moved(ARCH, by))
        with times["surface with falloff"].timed():
            surface = arch_surface(on, moved(wanted, by))
        with times["map"].timed():
            map_.heights(surface)
        with times["preview mesh"].timed():
            plate_solid(preview, places.heights(surface), back)
        with times["preview plan"].timed():
            triangulated_plan(
                OUTLINE, [surface], PREVIEW_CHORD, ARCH.recurve, stations, (ARCH.ledge,)
            )
        with times["elements, from nothing"].timed():
            morley_plate(rim, TRIANGLE).through(held(on, moved(ARCH, by), other))
        with times["elements, factor kept"].timed():
            found = other.through(held(on, moved(ARCH, by), other))
        with times["elements, on the map"].timed():
            reader @ other.at_points(found)
        if turn < 2:
            with times["export plan"].timed():
                fine = triangulated_plan(OUTLINE, [surface], EXPORT_CHORD, ARCH.recurve, stations)
    if not times["export plan"].seconds:
        with times["export plan"].timed():
            fine = triangulated_plan(OUTLINE, [surface], EXPORT_CHORD, ARCH.recurve, stations)
    apart = plain(*other.points.T) - (other.at_points(found) - ARCH.depth)
    facts = {
        "B-splines": float(len(on.natural.free)),
        "places on the map": float(len(x) * len(y)),
        "preview triangles": float(2 * len(preview.triangles)),
        "preview error, mm": preview.error(surface, places.heights(surface)),
        "export triangles, each face": float(len(fine.triangles)),
        "export error, mm": fine.error(surface, surface(*fine.points.T)),
        "finite elements' unknowns": float(other.basis.N),
        "greatest difference, mm": float(np.abs(apart).max()),
        "middle difference, mm": float(np.median(np.abs(apart))),
    }
    return times, facts


def held(on: ArchFoundation, arch: Arch, other: MorleyPlate) -> Array:
    return np.asarray(long_arch(on, arch)(np.clip(other.held_x, *on.reach)) + arch.depth)


def ratios(times: dict[str, Times]) -> dict[str, tuple[float, float]]:
    """How many times as fast ours is, by median and by best."""
    ours = total("ours", [times["surface"], times["map"]])
    kept = total("kept", [times["elements, factor kept"], times["elements, on the map"]])
    fresh = total("fresh", [times["elements, from nothing"], times["elements, on the map"]])
    return {
        "against finite elements with the factor kept": (
            kept.median / ours.median,
            kept.best / ours.best,
        ),
        "the plate alone, off the map, against theirs with the factor kept": (
            times["elements, factor kept"].median / times["surface"].median,
            times["elements, factor kept"].best / times["surface"].best,
        ),
        "against finite elements from nothing": (
            fresh.median / ours.median,
            fresh.best / ours.best,
        ),
    }


def show(console: Console, times: dict[str, Times], facts: dict[str, float]) -> None:
    grid = Table("step", "median ms", "best ms", title="Times")
    turns = {
        "a height: surface, map, mesh": ("surface", "map", "preview mesh"),
        "the same with a falloff": ("surface with falloff", "map", "preview mesh"),
    }
    every = list(times.values()) + [
        total(name, [times[step] for step in steps]) for name, steps in turns.items()
    ]
    for step in every:
        grid.add_row(step.name, f"{step.median * 1e3:.2f}", f"{step.best * 1e3:.2f}")
    console.print(grid)
    for name, value in facts.items():
        console.print(f"{name}: {value:.4g}" if value < 100 else f"{name}: {value:,.0f}")
    for name, (median, best) in ratios(times).items():
        console.print(f"{name}: {median:.1f} times as fast ({best:.1f} by the best)")
    goals = {
        f"a height in {HEIGHT_GOAL * 1e3:.0f} ms": every[-1].best <= HEIGHT_GOAL,
        f"lines in {LINES_GOAL * 1e3:.0f} ms": times["lines moved"].best <= LINES_GOAL,
        f"{FASTER_GOAL:.0f} times as fast as elements from nothing": ratios(times)[
            "against finite elements from nothing"
        ][1]
        >= FASTER_GOAL,
        f"{FASTER_GOAL:.0f} times as fast as elements with the factor kept": ratios(times)[
            "against finite elements with the factor kept"
        ][1]
        >= FASTER_GOAL,
        f"the same within {SAME:g} mm": facts["greatest difference, mm"] <= SAME,
    }
    for goal, reached in goals.items():
        console.print(f"{goal}: {'reached' if reached else 'missed'}")


def main() -> None:
    parser = argparse.ArgumentParser(description="Time a carved plate against finite elements.")
    parser.add_argument("--repeats", type=int, default=15, help="timed turns of each step")
    parser.add_argument("--warm-up", type=int, default=2, help="turns before them")
    parser.add_argument("--json", type=Path, metavar="FILE", help="write the figures there too")
    wanted = parser.parse_args()
    times, facts = timed(wanted.repeats, wanted.warm_up)
    show(Console(width=None if sys.stdout.isatty() else 120), times, facts)
    if wanted.json is not None:
        plain = {
            "times_s": {t.name: {"median": t.median, "best": t.best} for t in times.values()},
            "facts": facts,
            "times_as_fast": ratios(times),
        }
        wanted.json.write_text(json.dumps(plain, indent=2) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
