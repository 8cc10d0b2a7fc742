"""The tables of colours: which grow lighter, and what stripes are made of."""

import numpy as np

from carve.render.colours import ANCHORS, BANDS, colour_table


def test_zebra_is_two_tones_in_bands_of_one_width():
    table = colour_table("stripes")
    assert len(np.unique(table, axis=0)) == 2
    changes = np.flatnonzero(np.any(np.diff(table.astype(int), axis=0), axis=1))
    assert len(changes) == BANDS - 1
    assert len(np.unique(np.diff(changes))) == 1


def test_low_to_high_grows_lighter_all_the_way():
    srgb = colour_table("low to high")[:, :3] / 255.0
    linear = np.where(srgb <= 0.04045, srgb / 12.92, ((srgb + 0.055) / 1.055) ** 2.4)
    lightness = linear @ [0.2126, 0.7152, 0.0722]  # IEC 61966-2-1, relative luminance
    assert (np.diff(lightness) > -1e-3).all()
    assert set(ANCHORS) == {"thin to thick", "low to high", "hollow to round"}


def test_level_ground_has_one_tone_whatever_rounding_does():
    table = colour_table("stripes")
    middle = len(table) // 2
    assert (table[middle - 3 : middle + 3] == table[middle]).all()


def test_the_colours_grow_lighter_from_thin_to_thick():
    """Lightness by the CIE's formula of 1976 for L*, from linear sRGB (IEC 61966-2-1)."""
    srgb = colour_table()[:, :3] / 255.0
    linear = np.where(srgb <= 0.04045, srgb / 12.92, ((srgb + 0.055) / 1.055) ** 2.4)
    luminance = linear @ [0.2126, 0.7152, 0.0722]
    lightness = 116.0 * np.cbrt(luminance) - 16.0
    assert np.all(np.diff(lightness[::8]) > 0.0)
    assert lightness[0] < 30.0
    assert lightness[-1] > 80.0
