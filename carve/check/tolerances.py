"""By how much each check lets a limit be missed, and why no less and no more.

A tolerance stands for what measuring alone may do. It never hides what anyone at the bench could
find: a caliper reads 0.02 mm, the thinnest feeler gauge is 0.03 to 0.05 mm, and wood moves by more
from a dry day to a wet one (all common practice). A limit that is itself a tolerance ("± 0.1 mm")
gets none beside rounding, for the builder has set that one.
"""

ROUNDING = 1e-9
"""mm, or degrees: what double precision does to a sum of lengths below a few metres.

For all that is computed from the design in closed form, and for counts.
"""

MEASURED = 1e-6
"""mm: what a plane through a mesh in double precision, or a root that is sought, is off by.

For what is measured on meshes against a limit that is a tolerance already: profile, playing
surface, fret places, glue faces, film, arch, pads, covers. The least that such a limit may be is a
thousand times as much.
"""

WOOD = 0.005
"""mm: for wood that is left, whatever lies on its two sides.

The least distance is sought on grids that end within 0.002 mm of it, and between outlines whose
chords lie within 0.001 to 0.005 mm of their curves. A quarter of what a caliper shows: no wall is
weaker for it, and none fails by a figure that nobody could measure. For the room that glue takes
beside a neck too: what the advice tells to 0.01 mm shall do.
"""

STRING = 0.001
"""mm: for heights of strings, bridge and neck.

They follow from roots that are sought to 1e-6 mm or better and from a top's height that is settled
to some 1e-4 mm. A thirtieth of the thinnest feeler gauge.
"""

CHORDS = 0.002
"""mm: for room between outlines of which each lies within 0.001 mm of its curve."""

BLANK = 0.003
"""mm: for the wood to spare on each side of a blank, which is 0.006 mm of its size.

Sizes are told to 0.01 mm: a blank of the smallest size that is told does, and one that is 0.01 mm
smaller does not. A board is measured with a rule.
"""

ANGLE = 0.005
"""Degrees: for angles, which are told to 0.01. Over a heel of 60 mm it is 0.005 mm."""

CUTTER = 0.005
"""mm: for the radius of a hollow against a ball cutter's.

It is found on a grid of places, and such cutters are ground to 0.01 mm (common practice).
"""

CURVATURE = 1e-6
"""Per mm: for a jump of curvature along the neck.

Two lines that part by it are 0.005 mm asunder after 100 mm, a tenth of what a straightedge and a
feeler gauge show. What rounding alone may do is taken off first: 1e-8 per mm where pieces of 10 mm
meet, 1e-5 beside one of 0.3 mm (``carve/shape/neck/curvature.py``).
"""
