"""Pictures: a drawing as SVG, a map with its colours. What the lab and the export both draw with."""
