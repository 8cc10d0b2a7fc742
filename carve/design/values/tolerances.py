"""Tolerances that several rooms share, so that all draw a line at the same place."""

TINY = 0.2  # mm or degrees; what is not nothing is at least this

LEAST_WOOD = 1.0  # mm; less between two cuts, or between a cut and an edge, breaks away

LEAST_CHAMBER = 1.0  # mm from a chamber's floor to its ceiling; less is no chamber

LENGTH_AGREES = 0.005  # of a length, that drawing and paper may differ; paper moves with the air

EXPORT_CHORD = 0.02  # mm, greatest distance of a file's mesh from its shape

NEAREST_STATIONS = 1.0  # mm; nearer ones would ask for a step, not for a smooth curve
