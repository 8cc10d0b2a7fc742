"""Stations at the 1st and the 12th fret, and a heel that begins anywhere behind the first."""

import numpy as np
import trimesh
from numpy.polynomial import Polynomial
from random_necks import random_heel_after_stations

from carve.check.report import inspect
from carve.design.io.parse import read_design
from carve.design.schema.design import Design
from carve.errors import DesignError
from carve.parts.job import make
from carve.shape.neck.shape import NeckShape
from carve.solid.as_written import as_written
from trials.trial import Outcome, Trial

SEED = 1212
CHORD = 0.1  # mm
MEASURED = 0.002  # mm; a caliper reads 0.01
SHORTEST = 10.0  # mm, of a blend; common practice
STEEPEST, TIGHTEST = 6.0, 3.0  # mm per mm, and mm of a ball cutter; common practice


def once(number: int) -> Outcome:
    """One neck: made, cut by trimesh at its stations, and checked."""
    try:
        design = read_design(random_heel_after_stations(SEED, number))
        job = make(design, CHORD, only=["neck"])
    except DesignError as error:
        # a blend that is too short by itself, as stated, is the design's own business
        mine = "station" in str(error)
        return Outcome("wrong" if mine else "refused", str(error))
    part = job.parts[0]
    mesh = as_written(part.mesh)
    theirs = trimesh.Trimesh(mesh.points, mesh.triangles, process=False)
    said = [*_off(design, part.shape, theirs), *_found(job), *_not_rising(design, part.shape)]
    return Outcome("wrong" if said else "held", "; ".join(said))


def twelfth_on_heel(design: Design, shape: NeckShape) -> bool:
    """Whether no blend can begin at the 12th fret: too short, too steep or too tight."""
    first, last = (design.place(station.at) for station in design.neck.stations)
    heel, asked = shape.heel, design.neck.heel
    long = heel.blend_end - last
    longest = 40.0 if asked.blend is None else asked.blend
    if long >= longest:
        return False
    if long < min(SHORTEST, longest):
        return True
    thin, thick = (s.thickness - design.fretboard.thickness for s in design.neck.stations)
    slope = (thick - thin) / (last - first)
    if asked.kind == "carved":  # its back goes on straight beyond the blend, as steep as there
        return 2 * (asked.depth - thick) / long - slope > STEEPEST
    # the one quintic with these values and slopes, and without curvature at its ends
    rows = [np.polynomial.polynomial.polyvander([0.0, long], 5)]
    for order in (1, 2):
        basis = [Polynomial.basis(n).deriv(order)(np.array([0.0, long])) for n in range(6)]
        rows.append(np.array(basis).T)
    ends = np.array([thick, asked.depth, slope, 0.0, 0.0, 0.0])
    curve = Polynomial(np.linalg.solve(np.vstack(rows), ends))
    x = np.linspace(0, long, 201)
    bent = np.abs(curve.deriv(2)(x)) / (1 + curve.deriv()(x) ** 2) ** 1.5
    return bool(np.abs(curve.deriv()(x)).max() > STEEPEST or 1 / bent.max() < TIGHTEST)


def _off(design: Design, shape: NeckShape, theirs: trimesh.Trimesh):
    """Thickness that trimesh finds at both stations, or where the shaft ends before one."""
    (first, thin), (last, thick) = (
        (design.place(station.at), station.thickness) for station in design.neck.stations
    )
    asked = {first: thin, last: thick}
    if twelfth_on_heel(design, shape):
        end = shape.heel.blend_end - (design.neck.heel.blend or 40.0)
        asked = {first: thin, end: thin + (thick - thin) * (end - first) / (last - first)}
    for x, thickness in asked.items():
        cut = trimesh.intersections.mesh_plane(theirs, [1.0, 0, 0], [x - 1e-5, 0, 0])
        off = design.fretboard.thickness - float(cut[..., 2].min()) - thickness
        if abs(off) > MEASURED:
            yield f"{off:+.4f} mm off at {x:.2f}"


def _found(job):
    """What the findings say of thickness, profile and blend: nothing against this neck."""
    for found in inspect(job):
        mine = found.name.split(":")[0] in ("thickness", "profile", "heel-blend")
        if mine and found.verdict != "good":
            yield f"{found.check}: {found.verdict}, {found.value:.4f}"


def _not_rising(design: Design, shape: NeckShape):
    """From the 1st fret to the heel's flat back nowhere thinner toward the heel, and no kink."""
    x = np.linspace(design.place(design.neck.stations[0].at), shape.heel.blend_end, 4001)
    keel = shape.depth_curve(x)
    if np.diff(keel).min() < -1e-9:
        yield f"it falls by {-np.diff(keel).min():.6f} mm from one place to the next"
    for order in (1, 2):  # to either side of where the blend begins
        sides = shape.depth_curve.derivative(order)(shape.heel.blend + np.array([-1e-7, 1e-7]))
        if abs(np.diff(sides)[0]) > 1e-4:
            yield f"derivative {order} jumps by {np.diff(sides)[0]:.5f} where the blend begins"


TRIAL = Trial(
    name="heels",
    claim="thickness at the 1st and the 12th fret is as asked, wherever the heel begins",
    count=300,
    once=once,
)
