"""An export: each part's meshes, drawings and tables, the design and the manifest, all or none.

It writes in every format of ``formats.registry`` and knows none of them by name.
"""

import hashlib
import json
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path, PureWindowsPath
from typing import Any

from carve.check.finding import Finding, Verdict
from carve.check.report import inspect, worst
from carve.design import Design, rewrite, with_values
from carve.design.drawing.source import DrawingFile
from carve.design.schema.outline import drawings_in, outlines_in
from carve.design.values.units import MM_PER_INCH, Unit
from carve.errors import FindingFailed
from carve.export.atomic import content, write_all
from carve.export.formats.kinds import MeshLabel, Printing
from carve.export.formats.registry import DRAWING_FORMATS, MESH_FORMATS, TABLE_FORMATS
from carve.export.manifest import face_entry, listed_in, manifest, part_entry
from carve.export.source import design_source
from carve.parts.assembly import assembly_outlines, assembly_tables
from carve.parts.job import Job, Part
from carve.parts.outbound import outbound_mesh, outbound_outlines
from carve.shape.views.kit.drawing import Drawing
from carve.shape.views.kit.paper import Paper, usual_paper
from carve.shape.views.kit.table import DataTable
from carve.solid.faces import SIDES
from carve.solid.mesh import Mesh


@dataclass(frozen=True, eq=False)
class Export:
    """What was written: paths, the findings, and whether some of these had failed.

    removed: files of an earlier export of this design that has them no more. left: such as well,
    but changed since, so they stay.
    """

    paths: tuple[Path, ...]
    findings: tuple[Finding, ...]
    had_failures: bool
    removed: tuple[Path, ...] = ()
    left: tuple[Path, ...] = ()

    @property
    def done(self) -> list[str]:
        """What was done with the files, a line each."""
        lines = [f"wrote {path}" for path in self.paths]
        return lines + [f"removed {path}, which is no longer of this set" for path in self.removed]

    @property
    def warnings(self) -> list[str]:
        """What the builder has to know of it, a line each."""
        lines = [
            f"left {path}, which is no longer of this set: it was changed since it was exported"
            for path in self.left
        ]
        if self.had_failures:
            lines.append("exported although a finding failed; the manifest says so")
        return lines


Files = dict[str, bytes]
"""Contents of files by name, in the order in which they are written."""


def export(
    job: Job,
    directory: str | Path,
    source: str | Path | tuple[str, str],
    *,
    findings: Sequence[Finding] | None = None,
    unit: Unit = "mm",
    paper: Paper | None = None,
    overwrite: bool = False,
    allow_failed: bool = False,
    progress: Callable[[str], None] | None = None,
) -> Export:
    """Write every part of a job, with its manifest.

    directory: made if it isn't there. source: the design file, or its name and its text. What the
    file says goes along, with the values that were changed since it was loaded.
    findings: of this job; looked for if not given. unit: of the meshes' coordinates.
    paper: that drawings are printed on; by default what goes with the design's unit.
    allow_failed: write although a finding fails. progress: is told what is being done.
    Raises FindingFailed, ExportRefused, FileTrouble, DesignError; then nothing was written.
    """
    if not isinstance(source, tuple):
        source = design_source(job, Path(source))
    findings = inspect(job) if findings is None else tuple(findings)
    had_failures = worst(findings) is Verdict.FAILED
    if had_failures and not allow_failed:
        raise FindingFailed(_refusal(findings))
    stem = Path(source[0]).stem
    printing = Printing(paper or usual_paper(job.design.units), job.design.units)
    say = progress or _silent
    files: Files = {}
    entries: list[dict[str, Any]] = []
    for number, part in enumerate(job.parts, 1):
        say(f"writing {part.name}, {number} of {len(job.parts)} parts")
        written, entry = _part_files(job.design, part, f"{stem}-{part.name}", unit, printing)
        files |= written
        entries.append(entry)
    together = _flat_files(
        assembly_outlines(job.design), assembly_tables(job.design), stem, printing
    )
    text, drawings = _with_own_drawings(source[1], job.design, stem)
    kept = (f"{stem}-as-exported.toml", text.encode())
    files |= {**together, **drawings, kept[0]: kept[1]}
    digest = hashlib.sha256(source[1].encode()).hexdigest()
    summary = manifest(
        job,
        findings,
        entries,
        together,
        drawings,
        unit,
        (source[0], digest),
        kept,
        had_failures=had_failures,
    )
    contents = f"{stem}-manifest.json"
    files[contents] = (json.dumps(summary, indent=2, ensure_ascii=False) + "\n").encode()
    say("putting the files in place")
    stands = write_all(
        Path(directory),
        {name: content(data) for name, data in files.items()},
        overwrite=overwrite,
        earlier=lambda folder: listed_in(folder / contents),
    )
    return Export(stands.paths, findings, had_failures, stands.removed, stands.left)


