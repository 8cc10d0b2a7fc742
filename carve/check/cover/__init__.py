"""Checks of the cover plates in their recesses."""
