"""How long the lab takes after a dial of the neck has moved, from the dial to all that is shown.

    python tests/benchmarks/lab.py [--before FOLDER]

Reading the changed design, making what has changed, every finding, the scene in 3D (off screen),
drawings, maps, sections and tables. What VTK takes to draw the scene for a page, and the browser
to paint it, is not in it: nothing is drawn before a page asks. The goal is that the neck of a
whole instrument with a carved and hollow body (dipper) answers in at most three times the time of
a neck with nothing beside it (siskin). No two turns have the same design. With ``--before``, the
folder of another state of the program is measured in the same run, turn about, and compared.
It is the processor's time, in which other work of the machine does not count.
"""

import argparse
import json
import os
import statistics
import subprocess
import sys
from pathlib import Path

from rich.console import Console
from rich.table import Table

ROOT = Path(__file__).parents[2]
WHOLE, NECK = "dipper", "siskin"
GOAL = 3.0  # times the neck alone
ROUNDS = 3  # in each of which every state measures every example once

# Run by an interpreter of its own for each state. Names changed when the lab was parted.
MEASURE = """
import json, sys, time
try:
    from carve.lab.app import Lab
except ImportError:
    from carve.lab.lab import Lab
file, repeats, warm_up = sys.argv[1], int(sys.argv[2]), 3
lab = Lab(file)
apply = getattr(lab, "_apply", None) or lab._follow
key = "neck.stations[0].thickness"
thickness = lab.design.neck.stations[0].thickness
took = []
for turn in range(warm_up + repeats):
    start = time.process_time()
    apply({key: thickness + 0.0005 * (turn + 1)})
    took.append(time.process_time() - start)
print(json.dumps(took[warm_up:]))
"""


def measured(folder: Path, name: str, repeats: int) -> list[float]:
    """Seconds of the processor's time in each turn, by the program in a folder."""
    run = subprocess.run(
        [sys.executable, "-c", MEASURE, str(ROOT / "examples" / f"{name}.toml"), str(repeats)],
        env={**os.environ, "PYTHONPATH": str(folder)},
        cwd=folder,  # where Python looks before it looks there
        capture_output=True,
        text=True,
        check=True,
    )
    seconds: list[float] = json.loads(run.stdout.splitlines()[-1])
    return seconds


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--before", type=Path, help="folder of another state of the program")
    parser.add_argument("--repeats", type=int, default=8, help="turns in each of three rounds")
    options = parser.parse_args()
    states = {"now": ROOT} if options.before is None else {"before": options.before, "now": ROOT}
    took: dict[tuple[str, str], list[float]] = {}
    for _ in range(ROUNDS):
        for state, folder in states.items():
            for name in (WHOLE, NECK):
                took.setdefault((state, name), []).extend(measured(folder, name, options.repeats))
    table = Table(
        title=f"A dial of the neck moved: processor's ms, {ROUNDS * options.repeats} turns"
    )
    for head in ("state", *(f"{n}, {w}" for n in (WHOLE, NECK) for w in ("best", "median"))):
        table.add_column(head, justify="left" if head == "state" else "right")
    table.add_column(f"{WHOLE} / {NECK}, best", justify="right")
    table.add_column(f"goal {GOAL:g}")
    for state in states:
        whole, neck = took[state, WHOLE], took[state, NECK]
        ratio = min(whole) / min(neck)
        figures = [f"{1000 * of(s):.0f}" for s in (whole, neck) for of in (min, statistics.median)]
        reached = "reached" if ratio <= GOAL else "missed"
        table.add_row(state, *figures, f"{ratio:.2f}", reached)
    console = Console()
    console.print(table)
    if len(states) == 2:
        for name in (WHOLE, NECK):
            before, now = (min(took[state, name]) for state in states)
            console.print(f"{name}: {now / before:.2f} of the time before, best of each")


if __name__ == "__main__":
    main()
