"""Outlines as a builder has them: drawn, by points, or by a few measures. Begin with ``placed``."""
