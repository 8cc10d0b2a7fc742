"""Carved tops and backs: least-energy arches, contour plates, graduation."""
