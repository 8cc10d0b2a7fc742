"""Random drawings with a known outline, and with things in them that are shown or not.

What a drawing program shows is what SVG 1.1 (sections 11.3 to 11.5, 14.3 and 14.5), CSS 2.1
(section 6.4) and the DXF reference (LAYER, common group codes, INSERT) say. The outline is held
against the points that it was drawn through, by shapely; the files are written as plain text and by
ezdxf.
"""

import math
import random
import tempfile
from pathlib import Path
from typing import Any

import numpy as np
import shapely
import trimesh

import carve
from carve.errors import DesignError
from trials.drawings_dxf import dxf_of
from trials.drawings_svg import svg_of
from trials.page import Page
from trials.trial import Outcome, Trial

EXAMPLE = Path(__file__).parents[2] / "examples" / "dotterel.toml"
OFF = 0.12  # mm: the mesh's chord error, the closed gaps and the rounding of a file
THICK = 45.0  # mm


def once(number: int) -> Outcome:
    """Draw, read, make and look at one design."""
    rng = random.Random(number)
    page = Page(rng)
    name, data = svg_of(page) if rng.random() < 0.6 else dxf_of(page)
    with tempfile.TemporaryDirectory() as folder:
        (Path(folder) / name).write_bytes(data)
        design = Path(folder) / "design.toml"
        design.write_text(_design(name, page), encoding="utf-8")
        try:
            job = carve.make(carve.load(design), only=["body"])
        except DesignError as error:
            return _refused(page, str(error))
    if page.refused:
        return Outcome("wrong", f"{name} should be refused: {page.refused}")
    finding = next(one for one in carve.inspect(job) if one.name == "drawing-used:outline")
    said = f"{finding.value:g} left over: {finding.detail}"
    if finding.value != page.left or (finding.verdict == "failed") != (page.left > 0):
        return Outcome("wrong", f"{name} {page.extras}: {page.left} expected, {said}")
    unseen = sum(
        int(note.split()[0]) for note in finding.detail.split("; ") if " not shown in " in note
    )
    if unseen != page.hidden:
        return Outcome("wrong", f"{name} {page.extras}: {page.hidden} hidden expected, {said}")
    off = _off(job, page)
    if off > OFF:
        return Outcome("wrong", f"{name} {page.extras}: the outline is {off:.3f} mm off")
    return Outcome("held")


def _design(name: str, page: Page) -> str:
    before, _, rest = EXAMPLE.read_text(encoding="utf-8").partition("[body.outline]")
    _, blank, after = rest.partition("[body.blank]")
    asks = f'layer = "{page.layer}"\n' if page.by_layer else 'curve = "rim"\n' * page.by_id
    return (
        f'{before}[body.outline]\nfile = "{name}"\n{asks}centre_at = {page.across!r}\n'
        f"length = {page.length!r}\n\n{blank}{after}"
    )


def _refused(page: Page, said: str) -> Outcome:
    if any(one in said for one in page.refused):
        return Outcome("held")
    return Outcome("wrong", f"{page.extras}, expected {page.refused or 'no refusal'}: {said}")


def _off(job: Any, page: Page) -> float:
    """How far the body's edge is from the known outline at most, mm."""
    (body,) = job.parts
    mesh = trimesh.Trimesh(body.mesh.points, body.mesh.triangles, process=False)
    cut = trimesh.intersections.mesh_plane(mesh, [0, 0, 1], [0, 0, -THICK / 2 + 0.123])
    lines = shapely.linestrings(np.round(cut[:, :, :2], 6))
    rings = shapely.get_parts(shapely.polygonize(list(lines)))
    if len(rings) == 0:
        return math.inf
    edge = shapely.union_all(rings)
    if not isinstance(edge, shapely.Polygon) or edge.interiors:
        return math.inf
    return float(shapely.hausdorff_distance(edge.exterior, page.ring(), densify=0.02))


TRIAL = Trial(
    "drawings",
    "A random drawing gives the outline that was drawn, cuts nothing that its program hides, and "
    "tells of everything else on its layer.",
    500,
    once,
)
