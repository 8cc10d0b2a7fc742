"""The five drawings of ``examples/outlines``: real curves, drawn five ways, and read as one.

Each was drawn from measures; what is read from the file must have them again.
"""

import importlib.util
import tomllib
from pathlib import Path
from types import ModuleType

import numpy as np
import pytest
import shapely

from carve.design.drawing.read import read_drawing
from carve.design.drawing.source import beside
from carve.design.schema.bouts import Bouts
from carve.design.schema.outline import OutlineFile
from carve.shape.outlines.bouts import bouts_curve
from carve.shape.outlines.placed import curves_on_layer, placed
from carve.shape.planar.curves import curve_extent
from carve.shape.planar.outline import polygon

FOLDER = Path(__file__).parents[3] / "examples" / "outlines"
NAMES = ("dotterel", "merlin", "lapwing", "bittern", "wigeon")
KEYS = {
    name: tomllib.loads((FOLDER.parent / f"{name}.toml").read_text(encoding="utf-8"))
    for name in NAMES
}

INNER = {
    "dotterel": ["pickups", "pickups", "controls"],
    "merlin": ["PICKUPS", "PICKUPS", "CONTROLS", "JACK"],
    "lapwing": ["Pickups", "Pickups", "Controls"],
    "bittern": ["sound holes", "sound holes", "pickup"],
    "wigeon": ["SOUND HOLE", "ROSETTE"],
}


@pytest.fixture(scope="module")
def drawing() -> ModuleType:
    spec = importlib.util.spec_from_file_location("draw", FOLDER / "draw.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def outline(name: str) -> OutlineFile:
    context = {"drawings": beside(FOLDER.parent), "unit": KEYS[name]["units"]}
    return OutlineFile.model_validate(KEYS[name]["body"]["outline"], context=context)


@pytest.mark.parametrize("name", KEYS)
def test_a_drawing_gives_back_the_body_it_was_drawn_from(name: str, drawing: ModuleType) -> None:
    bouts: Bouts = getattr(drawing, name.upper())
    found = placed(outline(name), "body")
    ours = shapely.LinearRing(polygon(found.outline, 0.002))
    drawn = shapely.LinearRing(polygon(bouts_curve(bouts, name), 0.002))
    assert shapely.hausdorff_distance(ours, drawn) < 0.03  # arcs stand in for cubics in three
    assert curve_extent(found.outline)[1][0] == pytest.approx(bouts.length, abs=0.01)
    assert [inner.layer for inner in found.inner] == INNER[name]
    assert found.gaps == ()


@pytest.mark.parametrize("name", KEYS)
def test_its_pockets_lie_where_the_body_is_and_nowhere_else(name: str) -> None:
    found = placed(outline(name), "body")
    body = shapely.Polygon(polygon(found.outline, 0.01))
    for inner in found.inner:
        assert body.contains(shapely.Polygon(polygon(inner.curve, 0.01)))


@pytest.mark.parametrize(
    ("name", "layer", "half"), [("dotterel", "neck pocket", 22), ("merlin", "neck", 28)]
)
def test_the_neck_pocket_runs_out_over_the_edge(name: str, layer: str, half: float) -> None:
    (tenon,) = curves_on_layer(outline(name), layer, "body", f"{name}.pocket")
    low, high = curve_extent(tenon)
    assert low[0] < 0 < high[0]
    assert high[1] == pytest.approx(half, abs=0.01)
    assert low[1] == pytest.approx(-half, abs=0.01)


def test_they_are_of_five_very_different_kinds() -> None:
    # no two are alike within a few millimetres, however they are stretched to one length
    rings = []
    for name in KEYS:
        curve = placed(outline(name), "body").outline
        ring = polygon(curve, 0.1)
        rings.append(shapely.Polygon((ring - ring.min(axis=0)) / np.ptp(ring, axis=0)))
    for number, one in enumerate(rings):
        for other in rings[number + 1 :]:
            assert one.symmetric_difference(other).area > 0.04


def test_the_files_are_those_that_the_script_draws(
    drawing: ModuleType, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(drawing, "HERE", tmp_path)
    for name in KEYS:
        getattr(drawing, name)()
    for file in tmp_path.iterdir():
        now, kept = (read_drawing(one.read_bytes()) for one in (file, FOLDER / file.name))
        assert [(c.layers, c.names) for c in now.chains] == [
            (c.layers, c.names) for c in kept.chains
        ]
        for one, other in zip(now.chains, kept.chains, strict=True):
            assert np.allclose(one.pieces, other.pieces, atol=1e-5)


def test_the_files_hold_curves_and_not_dense_polygons() -> None:
    def count(name: str, what: str) -> int:
        return (FOLDER / name).read_text(encoding="utf-8").count(what)

    assert count("dotterel.svg", "\n C ") > 20
    assert count("dotterel.svg", " A ") >= 12
    assert count("bittern.svg", "\n A ") > 50
    assert count("bittern.svg", "rotate(") == 2
    assert count("merlin.dxf", "SPLINE\n") == 1
    assert count("wigeon.dxf", "\nARC\n") > 50
    assert count("lapwing.dxf", "LWPOLYLINE\n") == 4
    assert all(len(placed(outline(name), "body").outline.pieces) < 500 for name in KEYS)
