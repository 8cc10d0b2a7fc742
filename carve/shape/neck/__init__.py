"""The neck. Begin with ``shape``; ``build`` makes it from the design in steps.

``section`` is one cross section, ``channel``, ``heel``, ``carved_heel`` and ``headstock`` what
belongs to it, ``area`` and ``curvature`` what is measured on it.
"""
