"""The register of parts. Whatever stands here is checked, exported and shown in the lab."""

from typing import Any

from carve.parts.body import BODY
from carve.parts.cover import COVER
from carve.parts.fretboard import FRETBOARD
from carve.parts.kind import PartType
from carve.parts.neck import NECK

PART_TYPES: tuple[PartType[Any], ...] = (NECK, FRETBOARD, BODY, COVER)
"""Every sort of part, in the order in which people read of them."""
