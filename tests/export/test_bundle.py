"""An export: what stands in the folder afterwards, what the manifest says of it, and when not."""

import hashlib
import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
import trimesh

from carve.check.report import inspect
from carve.cli import main
from carve.design import Design, load, with_values
from carve.errors import ExportRefused, FindingFailed
from carve.export import Export, export
from carve.parts.cache import forget_all
from carve.parts.job import Job, make
from carve.shop.cautions import CAUTIONS

WREN = Path(__file__).parents[2] / "examples" / "wren.toml"
FILES = [
    "wren-as-exported.toml",
    "wren-fretboard-back.stl",
    "wren-fretboard-frets.csv",
    "wren-fretboard-from-above.dxf",
    "wren-fretboard-from-above.pdf",
    "wren-fretboard-from-above.svg",
    "wren-fretboard-front.stl",
    "wren-fretboard.stl",
    "wren-manifest.json",
    "wren-neck-back.stl",
    "wren-neck-curvature.pdf",
    "wren-neck-curvature.svg",
    "wren-neck-from-above.dxf",
    "wren-neck-from-above.pdf",
    "wren-neck-from-above.svg",
    "wren-neck-from-the-side.dxf",
    "wren-neck-from-the-side.pdf",
    "wren-neck-from-the-side.svg",
    "wren-neck-front.stl",
    "wren-neck-gauges.dxf",
    "wren-neck-gauges.pdf",
    "wren-neck-gauges.svg",
    "wren-neck.stl",
]


@pytest.fixture(scope="module")
def job() -> Job:
    return make(load(WREN))


@pytest.fixture(scope="module")
def thin_job() -> Job:
    # 16.5 - (6 + 9.5): 1 mm of wood is left under the channel, and 3 mm are asked for
    return make(thin(load(WREN)))


def thin(design: Design) -> Design:
    return with_values(design, {"neck.stations[0].thickness": 16.5})


@pytest.fixture
def thin_file(tmp_path: Path) -> Path:
    text = WREN.read_text(encoding="utf-8").replace("thickness = 21.0", "thickness = 16.5")
    file = tmp_path / "thin.toml"
    file.write_text(text, encoding="utf-8")
    return file


Exported = tuple[Export, dict[str, Any]]


@pytest.fixture
def exported(job: Job, tmp_path: Path) -> Callable[..., Exported]:
    def run(folder: str = "cut", **options: Any) -> Exported:
        source = (WREN.name, WREN.read_text(encoding="utf-8"))
        done = export(job, tmp_path / folder, source, **options)
        text = (tmp_path / folder / "wren-manifest.json").read_text(encoding="utf-8")
        return done, json.loads(text)

    return run


def part(manifest: dict[str, Any], name: str) -> dict[str, Any]:
    """What the manifest says of a part."""
    (found,) = (entry for entry in manifest["parts"] if entry["part"] == name)
    return dict(found)


def names(folder: Path) -> list[str]:
    return sorted(path.name for path in folder.rglob("*"))


# What is written


def test_an_export_is_each_parts_files_the_design_and_the_manifest(
    exported: Callable[..., Exported], tmp_path: Path
) -> None:
    done, manifest = exported()
    assert names(tmp_path / "cut") == FILES
    assert sorted(path.name for path in done.paths) == FILES
    meshes = [entry["file"] for entry in manifest["parts"]]
    assert meshes == ["wren-neck.stl", "wren-fretboard.stl"]


def test_front_and_back_in_the_files_are_the_solid_cut_along_its_walls(
    exported: Callable[..., Exported], tmp_path: Path
) -> None:
    _, manifest = exported(unit="in")
    for entry in manifest["parts"]:
        whole = trimesh.load_mesh(tmp_path / "cut" / entry["file"])
        assert whole.is_watertight
        sheets = {}
        for face in entry["faces"]:
            data = (tmp_path / "cut" / face["file"]).read_bytes()
            assert hashlib.sha256(data).hexdigest() == face["sha256"]
            assert len(data) == face["bytes"] == 84 + 50 * face["triangles"]
            sheets[face["face"]] = trimesh.load_mesh(tmp_path / "cut" / face["file"])
        assert list(sheets) == ["front", "back"]
        shared = [set(face["surfaces"]) for face in entry["faces"]]
        assert "glue face" in shared[entry["part"] == "fretboard"]
        assert "glue face" not in shared[entry["part"] == "neck"]
        for sheet in sheets.values():
            assert not sheet.is_watertight
            assert sheet.bounds == pytest.approx(whole.bounds, abs=1e-6)
        # each corner of the solid is on one of the two, bit for bit: no frame was turned
        points = {tuple(point) for sheet in sheets.values() for point in sheet.vertices.tolist()}
        assert points == {tuple(point) for point in whole.vertices.tolist()}


