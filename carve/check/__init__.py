"""Checks: each a small function from a job to findings, listed in ``order``."""
