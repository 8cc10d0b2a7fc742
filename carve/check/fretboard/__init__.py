"""Checks of the fretboard."""
