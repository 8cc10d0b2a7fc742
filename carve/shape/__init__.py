"""The continuous mathematics: curves, sections, surfaces. Knows no mesh and no screen."""
