"""Closed curves and regions in a plane. Knows no instrument."""
