"""An export: each part's STL, drawings and tables, the design and the manifest, all or none."""

import hashlib
import io
import json
from collections.abc import Mapping, Sequence
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
from carve.export.atomic import Write, content, write_all
from carve.export.formats.csv import csv_table
from carve.export.formats.dxf import dxf
from carve.export.formats.pdf import pdf
from carve.export.formats.stl import header, write_stl
from carve.export.formats.svg import template
from carve.export.manifest import face_entry, manifest, part_entry
from carve.export.source import design_source
from carve.parts.assembly import assembly_outlines, assembly_tables
from carve.parts.job import Job
from carve.parts.outbound import outbound_mesh, outbound_outlines
from carve.shape.views.kit.drawing import Drawing
from carve.shape.views.kit.paper import Paper, usual_paper
from carve.shape.views.kit.table import DataTable
from carve.solid.faces import SIDES
from carve.solid.mesh import Mesh


@dataclass(frozen=True, eq=False)
class Export:
    """What was written: paths, the findings, and whether it was done despite failed ones."""

    paths: tuple[Path, ...]
    findings: tuple[Finding, ...]
    despite: bool


@dataclass(frozen=True)
class _Printing:
    """The paper that drawings are printed on, and the unit of the bar to measure it by."""

    paper: Paper
    unit: Unit


def export(
    job: Job,
    directory: str | Path,
    source: str | Path | tuple[str, str],
    *,
    findings: Sequence[Finding] | None = None,
    unit: Unit = "mm",
    paper: Paper | None = None,
    overwrite: bool = False,
    even_so: bool = False,
) -> Export:
    """Write every part of a job, with its manifest.

    directory: made if it isn't there. source: the design file, or its name and its text. What the
    file says goes along, with the values that were changed since it was loaded.
    findings: of this job; looked for if not given. unit: of the STL's coordinates.
    paper: that drawings are printed on; by default what goes with the design's unit.
    even_so: write although a finding fails.
    Raises FindingFailed, ExportRefused, FileTrouble, DesignError; then nothing was written.
    """
    if not isinstance(source, tuple):
        source = design_source(job, Path(source))
    findings = inspect(job) if findings is None else tuple(findings)
    despite = worst(findings) is Verdict.FAILED
    if despite and not even_so:
        raise FindingFailed(_refusal(findings))
    stem = Path(source[0]).stem
    printed = _Printing(paper or usual_paper(job.design.units), job.design.units)
    files: dict[str, Write] = {}
    entries: list[dict[str, Any]] = []
    for part in job.parts:
        mesh = outbound_mesh(job.design, part)
        name = f"{stem}-{part.name}.stl"
        data = _stl(mesh, unit, job.design.title, part.name)
        files[name] = content(data)
        sides = []
        for side in SIDES:
            skin, one = part.type.faces(part.shape).of(mesh, side), f"{stem}-{part.name}-{side}.stl"
            skin_data = _stl(skin, unit, job.design.title, f"{part.name}, {side}")
            files[one] = content(skin_data)
            surfaces = part.type.faces(part.shape).named(mesh, side)
            sides.append(face_entry(side, skin, surfaces, (one, skin_data)))
        beside = _beside(
            outbound_outlines(job.design, part),
            part.type.tables(job.design, part.shape),
            f"{stem}-{part.name}",
            printed,
        )
        files |= {name: content(data) for name, data in beside.items()}
        entries.append(part_entry(part, job.design.handed, mesh, unit, (name, data), sides, beside))
    together = _beside(assembly_outlines(job.design), assembly_tables(job.design), stem, printed)
    files |= {name: content(data) for name, data in together.items()}
    digest = hashlib.sha256(source[1].encode()).hexdigest()
    text, drawings = _kept_together(source[1], job.design, stem)
    files |= {name: content(data) for name, data in drawings.items()}
    summary = manifest(
        job, findings, entries, together, drawings, unit, (source[0], digest), despite=despite
    )
    files[f"{stem}-as-exported.toml"] = content(text.encode())
    listing = json.dumps(summary, indent=2, ensure_ascii=False) + "\n"
    files[f"{stem}-manifest.json"] = content(listing.encode())
    paths = write_all(Path(directory), files, overwrite=overwrite)
    return Export(tuple(paths), findings, despite)


def _stl(mesh: Mesh, unit: Unit, title: str, part: str) -> bytes:
    buffer = io.BytesIO()
    in_unit = mesh if unit == "mm" else mesh.scaled(1 / MM_PER_INCH)
    write_stl(buffer, in_unit, header(title, part, unit))
    return buffer.getvalue()


def _beside(
    outlines: Mapping[str, Drawing], sheets: Mapping[str, DataTable], stem: str, printed: _Printing
) -> dict[str, bytes]:
    """Files beside the meshes: outlines as DXF, SVG and sheets to print, tables as CSV."""
    files = {}
    for name, drawing in outlines.items():
        if not drawing.plot:  # what a DXF holds is there to be cut or to cut by
            files[f"{stem}-{name}.dxf"] = dxf(drawing)
        files[f"{stem}-{name}.svg"] = template(drawing, printed.unit).encode()
        files[f"{stem}-{name}.pdf"] = pdf(drawing, printed.paper, printed.unit)
    for name, sheet in sheets.items():
        files[f"{stem}-{name}.csv"] = csv_table(sheet)
    return files


def _kept_together(text: str, design: Design, stem: str) -> tuple[str, dict[str, bytes]]:
    """The design's text with the drawings it names under names of their own beside it.

    What was exported can so be read again wherever its folder goes, whatever became of the
    builder's drawing since. Returns the text and the drawings by name.
    """
    files: dict[str, bytes] = {}
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


def _refusal(findings: Sequence[Finding]) -> str:
    failed = [finding for finding in findings if finding.verdict is Verdict.FAILED]
    named = "; ".join(f"{finding.check} ({finding.place})" for finding in failed)
    return (
        f"{len(failed)} finding{'s' if len(failed) > 1 else ''} failed: {named}; "
        "nothing was written (to export all the same, say --even-so)"
    )
