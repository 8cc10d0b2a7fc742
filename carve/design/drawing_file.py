"""A builder's own drawing, SVG or DXF, as the chains of cubic pieces that it holds.

Nothing is chosen, joined or scaled here that the file itself doesn't say: which curve is the
outline stands in the design, and so does the unit where the file names none.
"""

import math
from dataclasses import dataclass

from carve.design.curve import Piece
from carve.design.quoting import quoted

LARGEST = 10_000_000  # bytes; a full-size drawing with every screw takes a tenth of it
FARTHEST = 1e7  # of the drawing's units; beyond it a position has lost its hundredths

_GZIP = b"\x1f\x8b"
_MARKS = (b"\xef\xbb\xbf", b"\xff\xfe", b"\xfe\xff")  # byte order marks of UTF-8 and UTF-16


class Unreadable(ValueError):  # noqa: N818  a file, not a malfunction
    """A drawing can't be read. Its text goes on after the file's name: "is empty"."""


@dataclass(frozen=True)
class Chain:
    """Pieces that follow one another as they were drawn: a path, a line, an arc, a spline.

    layers: the groups or the layer it lies in, the outermost first. names: what it is called
    itself, its id first. pieces: at least one.
    """

    layers: tuple[str, ...]
    names: tuple[str, ...]
    pieces: tuple[Piece, ...]

    @property
    def layer(self) -> str:
        """The layer it lies in, empty where it lies in none."""
        return self.layers[-1] if self.layers else ""


@dataclass(frozen=True)
class Drawn:
    """What a drawing holds, y upward, so that words on the page would read the right way round.

    unit_mm: mm a unit of the drawing is long where the file says so, else None; where it is
    known the chains are in mm. y_down: whether the file itself counts y downward, so that its
    y is the negative of ours. skipped: kinds of things that are no curves (words, images).
    named: all its layers, those without a curve too.
    """

    chains: tuple[Chain, ...]
    unit_mm: float | None
    y_down: bool
    skipped: tuple[str, ...] = ()
    named: tuple[str, ...] = ()


def read_drawing(data: bytes) -> Drawn:
    """Read an SVG or DXF file.

    data: the file as it is. Raises Unreadable.
    """
    # imported here: ezdxf takes 0.7 s, which a design without a drawing need not wait for
    from carve.design.dxf_file import read_dxf
    from carve.design.svg_file import read_svg

    if len(data) > LARGEST:
        raise Unreadable(
            f"holds more than {LARGEST / 1e6:.0f} MB; leave out pictures and what is no line"
        )
    if not data.strip(b"\0 \r\n\t"):
        raise Unreadable("is empty")
    if data.startswith(_GZIP):
        raise Unreadable("is compressed; save it as a plain SVG")
    drawn = read_svg(data) if _is_xml(data) else read_dxf(data)
    if not drawn.chains:
        besides = f", only {', '.join(drawn.skipped)}" if drawn.skipped else ""
        raise Unreadable(f"holds no lines and no curves{besides}")
    for chain in drawn.chains:
        for piece in chain.pieces:
            for value in (value for point in piece for value in point):
                if not math.isfinite(value) or abs(value) > FARTHEST:
                    where = quoted(chain.layer or next(iter(chain.names), "its only layer"))
                    raise Unreadable(
                        f"has a curve on {where} that lies at {value:.6g}, which is no place on "
                        "a drawing"
                    )
    return drawn


def _is_xml(data: bytes) -> bool:
    start = data[:400]
    for mark in _MARKS:
        start = start.removeprefix(mark)
    return start.replace(b"\0", b"").lstrip().startswith(b"<")
