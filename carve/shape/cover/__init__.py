"""Cover plates: inset in their recess, with holes for their screws."""