def test_the_design_beside_the_mesh_is_the_one_it_was_made_from(
    exported: Callable[..., Exported], tmp_path: Path
) -> None:
    _, manifest = exported()
    kept = (tmp_path / "cut" / "wren-as-exported.toml").read_bytes()
    assert kept == WREN.read_bytes()
    assert manifest["design_file"] == {
        "name": "wren.toml",
        "sha256": hashlib.sha256(WREN.read_bytes()).hexdigest(),
    }


def test_the_manifest_knows_a_design_file_with_other_line_ends_by_its_bytes(
    tmp_path: Path,
) -> None:
    file = tmp_path / "wren.toml"
    file.write_bytes(WREN.read_bytes().replace(b"\n", b"\r\n"))
    assert main(["export", str(file), "--to", str(tmp_path / "cut")]) == 0
    manifest = json.loads((tmp_path / "cut" / "wren-manifest.json").read_text(encoding="utf-8"))
    digest = hashlib.sha256(file.read_bytes()).hexdigest()
    assert manifest["design_file"]["sha256"] == digest


def test_sizes_and_digests_in_the_manifest_are_those_of_the_files(
    exported: Callable[..., Exported], tmp_path: Path
) -> None:
    _, manifest = exported()
    assert manifest["parts"]
    for entry in manifest["parts"]:
        data = (tmp_path / "cut" / entry["file"]).read_bytes()
        assert entry["bytes"] == len(data) == 84 + 50 * entry["triangles"]
        assert entry["sha256"] == hashlib.sha256(data).hexdigest()


@pytest.mark.parametrize("name", ["neck", "fretboard"])
@pytest.mark.parametrize("unit", ["mm", "in"])
def test_extents_and_volume_in_the_manifest_are_those_another_program_reads(
    unit: str, name: str, exported: Callable[..., Exported], tmp_path: Path
) -> None:
    _, manifest = exported(unit=unit)
    entry = part(manifest, name)
    read = trimesh.load_mesh(tmp_path / "cut" / entry["file"])
    assert manifest["unit"] == unit
    assert read.is_watertight
    assert read.volume == pytest.approx(entry["volume"], rel=1e-6)
    assert read.bounds[0] == pytest.approx(entry["lowest"], abs=3e-5)
    assert read.bounds[1] == pytest.approx(entry["highest"], abs=3e-5)
    assert read.extents == pytest.approx(entry["size"], abs=3e-5)


def test_an_export_in_inches_is_the_one_in_mm_divided_by_25_4(
    exported: Callable[..., Exported], tmp_path: Path
) -> None:
    # international inch; 32-bit floats hold seven figures
    _, mm = exported("mm", unit="mm")
    _, inch = exported("in", unit="in")
    in_mm = trimesh.load_mesh(tmp_path / "mm" / "wren-neck.stl", process=False)
    in_inch = trimesh.load_mesh(tmp_path / "in" / "wren-neck.stl", process=False)
    assert in_inch.triangles * 25.4 == pytest.approx(in_mm.triangles, rel=2e-7, abs=1e-9)
    assert inch["parts"][0]["volume"] == pytest.approx(mm["parts"][0]["volume"] / 25.4**3, abs=1e-6)
    for figure in ("asked", "measured"):
        ratio = mm["parts"][0]["chord_error"][figure] / inch["parts"][0]["chord_error"][figure]
        assert ratio == pytest.approx(25.4, rel=1e-4)


def test_the_manifest_says_how_near_the_mesh_is_to_the_shape(
    exported: Callable[..., Exported], job: Job
) -> None:
    _, manifest = exported()
    error = manifest["parts"][0]["chord_error"]
    assert error["asked"] == 0.02
    assert 0 < error["measured"] <= error["asked"]
    assert error["measured"] == pytest.approx(job.parts[0].chord_error, abs=1e-8)


def test_the_manifest_says_where_the_origin_is_and_which_way_the_axes_point(
    exported: Callable[..., Exported],
) -> None:
    _, manifest = exported()
    for words in ("right-handed", "origin on the centre line at the nut", "x toward the bridge"):
        assert words in manifest["frame"]
    neck, board = part(manifest, "neck"), part(manifest, "fretboard")
    assert neck["lowest"][0] == board["lowest"][0] == 0  # the nut
    assert neck["highest"][2] == board["lowest"][2] == 0  # the glue faces
    for entry in (neck, board):
        assert entry["lowest"][1] == -entry["highest"][1]  # the centre line, both are symmetric


