"""Only files are read, and only as much of them as there may be."""

import os
from pathlib import Path

import pytest

from carve.cli import main
from carve.design.values.regular_file import NotRead, TooLarge, read_regular, shown_path

EXAMPLES = Path(__file__).parents[3] / "examples"


def answer(arguments: list[str], capsys: pytest.CaptureFixture[str]) -> str:
    assert main(arguments) == 2
    err = capsys.readouterr().err
    assert err.count("\n") == 1
    assert len(err) < 400
    return err


def test_a_file_is_read_whole_up_to_the_most_there_may_be(tmp_path: Path) -> None:
    file = tmp_path / "file"
    file.write_bytes(b"12345")
    assert read_regular(file, 5) == b"12345"
    with pytest.raises(TooLarge, match="holds more than"):
        read_regular(file, 4)


@pytest.mark.skipif(os.name != "posix", reason="pipes and devices as POSIX has them")
def test_what_never_ends_is_not_begun(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    pipe = tmp_path / "pipe.toml"
    os.mkfifo(pipe)
    assert "it is a pipe, and only files are read" in answer(["check", str(pipe)], capsys)
    assert "it is a device, and only files are read" in answer(["check", "/dev/zero"], capsys)


@pytest.mark.skipif(os.name != "posix", reason="links and names as POSIX has them")
def test_a_name_is_called_what_it_is(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    wren, file = str(EXAMPLES / "wren.toml"), tmp_path / "file"
    file.write_text("", encoding="utf-8")
    gone, loop = tmp_path / "gone", tmp_path / "loop"
    gone.symlink_to(tmp_path / "nowhere")
    loop.symlink_to(loop)
    design = (EXAMPLES / "dotterel.toml").read_text(encoding="utf-8")
    names = {
        "a" * 5000: "name too long",
        "a\0b": "has such a name",
        str(gone): "leads",
        str(loop): "leads",
        str(file / "below"): "its path leads through a file",
    }
    for name, why in names.items():
        said = answer(["check", name], capsys)
        assert said.startswith("the design file ")
        assert why in said
        said = answer(["export", wren, "--to", name], capsys)
        assert "the export folder " in said
        assert why in said
        named = tmp_path / "named.toml"
        written = name.replace("\0", "\\u0000")
        named.write_text(design.replace("outlines/dotterel.svg", written), encoding="utf-8")
        said = answer(["check", str(named)], capsys)
        assert said.startswith("body.outline.file: the drawing ")
        assert why in said


def test_a_path_in_a_sentence_is_one_short_line() -> None:
    assert shown_path(Path("a/b.toml")) == str(Path("a/b.toml"))
    assert shown_path(Path("a\nb")) == "a?b"
    long = shown_path(Path("/start/" + "x" * 5000 + "/end.toml"))
    assert long.startswith("/start/")
    assert long.endswith("/end.toml")
    assert len(long) < 200


def test_a_design_of_more_than_a_megabyte_is_not_read(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    file = tmp_path / "big.toml"
    file.write_bytes(b"#" * 1_000_001)
    assert "holds more than 1 MB" in answer(["check", str(file)], capsys)


def test_not_read_is_a_value_error() -> None:
    assert issubclass(TooLarge, NotRead)
    assert issubclass(NotRead, ValueError)
