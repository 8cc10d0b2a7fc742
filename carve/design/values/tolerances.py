"""Tolerances that several rooms share, so that all draw a line at the same place."""

LEAST_WOOD = 1.0  # mm; less between two cuts, or between a cut and an edge, breaks away

TINY = 0.2  # mm or degrees; what is not nothing is at least this

EXPORT_CHORD = 0.02  # mm, greatest distance of a file's mesh from its shape
