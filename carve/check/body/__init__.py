"""Checks of the body."""
