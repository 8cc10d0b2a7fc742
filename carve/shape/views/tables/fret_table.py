"""The table of frets, rounded as a builder marks them."""

from collections.abc import Mapping

from carve.arrays import Array
from carve.design.values.units import MM_PER_UNIT, Unit
from carve.shape.fretboard.frets import marks
from carve.shape.views.kit.table import DataTable


def fret_table(
    places: Array, step: float, unit: Unit, sides: Mapping[str, Array] | None = None
) -> DataTable:
    """The table of frets in a unit. places: (n,) mm. step: mm.

    sides: of a multi-scale board, by name, (n,) mm of the frets along each of its outer
    strings from that string's own nut; the places are then those on the centre line.
    """
    per = MM_PER_UNIT[unit]
    marked = marks(places, step)
    digits = _digits(step / per)
    of_sides = [marks(along, step) for along in (sides or {}).values()]
    rows = [
        (
            str(number),
            f"{from_nut:.{digits}f}",
            f"{gap:.{digits}f}",
            f"{exact:.{digits + 3}f}",
            f"{residual:+.{digits + 3}f}",
            *(
                figure
                for side in of_sides
                for figure in (
                    f"{side.from_nut[number - 1] / per:.{digits}f}",
                    f"{side.exact[number - 1] / per:.{digits + 3}f}",
                )
            ),
        )
        for number, (from_nut, gap, exact, residual) in enumerate(
            zip(
                marked.from_nut / per,
                marked.from_previous / per,
                marked.exact / per,
                marked.residual / per,
                strict=True,
            ),
            start=1,
        )
    ]
    return DataTable(
        title=f"frets, rounded to {step / per:.6g} {unit}"
        + (", from nut on the centre line and along the outer strings" if sides else ""),
        head=(
            "fret",
            f"from nut ({unit})",
            f"from previous ({unit})",
            f"exact from nut ({unit})",
            f"rounded less exact ({unit})",
            *(
                f"{words}{name} from its nut ({unit})"
                for name in sides or {}
                for words in ("along the ", "exact along the ")
            ),
        ),
        rows=tuple(rows),
    )


def _digits(step: float) -> int:
    """Decimals that show every multiple of a step, at most 6: 0.01 has 2, 1/64 has 6."""
    return next((d for d in range(6) if abs(step * 10**d - round(step * 10**d)) < 1e-9), 6)