def test_every_finding_stands_in_the_manifest_with_its_figures(
    exported: Callable[..., Exported], job: Job
) -> None:
    _, manifest = exported()
    findings = inspect(job)
    assert manifest["verdict"] == "good"
    assert manifest["exported_despite_failed_findings"] is False
    assert [entry["check"] for entry in manifest["findings"]] == [f.check for f in findings]
    for entry in manifest["findings"]:
        assert {"verdict", "value", "limit", "sense", "unit", "place", "source"} <= set(entry)


def test_the_cautions_stand_in_the_manifest(exported: Callable[..., Exported]) -> None:
    _, manifest = exported()
    assert manifest["cautions"] == list(CAUTIONS)


def test_two_exports_of_one_design_are_the_same_byte_for_byte(tmp_path: Path) -> None:
    for folder in ("one", "two"):
        forget_all()  # so that the second is made anew
        assert main(["export", str(WREN), "--to", str(tmp_path / folder)]) == 0
    for name in FILES:
        one, two = ((tmp_path / folder / name).read_bytes() for folder in ("one", "two"))
        assert one == two, name


# When nothing is written


def test_a_part_that_fails_a_finding_is_not_exported(thin_job: Job, tmp_path: Path) -> None:
    with pytest.raises(FindingFailed, match="wood under the truss-rod channel") as caught:
        export(thin_job, tmp_path / "cut", ("wren.toml", ""))
    assert "nothing was written" in str(caught.value)
    assert list(tmp_path.iterdir()) == []


def test_the_command_ends_with_1_where_a_finding_fails_and_writes_nothing(
    thin_file: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["export", str(thin_file), "--to", str(tmp_path / "cut")]) == 1
    out, err = capsys.readouterr()
    assert "FAILED" in out
    assert "wrote" not in out
    assert "failed: wood under the truss-rod channel (at the nut)" in err
    assert names(tmp_path) == ["thin.toml"]


def test_said_to_export_even_so_it_does_and_says_so_everywhere(
    thin_file: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    arguments = ["export", str(thin_file), "--to", str(tmp_path / "cut"), "--even-so"]
    assert main(arguments) == 1
    out, _ = capsys.readouterr()
    assert "exported although a finding failed; the manifest says so" in out
    manifest = json.loads((tmp_path / "cut" / "thin-manifest.json").read_text(encoding="utf-8"))
    assert manifest["verdict"] == "failed"
    assert manifest["exported_despite_failed_findings"] is True
    failed = [entry for entry in manifest["findings"] if entry["verdict"] == "failed"]
    assert "wood under the truss-rod channel" in [entry["check"] for entry in failed]
    assert all(entry["advice"] for entry in failed)


def test_allowing_failures_makes_no_difference_to_a_part_without_fault(
    exported: Callable[..., Exported],
) -> None:
    done, manifest = exported(allow_failed=True)
    assert not done.had_failures
    assert manifest["exported_despite_failed_findings"] is False


def test_an_earlier_export_stays_unless_replacing_is_asked_for(
    exported: Callable[..., Exported], tmp_path: Path
) -> None:
    exported()
    before = {path: path.stat().st_mtime_ns for path in (tmp_path / "cut").iterdir()}
    with pytest.raises(ExportRefused, match="nothing was written"):
        exported(unit="in")
    assert {path: path.stat().st_mtime_ns for path in (tmp_path / "cut").iterdir()} == before
    _, manifest = exported(unit="in", overwrite=True)
    assert manifest["unit"] == "in"
    assert names(tmp_path / "cut") == FILES


# What is said


def test_the_command_names_every_file_and_prints_the_cautions(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["export", str(WREN), "--to", str(tmp_path / "cut")]) == 0
    out, err = capsys.readouterr()
    assert err == ""
    for name in FILES:
        assert f"wrote {tmp_path / 'cut' / name}\n" in out
    for caution in CAUTIONS:
        assert f"! {caution}\n" in out


def test_the_command_does_not_replace_files_unasked(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    arguments = ["export", str(WREN), "--to", str(tmp_path / "cut")]
    assert main(arguments) == 0
    capsys.readouterr()
    assert main(arguments) == 2
    out, err = capsys.readouterr()
    assert "wrote" not in out
    assert err.endswith("; nothing was written (--overwrite replaces)\n")
    assert " more are already there in " in err  # of two dozen files three are named
    assert err.count("\n") == 1
    assert main([*arguments, "--overwrite"]) == 0
