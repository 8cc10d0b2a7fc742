"""Instrument parts for a three-axis router: shaped, proven and exported.

Data flows one way through the rooms: design, shape, solid, then check, shop and
export, and last the two faces, ``lab`` and ``cli``.
"""

__version__ = "0.1.0"
