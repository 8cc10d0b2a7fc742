"""Entities that an SVG declares of its own: short names of namespaces pass, bombs do not.

Drawing programs write ``<!ENTITY ns_svg "http://www.w3.org/2000/svg">`` and use it once. What
stands for other entities, for markup or for a file could grow without end or bring anything in
(XML 1.0, section 4).
"""

from carve.design.drawing.model import Unreadable
from carve.design.values.quote import quoted

MOST = 64  # entities; a drawing program declares a dozen
LONGEST = 300  # characters that one stands for
MOST_EXPANDED = 100_000  # characters that all of them stand for, wherever they are used


class EntityBounds:
    """Looks at one file's declarations. data: the whole file."""

    def __init__(self, data: bytes) -> None:
        self._data = data.replace(b"\0", b"")  # of UTF-16
        self._count = 0
        self._expanded = 0

    def hold(self, name: str, parameter: object, value: str | None, *_: object) -> None:
        """Raises Unreadable where an entity is more than a short text. Called by expat."""
        self._count += 1
        if value is None:
            why = "for another file"
        elif parameter or any(sign in value for sign in "&%<"):
            why = "for other entities or for markup"
        elif len(value) > LONGEST or self._count > MOST:
            why = f"in more than {MOST} of them, or for more than {LONGEST} characters"
        else:
            self._expanded += len(value) * self._data.count(f"&{name};".encode())
            if self._expanded <= MOST_EXPANDED:
                return
            why = f"for more than {MOST_EXPANDED} characters, wherever it is used"
        raise Unreadable(
            f"declares an entity of its own, {quoted(name)}, which stands {why}; save it as a "
            "plain SVG"
        )
