"""An independent plate: Morley's finite element on triangles, by scikit-fem.

Equations: the least integral of f_xx^2 + 2 f_xy^2 + f_yy^2 over a region, f and its slope given
on the rim, f given along the centre line. The element knows values at corners and slopes at the
middles of edges, so both are held where they are.
"""

from dataclasses import dataclass

import numpy as np
import shapely
import skfem
from scipy import sparse
from scipy.sparse.linalg import splu
from scipy.spatial import Delaunay, cKDTree
from skfem.helpers import dd, ddot

from carve.arrays import Array, IntArray


@dataclass(frozen=True, eq=False)
class MorleyPlate:
    """A clamped plate with a line held along y = 0, factored.

    points: (n, 2) mm, the corners. held_x: x of the corners on the centre line.
    """

    points: Array
    held_x: Array
    basis: skfem.Basis
    _on_line: IntArray
    _free: IntArray
    _to_free: object
    _solver: object

    def through(self, heights: Array) -> Array:
        """All degrees of freedom, with ``heights`` (k,) mm on the centre line."""
        found = np.zeros(self.basis.N)
        found[self._on_line] = heights
        found[self._free] = self._solver.solve(-(self._to_free @ heights))
        return found

    def reader(self, places: Array) -> sparse.csr_array:
        """(k, n) matrix from heights at the corners to places (k, 2) mm, straight between them."""
        net = Delaunay(self.points)
        inside = net.find_simplex(places)
        corners, turn = net.simplices[inside], net.transform[inside]
        two = np.einsum("nij,nj->ni", turn[:, :2], places - turn[:, 2])
        shares = np.column_stack([two, 1 - two.sum(axis=1)])
        starts = np.arange(0, 3 * len(places) + 1, 3)
        shape = (len(places), len(self.points))
        return sparse.csr_array((shares.ravel(), corners.ravel(), starts), shape=shape)

    def at_points(self, found: Array) -> Array:
        """(n,) mm at the corners."""
        return np.asarray(found[self.basis.nodal_dofs[0]])


def morley_plate(rim: Array, size: float) -> MorleyPlate:
    """Clamp a plate along a closed line (k, 2) mm. size: mm, of its triangles."""
    mesh = _mesh(rim, size)
    basis = skfem.Basis(mesh, skfem.ElementTriMorley())

    @skfem.BilinearForm
    def bending(u, v, _):
        return ddot(dd(u), dd(v))

    stiffness = bending.assemble(basis).tocsr()
    on_line = np.flatnonzero(
        (np.abs(mesh.p[1]) < 1e-9) & ~np.isin(np.arange(mesh.nvertices), mesh.boundary_nodes())
    )
    on_line = on_line[np.argsort(mesh.p[0, on_line])]
    held = basis.nodal_dofs[0, on_line]
    clamped = np.r_[
        basis.nodal_dofs[0, mesh.boundary_nodes()], basis.facet_dofs[0, mesh.boundary_facets()]
    ]
    free = np.setdiff1d(np.arange(basis.N), np.r_[held, clamped])
    solver = splu(
        stiffness[free][:, free].tocsc(),
        permc_spec="MMD_AT_PLUS_A",
        diag_pivot_thresh=0.0,
        options={"SymmetricMode": True},
    )
    return MorleyPlate(
        mesh.p.T, mesh.p[0, on_line], basis, held, free, stiffness[free][:, held], solver
    )


def _mesh(rim: Array, size: float) -> skfem.MeshTri:
    """Triangles over a region with edges along its rim and along y = 0."""
    region = shapely.Polygon(rim)
    ring = shapely.get_coordinates(shapely.segmentize(region.exterior, size))[:-1]
    met = shapely.get_coordinates(
        shapely.LineString([(-1e4, 0), (1e4, 0)]).intersection(region.exterior)
    )
    low, high = met[:, 0].min(), met[:, 0].max()
    ends = np.array([[low, 0.0], [high, 0.0]])
    ring = np.vstack([ring[np.abs(ring[:, None] - ends).max(axis=2).min(axis=1) > size / 3], ends])
    x = np.linspace(low, high, int((high - low) / size) + 2)
    centre = np.stack([x, np.zeros_like(x)], axis=1)[1:-1]
    a, b, c, d = region.bounds
    rows = np.arange(b, d, size * np.sqrt(3) / 2)
    columns = np.arange(a, c, size)
    x, y = np.meshgrid(columns, rows)
    x = x + size / 2 * (np.arange(len(rows)) % 2)[:, None]
    hexagons = np.stack([x.ravel(), y.ravel()], axis=1)
    lines = np.vstack([ring, centre])
    away, _ = cKDTree(lines).query(hexagons)
    inside = hexagons[(away > 0.6 * size) & shapely.contains_xy(region, hexagons)]
    points = np.vstack([lines, inside])
    triangles = Delaunay(points).simplices
    middle = points[triangles].mean(axis=1)
    kept = triangles[shapely.contains_xy(region, middle)]
    return skfem.MeshTri(points.T.copy(), kept.T.copy())
