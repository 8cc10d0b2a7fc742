"""The manifest: what was exported, from what, how large, how good, and what was found."""

import hashlib
import json
from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path
from typing import Any

from carve import __version__
from carve.check.finding import Finding, as_plain
from carve.check.report import worst
from carve.design.values.units import MM_PER_INCH, Unit
from carve.parts.job import Job, Part
from carve.shape.assembly.frames import INSTRUMENT, in_words
from carve.shop.cautions import CAUTIONS
from carve.solid.faces import Side
from carve.solid.mesh import Mesh, bounds, volume


def part_entry(
    part: Part[Any],
    handed: str,
    mesh: Mesh,
    unit: Unit,
    file: tuple[str, bytes],
    faces: Sequence[Mapping[str, Any]],
    beside: Mapping[str, bytes],
) -> dict[str, Any]:
    """What the manifest says of one part.

    handed: the hand it is for. mesh: as written, in mm. file: the mesh's file, its name and
    content. faces: its open skins, as ``face_entry`` has them. beside: the part's other files,
    by name.
    """
    per = MM_PER_INCH if unit == "in" else 1.0
    low, high = bounds(mesh) / per
    return {
        "part": part.name,
        "frame": in_words(part.type.frame, handed),
        **_file(*file),
        "size": _rounded(high - low),
        "lowest": _rounded(low),
        "highest": _rounded(high),
        "volume": round(volume(mesh) / per**3, 6),
        "triangles": len(mesh.triangles),
        "chord_error": {
            "asked": round(part.chord_bound / per, 8),
            "measured": round(part.chord_error / per, 8),
        },
        "faces": list(faces),
        "beside": [_file(name, content) for name, content in beside.items()],
    }


def face_entry(
    side: Side, skin: Mesh, surfaces: Sequence[str], file: tuple[str, bytes]
) -> dict[str, Any]:
    """What the manifest says of one side of a part, as one clamping machines it.

    skin: the open mesh. surfaces: the part's that lie on it. file: its name and content.
    """
    return {
        "face": side,
        **_file(*file),
        "surfaces": list(surfaces),
        "triangles": len(skin.triangles),
    }


def _file(name: str, content: bytes) -> dict[str, Any]:
    return {
        "file": name,
        "bytes": len(content),
        "sha256": hashlib.sha256(content).hexdigest(),
    }


def manifest(
    job: Job,
    findings: Sequence[Finding],
    parts: Sequence[Mapping[str, Any]],
    together: Mapping[str, bytes],
    drawings: Mapping[str, bytes],
    unit: Unit,
    source: tuple[str, str],
    kept: tuple[str, bytes],
    *,
    had_failures: bool,
) -> dict[str, Any]:
    """The whole manifest.

    together: files about all parts as they meet, by name. drawings: the builder's own, as the
    design was made from them. source: name of the design file
    and SHA-256 of its bytes. kept: the design as it was exported, its file's name and content.
    """
    return {
        "title": job.design.title,
        "made_by": f"carve {__version__}",
        "design_file": {"name": source[0], "sha256": source[1]},
        "design_as_exported": _file(*kept),
        "unit": unit,
        "handed": job.design.handed,
        "frame": in_words(INSTRUMENT, job.design.handed),
        "verdict": worst(findings).value,
        "exported_despite_failed_findings": had_failures,
        "parts": list(parts),
        "together": [_file(name, content) for name, content in together.items()],
        "drawings": [_file(name, content) for name, content in drawings.items()],
        "findings": [as_plain(finding) for finding in findings],
        "cautions": list(CAUTIONS),
    }


def listed_in(path: Path) -> dict[str, str]:
    """The files that a manifest lists, by name, with their SHA-256; none where it cannot be read.

    Those are all of its set but itself.
    """
    try:
        found = json.loads(path.read_text(encoding="utf-8"))
    except (OSError, ValueError):
        return {}
    return dict(_listed(found))


def _listed(entry: Any) -> Iterator[tuple[str, str]]:
    if isinstance(entry, dict):
        name, digest = entry.get("file"), entry.get("sha256")
        if isinstance(name, str) and isinstance(digest, str):
            yield name, digest
        entry = list(entry.values())
    if isinstance(entry, list):
        for inner in entry:
            yield from _listed(inner)


def _rounded(values: Any) -> list[float]:
    return [round(float(value), 6) for value in values]
