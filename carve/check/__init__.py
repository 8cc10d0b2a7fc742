"""Checks: each a small function from a job to findings. Adding one is adding one file."""
