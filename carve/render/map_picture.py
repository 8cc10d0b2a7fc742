"""A map of a figure over a part, as a picture in an SVG with the part's lines over it."""

import base64
import io
from html import escape

import numpy as np
import numpy.typing as npt
from PIL import Image

from carve.render.colours import BACKGROUND, colour_table
from carve.render.screen_views import SCREEN_WIDTH, overlay
from carve.shape.views.kit.drawing import PlanMap

BAND = 14.0  # mm below the picture for the colours' scale


def map_picture(plan: PlanMap) -> str:
    """The map as the text of an SVG, its colours' scale under it."""
    rows, columns = plan.values.shape
    reach = np.array([columns, rows]) * plan.step
    scale = min(1.0, SCREEN_WIDTH / reach[0])
    wide, tall = reach * scale
    corner = np.array([plan.x, plan.y]) - plan.step / 2
    lines = overlay(plan.over, lambda points: (points - corner) * [scale, -scale] + [0.0, tall])
    stops = "".join(
        f'<stop offset="{share:.3f}" stop-color="rgb({r},{g},{b})"/>'
        for share, (r, g, b, _) in zip(
            np.linspace(0, 1, 12), colour_table(plan.colours, 12), strict=True
        )
    )
    name = f"carve-{plan.colours.replace(' ', '-')}"
    lowest, highest = (f"{round(end, 1):g}" for end in (plan.lowest, plan.highest))
    more, none = (" and more", "; white: none") if plan.colours == "thin to thick" else ("", "")
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" class="carve-map" width="{wide:.2f}mm" '
        f'height="{tall + BAND:.2f}mm" viewBox="0 0 {wide:.3f} {tall + BAND:.3f}" '
        f'style="background:{BACKGROUND}" font-family="sans-serif" font-size="3.2">'
        f'<defs><linearGradient id="{name}">{stops}</linearGradient></defs>'
        f'<image width="{wide:.3f}" height="{tall:.3f}" preserveAspectRatio="none" '
        f'style="image-rendering:pixelated" href="data:image/png;base64,{_pixels(plan)}"/>'
        f"{lines}"
        f'<rect x="2" y="{tall + 4:.2f}" width="60" height="3.5" fill="url(#{name})"/>'
        f'<text x="2" y="{tall + 11.5:.2f}">{lowest}</text>'
        f'<text x="62" y="{tall + 11.5:.2f}" text-anchor="end">{highest}{more}</text>'
        f'<text x="66" y="{tall + 7.2:.2f}">{escape(plan.label)}{none}</text>'
        f'<text x="66" y="{tall + 11.5:.2f}">{escape(plan.over.note)}</text></svg>'
    )


def _pixels(plan: PlanMap) -> str:
    """The values as a PNG in base64, the first row at its bottom."""
    values = plan.values[::-1]
    table = colour_table(plan.colours)
    last = len(table) - 1
    share = (values - plan.lowest) / (plan.highest - plan.lowest)
    known = np.isfinite(values)
    index = np.clip(np.where(known, share, 0.0) * len(table), 0, last).astype(np.uint8)
    # two colours of their own behind the table's: nothing there, and no wood
    colours = np.vstack([table, [[255, 255, 255, 0], [255, 255, 255, 255]]]).astype(np.uint8)
    index[~known] = last + 1
    if plan.colours == "thin to thick":
        index[known & (values <= 0)] = last + 2
    return base64.b64encode(_png(index, colours)).decode()


def _png(index: npt.NDArray[np.uint8], colours: npt.NDArray[np.uint8]) -> bytes:
    """A picture (n, m) of indices into (k, 4) colours as PNG.

    Packed lightly: a dial waits for the picture, and it never leaves the machine.
    """
    picture = Image.fromarray(index)
    picture.putpalette(colours[:, :3].tobytes())
    file = io.BytesIO()
    picture.save(file, "PNG", transparency=colours[:, 3].tobytes(), compress_level=1)
    return file.getvalue()
