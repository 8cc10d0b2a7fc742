"""A set changes whole: whenever a run is killed, and whatever it finds when it begins.

A run is killed here before and after each single call to the system that changes something on the
disk. ``scripts/trials kills`` kills the real program at random moments.
"""

import errno
import os
import signal
from collections.abc import Callable, Iterator, Mapping
from functools import partial
from hashlib import sha256
from pathlib import Path
from typing import Any, NoReturn

import pytest
from trials.kills import TRIAL

from carve.errors import ExportRefused, FileInTheWay, FileTrouble
from carve.export.atomic import Write, Written, content, write_all
from carve.export.staging import NAME, NOTICE, staging_in

posix = pytest.mark.skipif(os.name != "posix", reason="processes and signals as POSIX has them")

CALLS = ("mkdir", "link", "rename", "replace", "unlink", "rmdir")
OLD = {"a.stl": b"old a", "b.stl": b"old b", "gone.dxf": b"old gone", "list.json": b"old list"}
NEW = {"a.stl": b"new a", "b.stl": b"new b", "more.svg": b"new more", "list.json": b"new list"}
FOREIGN = {"notes.txt": b"mine", "changed.dxf": b"drawn over"}
LISTED = {**OLD, "changed.dxf": b"old changed"}


@pytest.fixture(autouse=True)
def no_waiting_for_the_disk(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(os, "fsync", lambda descriptor: None)  # a kill leaves what the system has


def put(folder: Path, *sets: Mapping[str, bytes]) -> None:
    folder.mkdir(exist_ok=True)
    for one in sets:
        for name, data in one.items():
            (folder / name).write_bytes(data)


def contents(folder: Path) -> dict[str, bytes]:
    """All files of a folder and below by their names in it."""
    return {
        str(path.relative_to(folder)): path.read_bytes()
        for path in sorted(folder.rglob("*"))
        if path.is_file()
    }


def listed(folder: Path) -> dict[str, str]:
    """What a list of the old set says, for as long as that stands."""
    if (folder / "list.json").exists() and (folder / "list.json").read_bytes() != b"old list":
        return {}
    return {name: sha256(data).hexdigest() for name, data in LISTED.items()}


def writing(files: Mapping[str, bytes]) -> dict[str, Write]:
    return {name: content(data) for name, data in files.items()}


def change(folder: Path, *, overwrite: bool = True) -> Written:
    return write_all(folder, writing(NEW), overwrite=overwrite, earlier=listed)


def die_at(n: int, *, after: bool, links: bool) -> None:
    """In a process of its own: end it, as a kill does, at the n-th call that changes the disk."""
    left = n

    def around(call: Callable[..., Any]) -> Callable[..., Any]:
        def dying(*arguments: Any, **options: Any) -> Any:
            nonlocal left
            left -= 1
            if left == 0 and not after:
                os._exit(9)
            try:
                return call(*arguments, **options)
            finally:
                if left == 0:
                    os._exit(9)

        return dying

    def no_links(*arguments: Any, **options: Any) -> NoReturn:
        raise OSError(errno.EPERM, os.strerror(errno.EPERM))

    for name in CALLS:
        call = no_links if name == "link" and not links else getattr(os, name)
        setattr(os, name, around(call))


def in_a_process(run: Callable[[], int]) -> int:
    """Start a process that ends with the status that ``run`` gives, 1 after an error."""
    child = os.fork()
    if child == 0:
        status = 1
        try:
            status = run()
        finally:
            os._exit(status)
    return child


def status_of(child: int) -> int:
    return os.waitstatus_to_exitcode(os.waitpid(child, 0)[1])


def killed(n: int, folder: Path, *, after: bool, links: bool = True) -> bool:
    """Whether a run over the folder was killed at its n-th call: False where it came to its end."""

    def run() -> int:
        die_at(n, after=after, links=links)
        change(folder)
        return 0

    status = status_of(in_a_process(run))
    assert status in (0, 9)
    return status == 9


def moments(
    top: Path, *earlier: Mapping[str, bytes], after: bool, links: bool = True
) -> Iterator[Path]:
    """Folders with an earlier set, in each of which a run was killed one call later."""
    for n in range(1, 200):
        folder = top / str(n)
        put(folder, *earlier)
        if not killed(n, folder, after=after, links=links):
            assert contents(folder) == {**earlier[-1], **NEW}
            assert n > 4 * len(NEW)
            return
        yield folder
    pytest.fail("never came to its end")


@posix
@pytest.mark.parametrize("links", [True, False], ids=["hard links", "no hard links"])
@pytest.mark.parametrize("after", [False, True], ids=["before", "after"])
@pytest.mark.parametrize("earlier", [OLD, {}], ids=["over a set", "beside other files"])
def test_whenever_a_run_is_killed_one_set_is_whole_or_the_folder_says_so(
    earlier: dict[str, bytes], after: bool, links: bool, tmp_path: Path
) -> None:
    found = set()
    for folder in moments(tmp_path, earlier, FOREIGN, after=after, links=links):
        there = {name: data for name, data in contents(folder).items() if not name.startswith(NAME)}
        marked = NOTICE in there
        old, new = there == {**earlier, **FOREIGN}, there == {**NEW, **FOREIGN}
        assert marked or old or new, sorted(there)
        found.add("marked" if marked else "old" if old else "new")
        change(folder)
        assert contents(folder) == {**NEW, **FOREIGN}
        assert not (folder / NAME).exists()
    assert found == {"marked", "old", "new"}  # all three were tried


@posix
@pytest.mark.parametrize("after", [False, True], ids=["before", "after"])
def test_a_next_run_that_may_not_replace_still_puts_the_folder_right(
    after: bool, tmp_path: Path
) -> None:
    for folder in moments(tmp_path, OLD, FOREIGN, after=after):
        with pytest.raises(ExportRefused, match="nothing was written"):
            change(folder, overwrite=False)
        assert contents(folder) in ({**OLD, **FOREIGN}, {**NEW, **FOREIGN})
        assert not (folder / NAME).exists()


@posix
def test_a_next_run_that_is_killed_as_well_leaves_no_more_than_the_first(tmp_path: Path) -> None:
    for folder in moments(tmp_path, OLD, FOREIGN, after=True):
        if not (folder / NOTICE).exists():
            continue
        for n in (1, 3, 6, 12):
            killed(n, folder, after=False)
            there = {
                name: data for name, data in contents(folder).items() if not name.startswith(NAME)
            }
            assert NOTICE in there or there == {**NEW, **FOREIGN}
        change(folder)
        assert contents(folder) == {**NEW, **FOREIGN}


@pytest.mark.slow
@posix
@pytest.mark.parametrize("number", range(12))
def test_a_killed_export_leaves_a_whole_set_or_says_so(number: int) -> None:
    outcome = TRIAL.once(number)
    assert outcome.verdict == "held", outcome.said


# What is no longer of the set


def test_files_of_the_earlier_set_go_and_those_changed_since_stay_and_are_told(
    tmp_path: Path,
) -> None:
    put(tmp_path, OLD, FOREIGN)
    done = change(tmp_path)
    assert contents(tmp_path) == {**NEW, **FOREIGN}
    assert done.removed == (tmp_path / "gone.dxf",)
    assert done.left == (tmp_path / "changed.dxf",)


def test_a_list_cannot_name_files_outside_the_folder(tmp_path: Path) -> None:
    put(tmp_path, {"outside.txt": b"mine"})
    put(tmp_path / "cut", OLD)
    names = ("../outside.txt", str(tmp_path / "outside.txt"), "..\\outside.txt", "..", "")
    sums = {name: sha256(b"mine").hexdigest() for name in names}
    done = write_all(tmp_path / "cut", writing(NEW), overwrite=True, earlier=lambda _: sums)
    assert (done.removed, done.left) == ((), ())
    assert (tmp_path / "outside.txt").read_bytes() == b"mine"


# Two at once


def test_of_two_runs_at_once_the_second_is_refused(tmp_path: Path) -> None:
    put(tmp_path, OLD)
    with staging_in(tmp_path):
        with pytest.raises(ExportRefused, match=r"another run of carve is writing .*; nothing"):
            change(tmp_path)
        assert (tmp_path / NAME).exists()  # it is the other one's
    assert contents(tmp_path) == OLD
    change(tmp_path)
    assert contents(tmp_path) == NEW


@posix
def test_runs_that_get_in_each_others_way_write_whole_sets_or_none(tmp_path: Path) -> None:
    sets = [{name: data + bytes([n]) for name, data in NEW.items()} for n in (1, 2, 3)]

    def write(mine: Mapping[str, bytes]) -> int:
        odd = 0
        for _ in range(40):
            try:
                write_all(tmp_path, writing(mine), overwrite=True)
            except ExportRefused as error:
                odd += "another run" not in str(error)
        return odd

    children = [in_a_process(partial(write, mine)) for mine in sets]
    assert [status_of(child) for child in children] == [0, 0, 0]
    assert contents(tmp_path) in sets
    assert not (tmp_path / NAME).exists()


def test_a_link_by_the_name_of_the_hidden_folder_is_not_followed(tmp_path: Path) -> None:
    put(tmp_path / "elsewhere", {"new": b"mine"})
    put(tmp_path / "cut", OLD)
    (tmp_path / "cut" / NAME).symlink_to(tmp_path / "elsewhere", target_is_directory=True)
    with pytest.raises(FileTrouble, match="cannot be written: it is a link; nothing was changed"):
        change(tmp_path / "cut")
    assert contents(tmp_path / "elsewhere") == {"new": b"mine"}


# Requests to stop


@posix
@pytest.mark.parametrize("number", [signal.SIGINT, signal.SIGTERM, signal.SIGHUP])
def test_a_request_to_stop_waits_until_the_set_stands(
    number: signal.Signals, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    put(tmp_path, OLD)
    heard: list[bool] = []
    before = signal.signal(number, lambda *_: heard.append(contents(tmp_path) == NEW))
    link = os.link

    def asked(*arguments: Any, **options: Any) -> None:
        signal.raise_signal(number)
        link(*arguments, **options)

    monkeypatch.setattr(os, "link", asked)
    try:
        change(tmp_path)
    finally:
        signal.signal(number, before)
    assert heard == [True]


@posix
def test_a_request_to_stop_while_files_are_made_ready_leaves_the_old_ones(tmp_path: Path) -> None:
    put(tmp_path, OLD)
    files = writing(NEW) | {"a.stl": lambda file: signal.raise_signal(signal.SIGINT)}
    with pytest.raises(KeyboardInterrupt):
        write_all(tmp_path, files, overwrite=True, earlier=listed)
    assert contents(tmp_path) == OLD
    assert not (tmp_path / NAME).exists()


# A note whose hidden folder did not come along


def half_way(top: Path) -> Path:
    """A folder whose export was killed while its files took their places."""
    for folder in moments(top, OLD, FOREIGN, after=True):
        there = contents(folder)
        if NOTICE in there and there.get("a.stl") == NEW["a.stl"] and "more.svg" not in there:
            return folder
    raise AssertionError


@posix
def test_the_note_says_what_to_do(tmp_path: Path) -> None:
    said = (half_way(tmp_path) / NOTICE).read_text(encoding="utf-8")
    assert said.startswith("Do not cut from the files in this folder: ")
    assert "Export into this folder again" in said


@posix
def test_what_was_copied_half_way_is_replaced_only_when_asked(tmp_path: Path) -> None:
    copied = tmp_path / "copied"
    folder = half_way(tmp_path)
    put(copied, {path.name: path.read_bytes() for path in folder.iterdir() if path.is_file()})
    before = contents(copied)
    with pytest.raises(FileInTheWay, match="stopped half way and cannot be finished"):
        change(copied, overwrite=False)
    assert contents(copied) == before
    other = {"other.stl": b"other"}
    write_all(copied, writing(other), overwrite=True)
    assert contents(copied) == {**other, **FOREIGN}  # nothing of the two sets is left


@posix
def test_a_file_changed_after_the_kill_is_not_written_over_unasked(tmp_path: Path) -> None:
    folder = half_way(tmp_path)
    (folder / "a.stl").write_bytes(b"another program's")
    with pytest.raises(ExportRefused, match="cannot be finished"):
        change(folder, overwrite=False)
    assert (folder / "a.stl").read_bytes() == b"another program's"
    assert (folder / NOTICE).exists()
    change(folder)
    assert contents(folder) == {**NEW, **FOREIGN}


@posix
@pytest.mark.parametrize("said", ["", "Do not cut\n", '[{"name": "../a"}]', "[1]"])
def test_a_note_that_says_nothing_is_still_a_warning(said: str, tmp_path: Path) -> None:
    put(tmp_path, {NOTICE: said.encode()})
    with pytest.raises(ExportRefused, match="cannot be finished"):
        change(tmp_path, overwrite=False)
    change(tmp_path)
    assert contents(tmp_path) == NEW


@posix
def test_a_note_taken_away_by_hand_is_not_needed(tmp_path: Path) -> None:
    folder = half_way(tmp_path)
    (folder / NOTICE).unlink()
    with pytest.raises(ExportRefused, match="already there"):
        change(folder, overwrite=False)
    assert contents(folder) == {**NEW, **FOREIGN}
