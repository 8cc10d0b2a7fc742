"""Checks of carved tops and backs."""
