"""What is wrong with a file that is no TOML, in a builder's words, and what could take hours.

``tomllib`` says what it stumbled over as a parser does; only the place is taken from it.
"""

import re
import tomllib
from typing import Any

from carve.design.values.quote import quoted
from carve.errors import DesignError

LARGEST_DESIGN = 1_000_000  # bytes; two hundred times the longest example
DEEPEST_KEY = 32  # steps of one dotted key, which the parser takes ever longer for
MOST_ENTRIES = 200  # tables in one list: stations, pockets, films
LONGEST_LIST = 5_000  # values in one list; an outline's points are such a list

TOO_LARGE = ", which is more than any design; give a long outline as a drawing"

_MANY_STEPS = re.compile(
    rf"""(?:(?:(?<![\w-])[\w-]++|"[^"\n]*"|'[^'\n]*')[ \t]*+\.[ \t]*+){{{DEEPEST_KEY}}}"""
)
_PLACE = re.compile(r"\(at (?:line (\d+), column (\d+)|end of document)\)")

_BACKSLASH = "a \\\\ in double quotes starts a code; in single quotes it does not"
_WORDS = (  # how the parser's sentence begins, and what a builder can do about it
    ("Expected '='", "after a key there must be an equals sign and a value"),
    ("Invalid value", "this is no value; text stands in quotes, numbers have a point"),
    ("Cannot overwrite a value", "this key is there a second time"),
    ("Duplicate inline table key", "this key is there a second time"),
    ("Cannot redefine", "this table is there a second time"),
    ("Cannot declare", "this table is there a second time"),
    ("Cannot mutate", "this table is closed already; write its keys where it begins"),
    ("Unterminated string", "a quote is opened and not closed"),
    ("Expected \"'", "a quote is opened and not closed"),
    ("Expected newline", "nothing more may stand on this line"),
    ("Unclosed", "a bracket is opened and not closed"),
    ("Expected ']", "a bracket is opened and not closed"),
    ("Invalid initial character", "a key has letters, digits, - and _, or stands in quotes"),
    ("Invalid statement", "this is neither a key nor a table"),
    ("Invalid date", "there is no such date"),
    ("Unescaped", _BACKSLASH),
    ("Escaped character", _BACKSLASH),
    ("Invalid hex", _BACKSLASH),
    ("Illegal character", "a sign stands here that may not, or a quote is not closed"),
    ("Found invalid character", "a sign stands here that may not"),
)


def tables(text: str, name: str) -> dict[str, Any]:
    """The nested tables of a TOML text.

    name: what to call it in a sentence. Raises DesignError where it is no TOML, or more of it than
    a design needs.
    """
    if len(text) > LARGEST_DESIGN:
        raise DesignError([f"{name} holds more than {LARGEST_DESIGN / 1e6:g} MB{TOO_LARGE}"])
    if found := _MANY_STEPS.search(text):
        line = text.count("\n", 0, found.start()) + 1
        raise DesignError(
            [f"{name}, line {line}: a key of more than {DEEPEST_KEY} steps; a design has few"]
        )
    try:
        data = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise DesignError([f"{name} is not TOML: {_said(str(error), text)}"]) from None
    except (ValueError, RecursionError):
        raise DesignError(
            [f"{name} is not TOML: a number is too long, or lists and tables are nested too deeply"]
        ) from None
    if trouble := next(_too_long(data, ""), None):
        raise DesignError([trouble])
    return data


def _said(error: str, text: str) -> str:
    """What the parser stumbled over and where."""
    what = next((words for start, words in _WORDS if error.startswith(start)), "this is no TOML")
    place = _PLACE.search(error)
    if place is None or place[1] is None:
        return f"at its end, {what}"
    line = text.split("\n")[int(place[1]) - 1].strip()
    return f"line {place[1]}, column {place[2]}, in {quoted(line)}: {what}"


def _too_long(value: Any, key: str) -> Any:
    """A sentence for each list that is longer than any design's."""
    if isinstance(value, dict):
        for name, inner in value.items():
            yield from _too_long(inner, f"{key}.{name}".lstrip("."))
    elif isinstance(value, list):
        of_tables = any(isinstance(item, dict) for item in value)
        most, what = (MOST_ENTRIES, "tables") if of_tables else (LONGEST_LIST, "values")
        if len(value) > most:
            yield f"{quoted(key)[1:-1]}: {len(value)} {what} are not allowed; at most {most}"
        for number, item in enumerate(value if of_tables else ()):
            yield from _too_long(item, f"{key}[{number}]")
