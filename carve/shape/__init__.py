"""Shapes: what a design means in the plane and in space, evaluated and never stored as triangles.

To read them begin with ``numeric`` and ``planar``, which know no instrument; then one part:
``neck/shape``, ``fretboard/shape``, ``plate/carved_face`` or ``body/shape``, each made by the
``build`` beside it. ``assembly`` says how parts stand to one another, ``views`` draws them. What
a shape cannot be stands in ``problems``, without a word of the design file.
"""
