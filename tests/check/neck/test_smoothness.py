"""No jump of curvature is told of where there is none, and one that is there is found."""

import re
from dataclasses import replace
from itertools import permutations

import numpy as np
import pytest
from random_necks import random_neck

from carve.check.finding import Verdict
from carve.check.neck import smoothness
from carve.check.tolerances import CURVATURE
from carve.design import load, read_design, with_values
from carve.design.values.profile import LETTERS
from carve.errors import CarveError
from carve.parts.job import Job, make
from carve.shape.neck.shape import NeckShape

CHORD = 0.6  # mm; the check looks at the shape and not at the mesh
SEED, RANDOM_NECKS = 99, 60


def jumps(job: Job):
    (found,) = smoothness.check(job)
    return found


def neck(design, first, then, at="fret 3") -> Job:
    changes = {"neck.stations[0].shape": first, "neck.stations[1].shape": then}
    changes["neck.stations[1].at"] = at
    return make(with_values(design, changes), CHORD, only=["neck"])


@pytest.mark.parametrize("at", ["fret 3", "fret 12"])
def test_any_letter_turns_into_any_other_without_a_jump(pytestconfig, at):
    # a V at the 3rd fret after a D at the 1st "jumped" by 1.5e-6 per mm, by too few nodes
    design = load(pytestconfig.rootpath / "examples" / "siskin.toml")
    for first, then in permutations(LETTERS, 2):
        found = jumps(neck(design, first, then, at))
        assert found.verdict is Verdict.GOOD, f"{first} to {then}: {found.detail}"


def test_no_random_neck_jumps():
    tried = 0
    for number in range(RANDOM_NECKS):
        try:
            job = make(read_design(random_neck(SEED, number), "mm"), CHORD, only=["neck"])
        except CarveError:
            continue
        tried += 1
        assert jumps(job).verdict is Verdict.GOOD, f"neck {number}: {jumps(job).detail}"
    assert tried > RANDOM_NECKS / 3


@pytest.mark.parametrize(("jump", "verdict"), [(3.0, Verdict.FAILED), (0.3, Verdict.GOOD)])
def test_a_jump_of_a_few_millionths_is_found_even_so(pytestconfig, jump, verdict):
    # x^2 added to a piece, in Bernstein's form (k (k - 1) / 20 for a quintic): its second
    # derivative begins that much off; the neck's back is nearly level there
    design = load(pytestconfig.rootpath / "examples" / "siskin.toml")
    job = make(design, CHORD, only=["neck"])
    (part,) = job.parts_with_shape(NeckShape)
    knots, c = part.shape.depth_curve.x, part.shape.depth_curve.c.copy()
    piece = int(np.argmin(np.abs(knots - part.shape.heel.blend)))
    long = knots[piece + 1] - knots[piece]
    bend = jump * CURVATURE
    c[:, piece] += bend / 2 * long**2 * np.array([0, 0, 0.1, 0.3, 0.6, 1.0])
    curve = replace(part.shape.depth_curve, c=c)
    found = jumps(Job(design, (replace(part, shape=replace(part.shape, depth_curve=curve)),)))
    assert found.verdict is verdict
    if verdict is Verdict.FAILED:
        most = re.search(r"most by (\S+) per mm", found.detail)
        assert most is not None
        assert float(most[1]) == pytest.approx(bend, rel=0.05)


def test_a_headstock_may_reach_deeper_than_a_carved_heels_cap(pytestconfig):
    # its back reaches more than 34 mm below the glue face, the cap lies 34 mm below it: the cap's
    # plane was taken off the headstock too, and the keel had a corner there
    redstart = load(pytestconfig.rootpath / "examples" / "redstart.toml")
    changes = {"neck.heel.depth": 34.0, "neck.heel.tongue": None, "neck.heel_end": 352.0}
    changes |= {"neck.headstock.tilt": 18.0, "neck.headstock.blend_radius": 110.0}
    changes |= {"neck.headstock.tuners": [], "neck.headstock.volute": None}
    changes |= {"joint.pocket_width": None}
    job = make(with_values(redstart, changes), CHORD, only=["neck"])
    (part,) = job.parts_with_shape(NeckShape)
    behind = np.linspace(part.shape.start, 0.0, 200)
    curve = part.shape.depth_curve(behind)
    assert curve.max() > 34.0  # so that this says something
    assert part.shape.depth(behind) == pytest.approx(curve, abs=1e-9)
    assert jumps(job).verdict is Verdict.GOOD
