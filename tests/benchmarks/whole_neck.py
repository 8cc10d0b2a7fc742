"""How long a whole neck takes after a dial has moved: headstock, volute, shaft, heel.

    python tests/benchmarks/whole_neck.py

The goal is a neck recomputed at preview quality within 33 ms, thirty pictures a second: shape,
mesh and every finding, those of the fretboard and of how the parts meet among them. No two
repeats have the same design, so a neck is never found in the cache of parts; the fretboard is,
as in the lab. Milliseconds are those of the machine at hand; what else it is doing shows in the
distance of best and median.
"""

import argparse
import statistics
import time
from pathlib import Path

from rich.console import Console
from rich.table import Table

from carve.check.report import inspect
from carve.design import load, with_values
from carve.parts.job import make, preview_chord

EXAMPLES = Path(__file__).parents[2] / "examples"
NAMES = ("wren", "siskin", "wheatear", "dunlin")
GOAL = 0.033  # s
DIAL_STEP = 0.0005  # mm; the thickness at the first station moves by this from turn to turn
WARM_UP = 3


def measured(name: str, repeats: int) -> tuple[list[float], list[float], int]:
    """Seconds for making the parts and for the findings, turn by turn; triangles of the neck."""
    design = load(EXAMPLES / f"{name}.toml")
    thickness = design.neck.stations[0].thickness
    made, found, triangles = [], [], 0
    for turn in range(WARM_UP + repeats):
        changed = {"neck.stations[0].thickness": thickness + DIAL_STEP * (turn + 1)}
        start = time.perf_counter()
        turned = with_values(design, changed)
        job = make(turned, preview_chord(turned))
        middle = time.perf_counter()
        inspect(job)
        stop = time.perf_counter()
        made.append(middle - start)
        found.append(stop - middle)
        triangles = len(job.parts[0].mesh.triangles)
    return made[WARM_UP:], found[WARM_UP:], triangles


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--repeats", type=int, default=25)
    repeats = parser.parse_args().repeats
    table = Table(title=f"A dial moved: milliseconds, best and median of {repeats}")
    heads = ("example", "triangles", "neck, best", "findings, best", "both, best", "median")
    for head in (*heads, "goal 33 ms"):
        table.add_column(head, justify="left" if head == "example" else "right")
    for name in NAMES:
        made, found, triangles = measured(name, repeats)
        both = [one + other for one, other in zip(made, found, strict=True)]
        table.add_row(
            name,
            f"{triangles}",
            f"{1000 * min(made):.1f}",
            f"{1000 * min(found):.1f}",
            f"{1000 * min(both):.1f}",
            f"{1000 * statistics.median(both):.1f}",
            "reached" if min(both) <= GOAL else "missed",
        )
    Console().print(table)


if __name__ == "__main__":
    main()
