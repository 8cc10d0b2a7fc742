"""Covers with the body that they lie in, and both meshes in the body's frame."""

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from carve.arrays import Array
from carve.parts.job import Job, Part
from carve.shape.assembly.frames import moved
from carve.shape.body.cuts import Cut, Removal, RoundBore
from carve.shape.body.shape import BodyShape
from carve.shape.cover.screws import pilot_name
from carve.shape.cover.shape import CoverShape
from carve.solid.body import BACK, TOP, surface_of
from carve.solid.measure import circle_through, slice_level
from carve.solid.mesh import Mesh

UNDER_FLOOR = 1e-3  # mm below a recess's floor, where its wood is looked at
ON_CIRCLE = 2e-3  # mm; as far from a hole's circle a point of its wall may lie
LEAST_ON_CIRCLE = 3  # points; through so many there is always a circle


@dataclass(frozen=True, eq=False)
class Covered:
    """A cover in its body. recess: the body's cut that it lies in."""

    cover: Part[CoverShape]
    body: Part[BodyShape]
    recess: Cut

    @property
    def shape(self) -> CoverShape:
        """The cover's shape."""
        return self.cover.shape

    @cached_property
    def laid(self) -> Mesh:
        """The cover's mesh where it lies, in the body's frame."""
        mesh = self.cover.mesh
        points = moved(mesh.points, self.shape.to_body)
        return Mesh(points, mesh.triangles, mesh.surface, mesh.names)

    @cached_property
    def pilots(self) -> tuple[Cut, ...]:
        """The body's holes under the cover's, in the order of its screws."""
        named = {cut.name: cut for cut in self.body.shape.cuts}
        numbers = range(1, len(self.shape.screws) + 1)
        return tuple(named[pilot_name(self.recess.name, number)] for number in numbers)

    @cached_property
    def others(self) -> tuple[tuple[Removal, BaseGeometry], ...]:
        """What is taken out of the body beside the recess and its pilot holes, with its plan."""
        own = {self.recess.name, *(pilot.name for pilot in self.pilots)}
        body = self.body.shape
        return tuple(
            (taken, plan)
            for taken, plan in zip(body.removals, body.within, strict=True)
            if isinstance(taken, RoundBore) or taken.name not in own
        )

    @cached_property
    def floor(self) -> BaseGeometry:
        """The wood just under the recess's floor, its pilot holes filled: what a cover lies on."""
        z = self.shape.floor - self.shape.up * UNDER_FLOOR
        levels = (taken.level(z, plan) for taken, plan in self.others)
        gone = shapely.union_all([level for level in levels if level is not None])
        return shapely.difference(self.body.shape.polygon, gone)

    def point(self, x: float, y: float, z: float) -> tuple[float, float, float]:
        """A place of the body's frame in the cover's own, in which its findings speak."""
        there = np.array([x, y, z]) - self.shape.to_body[:3, 3]
        return float(there[0]), float(there[1]), float(there[2])

    def walls(self, z: float) -> Array:
        """(k, 2, 2) mm: where a level plane meets the recess's walls on the body's mesh."""
        return slice_level(self.body.mesh.only(surface_of(self.recess)), z)

    def rim(self) -> Array:
        """(n, 3) points of the body's mesh where its face ends at the recess.

        None where the recess lies wholly in another cut.
        """
        mesh = self.body.mesh
        face = TOP if self.shape.face == "front" else BACK
        both = (
            np.unique(mesh.triangles[mesh.surface == mesh.names.index(name)])
            for name in (face, surface_of(self.recess))
            if name in mesh.names
        )
        shared = set.intersection(*(set(found.tolist()) for found in both))
        return mesh.points[sorted(shared)]


def covers(job: Job) -> Iterator[Covered]:
    """Every cover that has been made together with the body it lies in."""
    for body in job.parts_with_shape(BodyShape):
        recesses = {cut.name: cut for cut in body.shape.cuts}
        for cover in job.parts_with_shape(CoverShape):
            if cover.shape.name in recesses:
                yield Covered(cover, body, recesses[cover.shape.name])


def middle_of_hole(points: Array, radius: float) -> tuple[float, float] | None:
    """X and y in mm of the middle of a round hole; None where too little of it is left.

    points: (n, 2) mm of the mesh on its wall. radius: mm. Where another cut takes part of the wall
    away, points lie inside the circle too, on the chords of the mesh: they are left out.
    """
    spots = np.unique(np.round(points, 6), axis=0)
    if len(spots) <= LEAST_ON_CIRCLE:
        return None
    spots = spots[np.argsort(np.arctan2(*(spots - spots.mean(axis=0)).T))]
    most = spots[:0]
    for step in {1, len(spots) // 4, len(spots) // 3} - {0}:
        for turned in range(len(spots)):
            chosen = spots[[turned, turned - step, turned - 2 * step]]
            x, y, found = circle_through(chosen)
            on = np.abs(np.hypot(*(spots - [x, y]).T) - found) < ON_CIRCLE
            if abs(found - radius) < ON_CIRCLE and on.sum() > len(most):
                most = spots[on]
    if len(most) <= LEAST_ON_CIRCLE:
        return None
    x, y, _ = circle_through(most)
    return x, y
