"""A builder's own SVG or DXF drawing, read as chains of cubic curves."""
