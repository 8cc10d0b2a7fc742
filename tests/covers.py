"""Recesses with covers that several tests cut into one plain body."""

from typing import Any

from carve.design import Design, with_values
from carve.design.drawing.read import read_drawing
from carve.design.drawing.source import DrawingFile

SCREWS = {"diameter": 3.0, "pilot": 2.0, "pilot_depth": 10.0, "from_edge": 4.0, "count": 4}
COVER = {"gap": 0.3, "screws": SCREWS}
THICK = 40.0  # mm, the body

SLAB = {
    "body.outline": {"points": [[0, -120], [340, -120], [340, 120], [0, 120]], "smooth": False},
    "body.thickness": THICK,
    "body.bores": [],
    "body.blank": None,
}

SHAPES: dict[str, dict[str, Any]] = {
    "rectangle": {"shape": "rectangle", "length": 80.0, "width": 50.0, "corner_radius": 6.0},
    "circle": {"shape": "circle", "diameter": 60.0},
    "slot": {"shape": "slot", "length": 90.0, "width": 34.0, "angle": 20.0},
    "polygon": {
        "shape": "polygon",
        "points": [[-45, -30], [45, -30], [45, 5], [5, 5], [5, 40], [-45, 40]],
        "corner_radius": 8.0,
    },
}


def recess(name: str, x: float, y: float, cover: dict[str, Any] | None = None, **keys: Any) -> Any:
    """A recess of the back as a design file has it, a rectangle unless it says otherwise."""
    plain = {"name": name, "kind": "cover recess", "face": "back", "depth": 2.5, "x": x, "y": y}
    shape = {} if "shape" in keys else SHAPES["rectangle"]
    whole = {**plain, **shape, **keys, "cover": COVER if cover is None else cover}
    return {key: value for key, value in whole.items() if value is not None}


def cavity(name: str, x: float, y: float, **keys: Any) -> Any:
    """A cavity from the back, to lie under a recess."""
    plain = {"kind": "control", "face": "back", "shape": "rectangle", "depth": 30.0}
    return {"name": name, "x": x, "y": y, "length": 60.0, "width": 30.0, **plain, **keys}


def slab(design: Design, *pockets: Any, **more: Any) -> Design:
    """The design with a plain block for a body, and these pockets in it."""
    changes = {**SLAB, "body.pockets": list(pockets)}
    return with_values(
        design, {**changes, **{key.replace("__", "."): v for key, v in more.items()}}
    )


def drawn(design: Design, paths: list[str], **keys: Any) -> Design:
    """The same with one recess of as many closed curves as there are paths of a drawing.

    The neck is up on its page and the centre line at x = 0: y of the body is the page's x, x of
    the body the page's y, downward.
    """
    layers = {"body": ["M -120 0 H 120 V 340 H -120 Z"], "covers": paths}
    groups = "".join(
        f'<g id="{name}">{"".join(f"<path d={one!r}/>" for one in curves)}</g>'
        for name, curves in layers.items()
    )
    data = (
        '<svg xmlns="http://www.w3.org/2000/svg" width="900mm" height="900mm" '
        f'viewBox="-450 -100 900 900">{groups}</svg>'
    ).encode()
    file = DrawingFile("made-up.svg", data, read_drawing(data))
    outline = {"file": file, "layer": "body", "centre_at": 450.0, "length": 340}
    one = {
        **{"name": "hatch", "kind": "cover recess", "face": "back", "depth": 2.5},
        **{"shape": "drawing", "layer": "covers", "cover": COVER, **keys},
    }
    changes = {**SLAB, "body.outline": outline, "body.pockets": [one]}
    return with_values(design, changes)
