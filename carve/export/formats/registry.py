"""The register of file formats. Whatever stands here is written by every export.

``bundle`` writes each mesh, drawing and table in each format of its kind, in this order, and
knows none of them by name.
"""

from carve.export.formats import csv, dxf, pdf, stl, svg
from carve.export.formats.kinds import DrawingFormat, MeshFormat, TableFormat

MESH_FORMATS: tuple[MeshFormat, ...] = (stl.FORMAT,)
"""The first is the one that the manifest puts in a part's own entry."""

DRAWING_FORMATS: tuple[DrawingFormat, ...] = (dxf.FORMAT, svg.FORMAT, pdf.FORMAT)

TABLE_FORMATS: tuple[TableFormat, ...] = (csv.FORMAT,)
