"""A design made in a process of its own, and what came out, in one line that can be compared.

    python tests/cold.py examples/dipper.toml 0.16 '{"neck.nut_width": 43}' neck fretboard

Takes a design file, a chord error in mm, keys to change and the parts to make, all without a
name. Prints the SHA-256 of all points, triangles and findings.
"""

import hashlib
import json
import subprocess
import sys
from collections.abc import Collection, Mapping
from pathlib import Path

import numpy as np

from carve.check.report import inspect
from carve.design import load, with_values
from carve.parts.job import Job, make


def digest(job: Job) -> str:
    """The SHA-256 of a job's points, triangles and findings, to the last digit."""
    found = hashlib.sha256()
    for part in job.parts:
        found.update(part.mesh.points.tobytes())
        found.update(part.mesh.triangles.tobytes())
    with np.printoptions(threshold=sys.maxsize, floatmode="unique"):
        for finding in inspect(job):
            found.update(repr(finding).encode())
    return found.hexdigest()


def cold_digest(
    file: Path, chord: float, changes: Mapping[str, float], only: Collection[str] | None = None
) -> str:
    """The same of a design that a process makes which has never made another."""
    asked = [str(file), str(chord), json.dumps(changes), *(only or ())]
    told = subprocess.run(
        [sys.executable, __file__, *asked], capture_output=True, text=True, check=True
    )
    return told.stdout.strip()


if __name__ == "__main__":
    path, error, values, *parts = sys.argv[1:]
    design = with_values(load(Path(path)), json.loads(values))
    print(digest(make(design, float(error), parts or None)))
