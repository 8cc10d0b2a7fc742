"""Fret places: published tables and the constant of equal temperament."""

import numpy as np

from carve.shape.fretboard.frets import fret_places
from carve.shape.views.tables.fret_table import fret_table

EQUAL = 2 ** (np.arange(1, 25) / 12)

# Distances from the bridge in inches on a 25 in scale, as printed (read).
TABLE_25_IN = "stuphi.co.uk, \"Guitar bits 'n' bobs\", table of fret spacing"
TO_BRIDGE_25_IN = (
    *(23.597, 22.272, 21.022, 19.843, 18.729, 17.678, 16.685),
    *(15.749, 14.865, 14.031),
)
# Share of the scale from nut to fret, as printed to six decimals (read; its last digit is not
# always rounded). Its 4th, 0.206291, is a misprint for 0.206299 (the cube root of 2 is 1.259921,
# so it must be 1 - 0.793701) and is left out.
TABLE_OF_SHARES = 'noah.org wiki, "fret positioning"'
SHARES = (
    *(0.056126, 0.109101, 0.159104, np.nan, 0.250847, 0.292893, 0.33258, 0.370039),
    *(0.405396, 0.438769, 0.470268, 0.5, 0.528063, 0.554551, 0.579552, 0.60315, 0.625423),
    *(0.646447, 0.66629, 0.68502, 0.702698, 0.719385, 0.735134, 0.75),
)


def test_a_published_table_to_its_rounding(validated):
    to_bridge = 25 - fret_places(EQUAL[:10], 25.0)
    what = "frets 1 to 10 to the bridge, scale 25 in"
    validated(what, TABLE_25_IN, TO_BRIDGE_25_IN, to_bridge, 0.00051, "in")


def test_published_shares_of_the_scale_to_their_rounding(validated):
    printed = ~np.isnan(SHARES)
    ours = fret_places(EQUAL, 1.0)[printed]
    what = "frets 1 to 24 as shares of the scale"
    validated(what, TABLE_OF_SHARES, np.array(SHARES)[printed], ours, 1e-6)


def test_the_first_two_frets_of_25_and_a_half_inches(validated):
    sheet = fret_table(fret_places(EQUAL, 25.5 * 25.4), 0.001 * 25.4, "in")
    found = [float(row[1]) for row in sheet.rows[:2]]
    what = "frets 1 and 2 in the exported table, scale 25 1/2 in"
    validated(what, "published table of fret places, 25.5 in", [1.431, 2.782], found, 1e-9, "in")


def test_dividing_by_the_constant_of_equal_temperament_step_by_step_gives_the_same(validated):
    # each fret takes one part in 17.817153745 of what is left
    left, stepped = 650.0, []
    for _ in range(24):
        left -= left / 17.817153745
        stepped.append(650.0 - left)
    source = "equal temperament, constant 17.817153745; any text on musical acoustics"
    what = "frets 1 to 24 by steps, scale 650 mm"
    validated(what, source, stepped, fret_places(EQUAL, 650.0), 1e-6, "mm")


def test_the_12th_fret_halves_and_the_24th_quarters_the_string(validated):
    source = "law of strings; any text on musical acoustics"
    found = fret_places(EQUAL, 648.0)[[11, 23]]
    what = "frets 12 and 24, scale 648 mm"
    validated(what, source, [324.0, 486.0], found, 1e-12, "mm")


def test_the_rule_of_18_is_not_equal_temperament(validated):
    # (17/18)^12 of the string is left at the 12th, which 650 mm puts 2.4 mm from its half
    eighteen = fret_places((18 / 17) ** np.arange(1, 25), 1.0)
    source = "rule of 18: each fret one part in 18 of what is left; arithmetic"
    what = "12th fret by the rule of 18 as a share of the scale, which no table above lets pass"
    validated(what, source, 0.496364, eighteen[11], 1e-6)
    assert np.nanmin(np.abs(eighteen - SHARES)) > 100 * 0.000001  # not even one fret passes
    assert np.abs(25 - 25 * eighteen[:10] - TO_BRIDGE_25_IN).min() > 0.01
