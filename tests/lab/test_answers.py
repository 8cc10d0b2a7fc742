from carve.errors import DesignError, FileInTheWay, FindingFailed
from carve.lab.buttons.answers import failed


def test_a_refusal_says_what_to_tick_in_the_lab_and_no_word_of_the_command_line():
    said = failed(FindingFailed("1 finding failed: wood; nothing was written"))
    assert "tick “even if a finding fails”" in said
    assert "tick “replace existing files”" in failed(FileInTheWay("a.stl is already there"))
    assert "tick" not in failed(DesignError(["title: too long"]))
    assert "--" not in said
