"""An export: each part's STL, drawings and tables, the design and the manifest, all or none."""

import hashlib
import io
import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from carve.check.finding import Finding, Verdict
from carve.check.report import inspect, worst
from carve.design.units import MM_PER_INCH, Unit
from carve.errors import FindingFailed
from carve.export.atomic import Write, content, write_all
from carve.export.csv_sheet import csv_sheet
from carve.export.dxf import dxf
from carve.export.manifest import manifest, part_entry
from carve.export.pdf import pdf
from carve.export.stl import header, write_stl
from carve.export.svg import template
from carve.shape.drawing import Drawing
from carve.shape.paper import Paper, usual_paper
from carve.shape.sheet import Sheet
from carve.solid.assembly import assembly_outlines, assembly_sheets
from carve.solid.parts import Job


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
    directory: Path,
    source: tuple[str, str],
    *,
    findings: Sequence[Finding] | None = None,
    unit: Unit = "mm",
    paper: Paper | None = None,
    overwrite: bool = False,
    even_so: bool = False,
) -> Export:
    """Write every part of a job, with its manifest.

    directory: made if it isn't there. source: name of the design file and its text.
    findings: of this job; looked for if not given. unit: of the STL's coordinates.
    paper: that drawings are printed on; by default what goes with the design's unit.
    even_so: write although a finding fails.
    Raises FindingFailed, ExportRefused, FileTrouble; then nothing was written.
    """
    findings = inspect(job) if findings is None else tuple(findings)
    despite = worst(findings) is Verdict.FAILED
    if despite and not even_so:
        raise FindingFailed(_refusal(findings))
    stem = Path(source[0]).stem
    printed = _Printing(paper or usual_paper(job.design.units), job.design.units)
    files: dict[str, Write] = {}
    entries: list[dict[str, Any]] = []
    for part in job.parts:
        mesh = part.written
        name = f"{stem}-{part.name}.stl"
        buffer = io.BytesIO()
        in_unit = mesh if unit == "mm" else mesh.scaled(1 / MM_PER_INCH)
        write_stl(buffer, in_unit, header(job.design.title, part.name, unit))
        data = buffer.getvalue()
        files[name] = content(data)
        beside = _beside(
            part.kind.outlines(job.design, part.shape),
            part.kind.sheets(job.design, part.shape),
            f"{stem}-{part.name}",
            printed,
        )
        files |= {name: content(data) for name, data in beside.items()}
        entries.append(part_entry(part, mesh, unit, (name, data), beside))
    together = _beside(assembly_outlines(job.design), assembly_sheets(job.design), stem, printed)
    files |= {name: content(data) for name, data in together.items()}
    digest = hashlib.sha256(source[1].encode()).hexdigest()
    summary = manifest(job, findings, entries, together, unit, (source[0], digest), despite=despite)
    files[f"{stem}-as-exported.toml"] = content(source[1].encode())
    text = json.dumps(summary, indent=2, ensure_ascii=False) + "\n"
    files[f"{stem}-manifest.json"] = content(text.encode())
    paths = write_all(directory, files, overwrite=overwrite)
    return Export(tuple(paths), findings, despite)


def _beside(
    outlines: Mapping[str, Drawing], sheets: Mapping[str, Sheet], stem: str, printed: _Printing
) -> dict[str, bytes]:
    """Files beside the meshes: outlines as DXF, SVG and sheets to print, tables as CSV."""
    files = {}
    for name, drawing in outlines.items():
        if not drawing.plot:  # what a DXF holds is there to be cut or to cut by
            files[f"{stem}-{name}.dxf"] = dxf(drawing)
        files[f"{stem}-{name}.svg"] = template(drawing, printed.unit).encode()
        files[f"{stem}-{name}.pdf"] = pdf(drawing, printed.paper, printed.unit)
    for name, sheet in sheets.items():
        files[f"{stem}-{name}.csv"] = csv_sheet(sheet)
    return files


def _refusal(findings: Sequence[Finding]) -> str:
    failed = [finding for finding in findings if finding.verdict is Verdict.FAILED]
    named = "; ".join(f"{finding.check} ({finding.place})" for finding in failed)
    return (
        f"{len(failed)} finding{'s' if len(failed) > 1 else ''} failed: {named}; "
        "nothing was written (to export all the same, say --even-so)"
    )
