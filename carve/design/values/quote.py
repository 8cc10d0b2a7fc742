"""What stands in the file, quoted in a sentence: on one line, never longer than helps."""

import json
import re
from collections.abc import Mapping, Sequence

LONGEST_TEXT = 60  # characters; enough to find the place in the file
DEEPEST_TABLE = 2  # tables within tables

_BARE_KEY = re.compile(r"[A-Za-z0-9_-]+")


def quoted(value: object) -> str:
    """A value as TOML spells it, cut short where it is long."""
    return _cut(_toml(value))


def quoted_key(name: str) -> str:
    """One step of a key as TOML spells it, cut short where it is long."""
    return _cut(name if _BARE_KEY.fullmatch(name) else _text(name))


def _toml(value: object, depth: int = 0) -> str:
    if depth > DEEPEST_TABLE:
        return "..."
    if isinstance(value, str):
        return _text(value)
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, int) and value.bit_length() > 200:
        return "a number of more than 60 digits"  # Python refuses to write thousands of them
    if isinstance(value, Mapping):
        pairs = (f"{quoted_key(str(key))} = {_toml(value[key], depth + 1)}" for key in value)
        return f"{{ {', '.join(pairs)} }}" if value else "{}"
    if isinstance(value, Sequence):
        return f"[{', '.join(_toml(item, depth + 1) for item in value)}]"
    return str(value)


def _text(text: str) -> str:
    mark = "'" if '"' in text else '"'  # an inch sign reads better as it was written
    # what a terminal could not show on one line is escaped, as in a TOML basic string
    shown = (char if char.isprintable() else json.dumps(char)[1:-1] for char in text[:LONGEST_TEXT])
    return mark + "".join(shown) + ("..." if len(text) > LONGEST_TEXT else mark)


def _cut(text: str) -> str:
    return text if len(text) <= LONGEST_TEXT else text[: LONGEST_TEXT - 3] + "..."
