"""What the builder decided: validated values, read from and written to a TOML file."""

from carve.design.io.parse import read_design, value_at, with_values
from carve.design.io.toml_file import load, parse, read_text, rewrite
from carve.design.schema.design import Design
from carve.design.values.units import Place, Unit, fret_distance, read_length_argument, show_length

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
