"""Sections of every example as they were when last looked at, and the command that renews them.

    python tests/golden/renew.py

They are a guard against change that nobody intended, and prove nothing by being there: what
sections must be is for the other tests to say. After a change of shape that is wanted, renew
them, look at the difference, and say in the commit why they changed.
"""

import json
import sys
from pathlib import Path
from typing import Any

import numpy as np

from carve.design import load
from carve.parts.job import shape_of
from carve.parts.neck import NECK
from carve.shape.neck.area import neck_volume
from carve.shape.neck.shape import NeckShape

FOLDER = Path(__file__).parent / "sections"
EXAMPLES = sorted((Path(__file__).parents[2] / "examples").glob("*.toml"))
ACROSS = np.linspace(-1, 1, 13)  # from the bass edge over the keel to the treble edge
DIGITS = 8  # after the point, of a mm


def places(shape: NeckShape) -> dict[str, float]:
    """Where the back is looked at, mm from the nut: between all that can change there."""
    found = {f"station {n + 1}": float(x) for n, x in enumerate(shape.stations)}
    found |= {"between stations": float(shape.stations[:2].mean()), "nut": 0.0}
    if shape.head is not None:
        found |= {
            "where the headstock's back is flat": shape.start,
            "behind the nut, half way": shape.start / 2,
            "behind the nut, a tenth of the way": shape.start / 10,
        }
    if shape.volute is not None:
        found |= {
            "volute's crest": shape.volute.middle,
            "volute, half way up": shape.volute.middle + shape.volute.length / 4,
        }
    end = shape.carved_end
    if shape.heel is not None:
        blend = shape.heel.blend
        found |= {"where the heel's blend begins": blend}
        found |= {f"heel's blend, {n} / 4": blend + (end - blend) * n / 4 for n in (1, 2, 3)}
    return {name: x for name, x in found.items() if shape.start <= x < end}


def sections(file: Path) -> dict[str, Any]:
    """An example's sections as plain data: y and z in mm from the bass to the treble edge."""
    shape = shape_of(NECK, load(file))
    found: dict[str, Any] = {"back": {}}
    for name, x in places(shape).items():
        points = shape.surface(np.array([x]), ACROSS)[0, :, 1:]
        upright = float(shape.upright(np.array([x]))[0])
        found["back"][name] = {"x": _round(x), "upright": _round(upright), "y, z": _round(points)}
    if shape.head is not None:
        x = np.linspace(shape.start, max(shape.head.bass.x[0], shape.head.treble.x[0]), 6)
        found["headstock"] = {
            "x": _round(x),
            "bass": _round(shape.head.bass(x)),
            "treble": _round(shape.head.treble(x)),
            "face depth": _round(shape.head.face_depth(x)),
            "back depth": _round(shape.head.back_depth(x)),
        }
    if shape.heel is not None:
        found["heel outline"] = _round(shape.heel.outline(0.01))
        found["heel depth"] = _round(shape.heel.depth)
    found["volume"] = round(neck_volume(shape), 4)
    return found


def file_of(example: Path) -> Path:
    """Where an example's sections are kept."""
    return FOLDER / f"{example.stem}.json"


def _round(values: Any) -> Any:
    return np.round(values, DIGITS).tolist()


def main() -> None:
    """Write all of them anew and say which have changed."""
    FOLDER.mkdir(exist_ok=True)
    for example in EXAMPLES:
        file, text = file_of(example), json.dumps(sections(example), indent=1) + "\n"
        same = file.exists() and file.read_text("utf-8") == text
        file.write_text(text, "utf-8")
        print(f"{'as it was' if same else 'renewed  '}  {file.relative_to(FOLDER.parents[2])}")
    left = {file_of(example) for example in EXAMPLES}
    for file in sorted(set(FOLDER.glob("*.json")) - left):
        print(f"belongs to no example: {file}", file=sys.stderr)


if __name__ == "__main__":
    main()
