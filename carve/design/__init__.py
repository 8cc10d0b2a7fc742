"""What the builder decided: validated values, read from and written to a TOML file."""

from carve.design.file import load, parse, read_text, rewrite
from carve.design.models import Design
from carve.design.reading import read_design, value_at, with_values
from carve.design.units import Place, Unit, fret_distance, read_length_argument, show_length

__all__ = [
    "Design",
    "Place",
    "Unit",
    "fret_distance",
    "load",
    "parse",
    "read_design",
    "read_length_argument",
    "read_text",
    "rewrite",
    "show_length",
    "value_at",
    "with_values",
]
