"""The headstock. Begin with ``shape``; ``build`` makes it from the design.

Its sides come from measures (``outline``) or from the builder's own drawing (``drawn``).
"""
