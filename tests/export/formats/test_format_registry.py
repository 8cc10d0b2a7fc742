"""The register of formats: each is entered and says what it must, and all are written."""

import ast
import json
from collections.abc import Callable
from importlib import import_module
from pathlib import Path
from typing import Any

import pytest
import trimesh

from carve.design import load
from carve.export import bundle, formats
from carve.export.formats.kinds import DrawingFormat, MeshFormat, MeshLabel, TableFormat
from carve.export.formats.registry import DRAWING_FORMATS, MESH_FORMATS, TABLE_FORMATS
from carve.parts.job import make
from carve.parts.outbound import outbound_outlines
from carve.solid.mesh import Mesh

FOLDER = Path(formats.__path__[0])
WREN = Path(__file__).parents[3] / "examples" / "wren.toml"
ALL: tuple[Any, ...] = (*MESH_FORMATS, *DRAWING_FORMATS, *TABLE_FORMATS)


def test_every_file_of_a_format_is_registered_once() -> None:
    files = {path.stem for path in FOLDER.glob("*.py")} - {"__init__", "kinds", "registry"}
    written = [import_module(f"carve.export.formats.{name}").FORMAT for name in sorted(files)]
    assert len(ALL) == len(written)
    assert {id(one) for one in ALL} == {id(one) for one in written}


@pytest.mark.parametrize("kind", [MESH_FORMATS, DRAWING_FORMATS, TABLE_FORMATS])
def test_no_two_formats_of_a_kind_write_the_same_file(kind: tuple[Any, ...]) -> None:
    endings = [one.ending for one in kind]
    assert len(set(endings)) == len(endings)


@pytest.mark.parametrize("kind", [MeshFormat, DrawingFormat, TableFormat])
def test_a_format_that_leaves_something_out_cannot_be_made(kind: Callable[..., Any]) -> None:
    whole: dict[str, Any] = {"ending": ".x", "holds": "nothing", "write": lambda *_: b""}
    kind(**whole)
    for left_out in whole:
        with pytest.raises(TypeError, match=left_out):
            kind(**{name: value for name, value in whole.items() if name != left_out})
    for ending in ("x", ".X", ".", ".x y"):
        with pytest.raises(ValueError, match="a file ending is a dot"):
            kind(**{**whole, "ending": ending})
    with pytest.raises(ValueError, match="say what such a file holds"):
        kind(**{**whole, "holds": ""})


def test_the_bundle_knows_no_format_by_name() -> None:
    tree = ast.parse(Path(bundle.__file__).read_text(encoding="utf-8"))
    words = {node.value for node in ast.walk(tree) if isinstance(node, ast.Constant)}
    words |= {node.id for node in ast.walk(tree) if isinstance(node, ast.Name)}
    names = {one.ending.removeprefix(".") for one in ALL}
    split = {part for word in words if isinstance(word, str) for part in word.lower().split(".")}
    assert names & split == set()


def _ply(mesh: Mesh, label: MeshLabel) -> bytes:
    """By trimesh."""
    return bytes(
        trimesh.Trimesh(mesh.points, mesh.triangles, process=False).export(file_type="ply")
    )


def test_a_new_format_is_one_entry_and_stands_in_the_manifest(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    ply = MeshFormat(".ply", "the mesh", _ply)
    note = DrawingFormat(".note", "words", lambda drawing, _: drawing.title.encode())
    count = TableFormat(".count", "a figure", lambda table: str(len(table.rows)).encode())
    monkeypatch.setattr(bundle, "MESH_FORMATS", (*MESH_FORMATS, ply))
    monkeypatch.setattr(bundle, "DRAWING_FORMATS", (*DRAWING_FORMATS, note))
    monkeypatch.setattr(bundle, "TABLE_FORMATS", (*TABLE_FORMATS, count))
    job = make(load(WREN), 0.1)
    bundle.export(job, tmp_path, (WREN.name, WREN.read_text(encoding="utf-8")), unit="in")
    manifest = json.loads((tmp_path / "wren-manifest.json").read_text(encoding="utf-8"))
    entries = {entry["part"]: entry for entry in manifest["parts"]}
    beside = {one["file"] for entry in entries.values() for one in entry["beside"]}
    added = {path.name for path in tmp_path.iterdir()} & beside
    meshes = {f"wren-neck{side}.ply" for side in ("", "-front", "-back")}
    assert meshes | {"wren-neck-gauges.note", "wren-fretboard-frets.count"} <= added
    assert entries["neck"]["file"] == "wren-neck.stl"  # the register's first leads
    two = [trimesh.load(tmp_path / f"wren-neck.{ending}") for ending in ("stl", "ply")]
    assert two[0].bounds == pytest.approx(two[1].bounds, abs=1e-5)


def test_a_plot_has_nothing_to_cut_and_gets_no_dxf() -> None:
    job = make(load(WREN), 0.1)
    drawings = outbound_outlines(job.design, job.parts[0])
    suited = {
        name: {one.ending for one in DRAWING_FORMATS if one.suits(drawing)}
        for name, drawing in drawings.items()
    }
    assert suited.pop("curvature") == {".svg", ".pdf"}
    assert set(map(frozenset, suited.values())) == {frozenset({".dxf", ".svg", ".pdf"})}
