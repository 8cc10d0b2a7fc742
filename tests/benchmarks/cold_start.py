"""How long a command waits before it has an answer, in one tree or in two, turn by turn.

    .venv/bin/python tests/benchmarks/cold_start.py [TREE [TREE]] [--runs 5]

Each run is a new interpreter, and the trees take turns, so that what else the machine does meets
both. Prints medians in seconds, wall clock and processor, and with two trees the second's
share of the first.
"""

import argparse
import os
import resource
import statistics
import subprocess
import sys
import time
from pathlib import Path

ROOT = Path(__file__).parents[2]
COMMANDS = {"keys": ["keys"], "check": ["check", "examples/wren.toml"]}
CODE = "import sys; from carve.cli import main; sys.exit(main(sys.argv[1:]))"


def once(tree: Path, arguments: list[str]) -> tuple[float, float]:
    """Seconds of one run in a tree: by the clock on the wall, and of the processor."""
    env = {**os.environ, "PYTHONPATH": str(tree)}
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    start = time.perf_counter()
    subprocess.run(
        [sys.executable, "-c", CODE, *arguments], cwd=tree, env=env, check=True, capture_output=True
    )
    wall = time.perf_counter() - start
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    busy = after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime
    return wall, busy


def main() -> None:
    """Measure, and print a line for each command."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("trees", nargs="*", type=Path, default=[ROOT], help="one tree or two")
    parser.add_argument("--runs", type=int, default=5)
    options = parser.parse_args()
    trees = [tree.resolve() for tree in options.trees]
    for name, arguments in COMMANDS.items():
        runs: list[list[tuple[float, float]]] = [[] for _ in trees]
        for tree in trees:  # the first run finds the files; it does not count
            once(tree, arguments)
        for _ in range(options.runs):
            for tree, found in zip(trees, runs, strict=True):
                found.append(once(tree, arguments))
        medians = [tuple(map(statistics.median, zip(*found, strict=True))) for found in runs]
        told = ", ".join(f"{wall:.2f} s ({busy:.2f} s busy)" for wall, busy in medians)
        shares = [last / first for first, last in zip(medians[0], medians[-1], strict=True)]
        compared = f", {shares[0]:.2f} of the first ({shares[1]:.2f} busy)" if trees[1:] else ""
        print(f"carve {name}: {told}{compared}")


if __name__ == "__main__":
    main()
