"""A builder's own drawing, SVG or DXF, as the chains of cubic pieces that it holds.

Nothing is chosen, joined or scaled here that the file itself doesn't say: which curve is the
outline stands in the design, and so does the unit where the file names none.
"""

import math

from carve.design.drawing.model import (
    FARTHEST,
    LARGEST,
    LEAVE_OUT,
    Drawn,
    Unreadable,
    listed_whys,
)
from carve.design.values.quote import quoted

_GZIP = b"\x1f\x8b"
_MARKS = (b"\xef\xbb\xbf", b"\xff\xfe", b"\xfe\xff")  # byte order marks of UTF-8 and UTF-16


def read_drawing(data: bytes) -> Drawn:
    """Read an SVG or DXF file.

    data: the file as it is. Raises Unreadable.
    """
    # imported here: ezdxf takes 0.7 s, which a design without a drawing need not wait for
    from carve.design.drawing.dxf import read_dxf
    from carve.design.drawing.svg import read_svg

    if len(data) > LARGEST:
        raise Unreadable(f"holds more than {LARGEST / 1e6:g} MB{LEAVE_OUT}")
    if not data.strip(b"\0 \r\n\t"):
        raise Unreadable("is empty")
    if data.startswith(_GZIP):
        raise Unreadable("is compressed; save it as a plain SVG")
    drawn = read_svg(data) if _is_xml(data) else read_dxf(data)
    if not drawn.chains and drawn.hidden:
        raise Unreadable(f"shows no lines and no curves: {listed_whys(drawn.hidden)}")
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
