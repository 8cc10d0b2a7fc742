"""Carved plates. Begin with ``carved_face``.

``request`` is what is asked in plain numbers; ``foundation`` and ``thin_plate`` hold lines and
solve for the surface of least bending energy, ``arch`` and ``contour_arch`` are the two ways of
giving one, ``graduation`` is the inside of a plate.
"""
