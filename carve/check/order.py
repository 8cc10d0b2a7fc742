"""Every check there is, in the order in which a part's findings are read.

A check that stands in no line here never runs; ``tests/check/test_order.py`` looks for such.
"""

from carve.check.assembly import (
    action,
    bridge_on_body,
    bridge_range,
    finish_flush,
    glue_faces,
    neck_in_body,
    neck_pocket,
    neck_set,
    nut_and_saddle,
    string_intonation,
    string_overhang,
    strings_clear,
)
from carve.check.body import boards
from carve.check.body import wood as body_wood
from carve.check.cover import flush, gap, ledge, screws
from carve.check.declare import Check
from carve.check.every_part import blank, drawing_scale, mesh
from carve.check.fretboard import along_strings, edge, frets, radius, tang
from carve.check.fretboard import wood as fretboard_wood
from carve.check.neck import (
    profile,
    smoothness,
    wood_around_holes,
    wood_behind_nut,
    wood_beside_channel,
    wood_under_channel,
)
from carve.check.plate import at_bridge, falloff, heights, hollow, pads, slope
from carve.check.plate import wood as plate_wood

CHECKS: tuple[Check, ...] = (
    drawing_scale.check,
    wood_under_channel.check,
    body_wood.check,
    plate_wood.check,
    wood_behind_nut.check,
    fretboard_wood.check,
    wood_beside_channel.check,
    edge.check,
    smoothness.check,
    wood_around_holes.check,
    profile.check,
    radius.check,
    heights.check,
    frets.check,
    slope.check,
    tang.check,
    hollow.check,
    along_strings.check,
    falloff.check,
    string_intonation.check,
    pads.check,
    blank.check,
    boards.check,
    gap.check,
    ledge.check,
    flush.check,
    screws.check,
    mesh.check,
    neck_set.check,
    bridge_on_body.check,
    bridge_range.check,
    action.check,
    at_bridge.check,
    strings_clear.check,
    nut_and_saddle.check,
    string_overhang.check,
    glue_faces.check,
    finish_flush.check,
    neck_pocket.check,
    neck_in_body.check,
)
