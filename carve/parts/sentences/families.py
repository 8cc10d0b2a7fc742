"""All sentences together: each family's file adds its own to ``sentence`` as it is imported."""

from carve.parts.sentences import assembly, body, cover, neck, outlines, plate
from carve.parts.sentences.dispatch import sentence as sentence

FAMILIES = (outlines, plate, cover, neck, body, assembly)
"""The files with sentences."""
