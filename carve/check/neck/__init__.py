"""Checks of the neck."""
