"""Whatever the file asks for within the ranges: findings, drawings and tables, never a crash."""

import math

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from carve.check.assembly import (
    action,
    bridge_range,
    neck_pocket,
    neck_set,
    nut_and_saddle,
    string_overhang,
    strings_clear,
)
from carve.check.finding import show_limit, show_value
from carve.design import with_values
from carve.errors import DesignError
from carve.parts.assembly import assembly_drawings, assembly_outlines, assembly_tables
from carve.parts.job import Job

CHECKS = (
    neck_set,
    bridge_range,
    action,
    strings_clear,
    nut_and_saddle,
    string_overhang,
    neck_pocket,
)


def maybe(values):
    return st.one_of(st.none(), values)


def bridge(lowest, travel, share, compensation, top):
    found = {
        "height_lowest": lowest,
        "height_highest": lowest + travel,
        "compensation": compensation,
        "top_height": top,
    }
    return found if share is None else {**found, "height": lowest + share * travel}


places, angles, heights = st.floats(215, 379), st.floats(-10, 20), st.floats(-40, 60)
changes = st.fixed_dictionaries(
    {
        "strings": st.fixed_dictionaries(
            {
                "number": st.integers(4, 12),
                "nut_edge_bass": st.floats(0.5, 20),
                "nut_edge_treble": st.floats(0.5, 20),
                "bridge_spread": st.floats(10, 200),
                "bridge_offset": st.floats(-20, 20),
            }
        ),
        "action": st.fixed_dictionaries(
            {
                "bass": st.floats(0.2, 12),
                "treble": st.floats(0.2, 12),
                "fret_height": st.floats(0, 5),
                "relief": st.floats(0, 1),
                "nut_height": st.floats(0, 8),
                "nut_over": st.sampled_from(["board", "1st fret"]),
            }
        ),
        "bridge": st.builds(
            bridge,
            st.floats(0, 40),
            st.floats(0, 40),
            maybe(st.floats(0, 1)),
            st.floats(-10, 25),
            st.floats(-20, 80),
        ),
        "joint": st.one_of(
            st.none(),
            st.fixed_dictionaries({"at": places, "angle": angles}),
            st.fixed_dictionaries({"at": places, "height": heights}),
            st.fixed_dictionaries({"at": places, "angle": angles, "height": heights}),
        ),
        "scale_length": st.floats(450, 850),
        "fretboard.frets": st.sampled_from([1, 2, 12, 20]),
        "fretboard.radius": st.one_of(st.just("flat"), st.floats(120, 900)),
        "finish": maybe(
            st.fixed_dictionaries(
                {
                    "films": st.lists(
                        st.fixed_dictionaries({"thickness": st.floats(0, 2)}), max_size=1
                    )
                }
            )
        ),
    }
)


@settings(max_examples=300)
@given(changes=changes)
def test_every_assembly_that_is_a_design_is_judged_and_drawn(heron, changes):
    try:
        design = with_values(heron, {**changes, "neck.truss_rod": None, "fretboard.slots": None})
    except DesignError:
        return  # what is said then is another test's business
    job = Job(design, ())
    for check in CHECKS:
        for finding in check.check(job):
            assert math.isfinite(finding.value)
            assert show_value(finding, "mm")
            assert show_limit(finding, "in")
            assert finding.advice or finding.verdict.value == "good"
    for drawing in (*assembly_outlines(design).values(), *assembly_drawings(design)):
        assert all(np.isfinite(line.points).all() for line in drawing.lines)
    assert assembly_tables(design)
