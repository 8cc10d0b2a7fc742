"""The figure of a check along the part, against its limit, as SVG.

Drawn by hand: a dial waits for this picture, and matplotlib took 45 ms of the 80 ms that
everything took, where this takes less than one.
"""

import math
from collections.abc import Sequence
from html import escape

import numpy as np

from carve.arrays import Array
from carve.check.finding import Finding, FindingCurve, Verdict, show_limit
from carve.design.values.units import MM_PER_INCH, Unit

WIDTH, HEIGHT = 860, 210  # pixels of the drawing; the page scales it to its own width
LEFT, RIGHT, TOP, BOTTOM = 46, 8, 22, 34
CEILING = 3.0  # times the limit; far more wood than that says nothing and hides what does

INK = {Verdict.GOOD: "#2b6c9b", Verdict.WARNING: "#9a6700", Verdict.FAILED: "#b12520"}
DASHES = ("none", "7 4", "2 3", "9 3 2 3")


def chart(findings: Sequence[Finding], unit: Unit) -> str:
    """Every finding that has a curve, along the part, with its limit dotted. Returns SVG."""
    curves = [(finding, finding.curve) for finding in findings if finding.curve is not None]
    if not curves:
        return ""
    per = MM_PER_INCH if unit == "in" else 1.0
    longest = max(float(curve.x.max()) for _, curve in curves) / per
    first = min(0.0, *(float(curve.x.min()) for _, curve in curves)) / per  # behind the nut
    highest = max(
        max(finding.limit, min(float(curve.values.max()), CEILING * finding.limit))
        for finding, curve in curves
    )
    highest = max(highest, 1.0) * 1.1 / per
    across = (WIDTH - LEFT - RIGHT) / (longest - first)
    up = (HEIGHT - TOP - BOTTOM) / highest

    def at(x: Array, y: Array) -> str:
        pixels = np.stack([LEFT + (x - first) * across, HEIGHT - BOTTOM - np.maximum(y, 0) * up], 1)
        return " ".join(f"{px:.1f},{py:.1f}" for px, py in pixels)

    parts = _axes(first, longest, highest, across, up, unit)
    for number, (finding, curve) in enumerate(curves):
        ink, dash = INK[finding.verdict], DASHES[number % len(DASHES)]
        level = finding.limit / per
        limit = at(np.array([first, longest]), np.array([level, level]))
        parts += [
            f'<polyline points="{limit}" stroke="#b12520" stroke-dasharray="1 4" fill="none"/>',
            f'<text x="{WIDTH - RIGHT}" y="{HEIGHT - BOTTOM - level * up - 3:.1f}" '
            f'text-anchor="end" fill="#b12520">{escape(show_limit(finding, unit))}</text>',
            _key(number, curve, ink, dash),
        ]
        parts += [
            f'<polyline points="{at(x / per, y / per)}" stroke="{ink}" stroke-width="2" '
            f'stroke-dasharray="{dash}" fill="none"/>'
            for x, y in _below(curve, highest * per)
        ]
        if finding.point is not None:
            spot = at(np.array([finding.point[0] / per]), np.array([finding.value / per]))
            x, y = spot.split(",")
            parts.append(f'<circle cx="{x}" cy="{y}" r="4" fill="{ink}"/>')
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDTH} {HEIGHT}" '
        'style="width:100%;max-width:860px;background:#fff" font-family="sans-serif" '
        'font-size="12" fill="#222">' + "".join(parts) + "</svg>"
    )


def _axes(
    first: float, longest: float, highest: float, across: float, up: float, unit: Unit
) -> list[str]:
    floor = HEIGHT - BOTTOM
    parts = [
        f'<path d="M{LEFT} {TOP}V{floor}H{WIDTH - RIGHT}" stroke="#444" fill="none"/>',
        f'<text x="{WIDTH / 2}" y="{HEIGHT - 3}" text-anchor="middle">from the nut, {unit}</text>',
        f'<text transform="rotate(-90)" x="{-(TOP + floor) / 2}" y="12" '
        f'text-anchor="middle">wood, {unit}</text>',
    ]
    for x in ticks(longest, 9):
        px = LEFT + (x - first) * across
        parts.append(
            f'<path d="M{px:.1f} {floor}v4" stroke="#444"/>'
            f'<text x="{px:.1f}" y="{floor + 15}" text-anchor="middle">{x:g}</text>'
        )
    for y in ticks(highest, 5):
        py = floor - y * up
        parts.append(
            f'<path d="M{LEFT} {py:.1f}H{WIDTH - RIGHT}" stroke="#ddd"/>'
            f'<text x="{LEFT - 5}" y="{py + 4:.1f}" text-anchor="end">{y:g}</text>'
        )
    return parts


def _below(curve: FindingCurve, ceiling: float) -> list[tuple[Array, Array]]:
    """The stretches of a curve that lie in the picture."""
    inside = curve.values <= ceiling
    cuts = np.flatnonzero(np.diff(inside)) + 1
    stretches = zip(
        np.split(curve.x, cuts), np.split(curve.values, cuts), np.split(inside, cuts), strict=True
    )
    return [(x, y) for x, y, shown in stretches if shown[0]]


def _key(number: int, curve: FindingCurve, ink: str, dash: str) -> str:
    x = LEFT + 10 + number * 270
    return (
        f'<path d="M{x} 11h28" stroke="{ink}" stroke-width="2" stroke-dasharray="{dash}"/>'
        f'<text x="{x + 34}" y="15">{escape(curve.label)}</text>'
    )


def ticks(reach: float, most: int) -> list[float]:
    """Round numbers from 0 to ``reach``, at most ``most`` steps of 1, 2 or 5 times a power of 10.

    >>> ticks(418.0, 5)
    [0.0, 100.0, 200.0, 300.0, 400.0]
    """
    rough = reach / most
    power = 10.0 ** math.floor(math.log10(rough))
    step = next(power * factor for factor in (1, 2, 5, 10) if power * factor >= rough * (1 - 1e-9))
    return [round(step * n, 10) for n in range(math.floor(reach / step + 1e-9) + 1)]
