"""Whatever a design asks for: a clear no, or parts and findings without a fault of the program.

``scripts/trials designs`` tries thousands.
"""

from collections import Counter

import pytest
from trials.designs import once

TRIED = 25


def test_random_designs_are_made_and_judged_or_refused():
    came = [once(number) for number in range(TRIED)]
    wrong = [f"{number}: {one.said}" for number, one in enumerate(came) if one.verdict == "wrong"]
    assert wrong == []
    counts = Counter(one.verdict for one in came)
    assert counts["held"] > TRIED / 2  # so that this says something


@pytest.fixture(scope="module")
def texts():
    """What the first of the designs say, as text."""
    from random_designs import random_design

    return [repr(random_design(number)) for number in range(300)]


@pytest.mark.parametrize(
    "key",
    [
        *("treble_scale_length", "bolted", "tenon", "carved", "through", "volute", "scarfed"),
        *("hollow", "graduation", "contours", "templates", "falloff", "pads", "neck_plane"),
        *("cover recess", "screws", "bores", "battery", "weight relief", "sound hole", "bouts"),
        *("rectangle", "circle", "slot", "polygon", "heel", "drawing", "binding", "zero fret"),
        *("'left'", "'in'", "finish", "follow", "blind", "tang", "markers", "gauges"),
    ],
)
def test_every_family_is_among_them(key, texts):
    assert sum(key in text for text in texts) >= 3
