"""Curves and splines of numbers. Knows no instrument."""
