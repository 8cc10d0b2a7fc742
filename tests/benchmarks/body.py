"""How long a body takes after a dial has moved: a pocket's depth, the outline, an arch's height.

    python tests/benchmarks/body.py

The goal is a body recomputed at preview quality, with its findings, within 33 ms, thirty pictures
a second. No two repeats have the same design, so the cache of parts holds nothing but what a
dial leaves as it is: the outline, and of a carved body its foundations, its reusable plans, and the
face and the inside that are not turned. Milliseconds are those of the machine at hand; what else
it is doing shows in the distance of best and median.
"""

import argparse
import statistics
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

from rich.console import Console
from rich.table import Table

from carve.check.report import inspect
from carve.design import Design, load, with_values
from carve.parts.body import BODY
from carve.parts.job import make, preview_chord

EXAMPLES = Path(__file__).parents[2] / "examples"
EXAMPLE = EXAMPLES / "linnet.toml"
GOAL = 0.033  # s
WARM_UP = 3
STEP = 0.0005  # mm that a dial moves from turn to turn

DIALS: dict[str, str] = {
    "depth of a pocket": "body.pockets[4].depth",
    "place of a pocket": "body.pockets[1].x",
    "thickness of the body": "body.thickness",
}


HEIGHT = "body.top.stations[1].height"
NO_CUTS = {"body.pockets": [], "body.bores": []}
LEVEL = {"body.top.neck_plane": None}
CARVED: dict[str, tuple[str, dict[str, Any]]] = {
    "an arch, nothing cut": ("brambling", {**NO_CUTS, **LEVEL}),
    "an arch with a neck plane, nothing cut": ("brambling", NO_CUTS),
    "an arch with its pockets": ("brambling", {}),
    "hollow, both plates carved": ("dipper", {}),
}


def _moved_outline(design: Design, turn: int) -> Design:
    assert design.body is not None
    points = [list(point) for point in design.body.outline.points]
    points[10][0] += STEP * turn
    return with_values(design, {"body.outline.points": points})


def _turned(key: str) -> Callable[[Design, int], Design]:
    def turn(design: Design, number: int) -> Design:
        value = design
        for step in key.replace("[", ".").replace("]", "").split("."):
            value = value[int(step)] if step.isdigit() else getattr(value, step)
        return with_values(design, {key: value + STEP * number})

    return turn


def measured(
    design: Design, turn: Callable[[Design, int], Design], repeats: int
) -> dict[str, list[float]]:
    """Seconds turn by turn: to make the body, for its findings, and for its map."""
    found: dict[str, list[float]] = {"body": [], "findings": [], "map": []}
    for number in range(WARM_UP + repeats):
        turned = turn(design, number + 1)
        start = time.perf_counter()
        job = make(turned, preview_chord(turned), only=["body"])
        made = time.perf_counter()
        inspect(job)
        judged = time.perf_counter()
        BODY.maps(job.design, job.parts[0].shape)
        mapped = time.perf_counter()
        for name, seconds in zip(
            found, (made - start, judged - made, mapped - judged), strict=True
        ):
            found[name].append(seconds)
    return {name: seconds[WARM_UP:] for name, seconds in found.items()}


def _row(table: Table, name: str, found: dict[str, list[float]]) -> None:
    both = [sum(pair) for pair in zip(found["body"], found["findings"], strict=True)]
    shown = {
        key: f"{1000 * min(s):.1f} / {1000 * statistics.median(s):.1f}" for key, s in found.items()
    }
    middle = statistics.median(both)
    table.add_row(
        name,
        shown["body"],
        shown["findings"],
        f"{1000 * middle:.1f}",
        "reached" if middle <= GOAL else "missed",
        shown["map"],
    )


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--repeats", type=int, default=25)
    repeats = parser.parse_args().repeats
    design = load(EXAMPLE)
    table = Table(title=f"A dial of the body moved: milliseconds, best and median of {repeats}")
    for head in ("dial", "body", "findings", "both, median", "goal 33 ms", "map"):
        table.add_column(head, justify="left" if head == "dial" else "right")
    turns = {name: _turned(key) for name, key in DIALS.items()}
    for name, turn in {**turns, "a point of the outline": _moved_outline}.items():
        found = measured(design, turn, repeats)
        _row(table, name, found)
    for name, (example, changes) in CARVED.items():
        carved = with_values(load(EXAMPLES / f"{example}.toml"), changes)
        # away from where heights are rounded to another plan of triangles
        carved = with_values(carved, {HEIGHT: 14.7})
        few = repeats if "nothing" in name else max(3, repeats // 3)
        _row(table, f"a height of {name}", measured(carved, _turned(HEIGHT), few))
    Console().print(table)


if __name__ == "__main__":
    main()
