"""Closed triangle meshes from shapes, within a stated chord error."""