def _part_files(
    design: Design, part: Part[Any], stem: str, unit: Unit, printing: Printing
) -> tuple[Files, dict[str, Any]]:
    """A part's files, and what the manifest says of them.

    A mesh leads with its file in the first of the formats; files in others are listed beside it.
    """
    mesh, faces = outbound_mesh(design, part), part.type.faces(part.shape)
    whole = _mesh_files(mesh, stem, MeshLabel(design.title, part.name, unit))
    files, beside = dict(whole), dict(whole[1:])
    sides = []
    for side in SIDES:
        skin = faces.of(mesh, side)
        label = MeshLabel(design.title, f"{part.name}, {side}", unit)
        written = _mesh_files(skin, f"{stem}-{side}", label)
        sides.append(face_entry(side, skin, faces.named(mesh, side), written[0]))
        files |= dict(written)
        beside |= dict(written[1:])
    tables = part.type.tables(design, part.shape)
    flat = _flat_files(outbound_outlines(design, part), tables, stem, printing)
    entry = part_entry(part, design.handed, mesh, unit, whole[0], sides, beside | flat)
    return files | flat, entry


def _mesh_files(mesh: Mesh, stem: str, label: MeshLabel) -> list[tuple[str, bytes]]:
    """A mesh in mm in each format for meshes: names and contents."""
    in_unit = mesh if label.unit == "mm" else mesh.scaled(1 / MM_PER_INCH)
    return [(f"{stem}{kind.ending}", kind.write(in_unit, label)) for kind in MESH_FORMATS]


def _flat_files(
    outlines: Mapping[str, Drawing], tables: Mapping[str, DataTable], stem: str, printing: Printing
) -> Files:
    """Drawings and tables in each format for them."""
    files = {
        f"{stem}-{name}{kind.ending}": kind.write(drawing, printing)
        for name, drawing in outlines.items()
        for kind in DRAWING_FORMATS
        if kind.suits(drawing)
    }
    return files | {
        f"{stem}-{name}{kind.ending}": kind.write(table)
        for name, table in tables.items()
        for kind in TABLE_FORMATS
    }


def _with_own_drawings(text: str, design: Design, stem: str) -> tuple[str, Files]:
    """The design's text with the drawings it names under names of their own beside it.

    What was exported can so be read again wherever its folder goes, whatever became of the
    builder's drawing since. Returns the text and the drawings by name.
    """
    files: Files = {}
    moved: dict[str, DrawingFile] = {}
    for name, file in drawings_in(design).items():
        if file.data is None:
            continue
        base = PureWindowsPath(name).name  # knows both ways of writing a folder
        own = next(
            one
            for one in (f"{stem}-drawing-{n}{base}" for n in ("", *(f"{k}-" for k in range(2, 99))))
            if files.get(one, file.data) == file.data
        )
        files[own] = file.data
        moved[name] = replace(file, name=own)
    if not moved:
        return text, files
    named = {
        f"{key}.file": moved[outline.file.name]
        for key, outline in outlines_in(design)
        if outline.file is not None and outline.file.name in moved
    }
    return rewrite(text, with_values(design, named)), files


def _silent(doing: str) -> None:
    pass


def _refusal(findings: Sequence[Finding]) -> str:
    failed = [finding for finding in findings if finding.verdict is Verdict.FAILED]
    named = "; ".join(f"{finding.check} ({finding.place})" for finding in failed)
    return (
        f"{len(failed)} finding{'s' if len(failed) > 1 else ''} failed: {named}; "
        "nothing was written"
    )
