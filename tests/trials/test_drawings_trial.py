"""Some of the random drawings: what is drawn is cut, and nothing that is hidden or dropped."""

import pytest

from trials.drawings import once


@pytest.mark.parametrize("number", range(30))
def test_a_random_drawing_is_cut_as_its_program_shows_it(number: int) -> None:
    verdict, said = once(number)
    assert verdict == "held", said
