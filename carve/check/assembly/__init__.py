"""Checks of how the parts meet."""
