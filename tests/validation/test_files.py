"""Files: sizes, versions and units of an exported fretboard as the formats' papers have them."""

import re
from pathlib import Path
from xml.etree import ElementTree

import ezdxf
import pytest
import trimesh

import carve

CSS = "CSS Values and Units: 1 in = 25.4 mm = 96 px"
DXF = "Autodesk, DXF reference"
STL = "binary STL: 80 bytes of header, a count of 4 bytes, 50 bytes a triangle"


@pytest.fixture(scope="module")
def exported(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    """A fretboard's files by the ends of their names."""
    file = Path(__file__).parents[2] / "examples" / "wren.toml"
    design = carve.with_values(carve.load(file), {"fretboard.markers": None})
    job = carve.make(design, only=["fretboard"])
    written = carve.export(job, tmp_path_factory.mktemp("cut"), file)
    return {path.name.removeprefix("wren-"): path for path in written.paths}


def test_an_stl_is_as_long_as_its_triangles_need(validated, exported) -> None:
    data = exported["fretboard.stl"].read_bytes()
    count = len(trimesh.load(exported["fretboard.stl"], process=False).faces)
    validated("bytes of an STL beside its triangles", STL, 80 + 4, len(data) - 50 * count, 0.5)
    assert int.from_bytes(data[80:84], "little") == count
    assert not data.startswith(b"solid")


def test_a_dxf_says_its_version_and_its_unit(validated, exported) -> None:
    document = ezdxf.readfile(exported["fretboard-from-above.dxf"])
    version = int(document.dxfversion.removeprefix("AC"))
    validated("$ACADVER of a DXF, R2010 is AC1024", DXF, 1024, version, 0.5)
    validated("$INSUNITS of a DXF in millimetres", DXF, 4, document.header["$INSUNITS"], 0.5)


def test_an_svg_is_at_true_scale(validated, exported) -> None:
    root = ElementTree.parse(exported["fretboard-from-above.svg"]).getroot()
    _, _, width, _ = map(float, root.get("viewBox", "").split())
    told = re.fullmatch(r"([\d.]+)mm", root.get("width", ""))
    assert told is not None
    pixels = float(told[1]) / 25.4 * 96  # as a browser draws it
    theirs = 96 / 25.4
    validated("pixels to a millimetre of an SVG", CSS, theirs, pixels / width, 1e-5)
