"""The body. Begin with ``shape``; ``build`` makes it from the design, ``validate`` judges it.

``cuts``, ``pocket_plans`` and ``chambers`` are what is taken out of it; ``clearance``, ``volume``
and ``thickness_map`` measure what is left.
"""
