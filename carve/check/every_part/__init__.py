"""Checks that every part goes through."""
