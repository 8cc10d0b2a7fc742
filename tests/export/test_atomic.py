"""All files or none.

Whatever happens, a folder holds afterwards either all the new files or what it held
before, and nothing half written. The disks that fill up here really do.
"""

import errno
import os
import stat
import subprocess
import sys
import tempfile
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import IO, Any

import pytest

from carve.design.values.regular_file import shown_path
from carve.errors import CarveError, ExportRefused, FileInTheWay, FileTrouble
from carve.export.atomic import Write, content, write_all

OLD, NEW = b"old " * 100, b"new " * 200
NAMES = ("a.stl", "b.stl", "c.json")


def snapshot(folder: Path) -> dict[str, tuple[bytes, int, int]]:
    """Everything in a folder and below: content, time of the last change, mode."""
    found = {}
    for path in sorted(folder.rglob("*")):
        state = path.lstat()
        held = path.read_bytes() if path.is_file() else b""
        found[str(path.relative_to(folder))] = (held, state.st_mtime_ns, state.st_mode)
        if path.is_dir():  # a folder's own time changes when a file comes and goes again
            found[str(path.relative_to(folder))] = (b"", 0, state.st_mode)
    return found


def contents(folder: Path) -> dict[str, bytes]:
    return {path.name: path.read_bytes() for path in folder.iterdir()}


def three(data: bytes = NEW) -> dict[str, Write]:
    return {name: content(name.encode() + data) for name in NAMES}


def put_old(folder: Path, *names: str) -> None:
    for name in names:
        (folder / name).write_bytes(OLD)
        os.utime(folder / name, (1_000_000, 1_000_000))


@pytest.fixture
def mounted(tmp_path: Path) -> Iterator[Callable[[str], Path]]:
    """Mounts a file system of its own in memory. Needs root."""
    places: list[Path] = []

    def mount(options: str) -> Path:
        place = tmp_path / f"mount{len(places)}"
        place.mkdir()
        command = ["mount", "-t", "tmpfs", "-o", options, "tmpfs", str(place)]
        try:
            done = subprocess.run(command, capture_output=True, text=True)
        except FileNotFoundError:
            pytest.skip("there is no mount command here")
        if done.returncode:
            pytest.skip(f"mounting is not permitted here: {done.stderr.strip()}")
        places.append(place)
        return place

    yield mount
    for place in places:
        subprocess.run(["umount", str(place)], check=True)


# What should happen


def test_all_files_are_written_whole_into_a_folder_made_for_them(tmp_path: Path) -> None:
    folder = tmp_path / "cut" / "today"
    written = write_all(folder, three(), overwrite=False)
    assert list(written.paths) == [folder / name for name in NAMES]
    assert contents(folder) == {name: name.encode() + NEW for name in NAMES}


def test_other_files_in_the_folder_are_left_alone(tmp_path: Path) -> None:
    put_old(tmp_path, "notes.txt")
    before = snapshot(tmp_path)
    write_all(tmp_path, three(), overwrite=True)
    assert snapshot(tmp_path)["notes.txt"] == before["notes.txt"]
    assert sorted(contents(tmp_path)) == sorted([*NAMES, "notes.txt"])


# Files in the way


@pytest.mark.parametrize("there", [NAMES[:1], NAMES[1:2], NAMES[2:], NAMES])
def test_an_existing_file_is_never_written_over_unasked(
    there: tuple[str, ...], tmp_path: Path
) -> None:
    put_old(tmp_path, *there)
    before = snapshot(tmp_path)
    with pytest.raises(FileInTheWay) as caught:
        write_all(tmp_path, three(), overwrite=False)
    assert snapshot(tmp_path) == before
    for name in there:
        assert name in str(caught.value)


def test_no_writer_is_called_when_a_file_is_in_the_way(tmp_path: Path) -> None:
    put_old(tmp_path, "b.stl")

    def never(file: IO[bytes]) -> None:
        pytest.fail("wrote although a file was in the way")

    with pytest.raises(ExportRefused):
        write_all(tmp_path, {"a.stl": never, "b.stl": never}, overwrite=False)


def test_a_link_that_leads_nowhere_is_in_the_way_too(tmp_path: Path) -> None:
    (tmp_path / "a.stl").symlink_to(tmp_path / "gone")
    with pytest.raises(ExportRefused):
        write_all(tmp_path, three(), overwrite=False)
    assert [path.name for path in tmp_path.iterdir()] == ["a.stl"]


def test_existing_files_are_replaced_when_asked(tmp_path: Path) -> None:
    put_old(tmp_path, "a.stl", "c.json")
    write_all(tmp_path, three(), overwrite=True)
    assert contents(tmp_path) == {name: name.encode() + NEW for name in NAMES}


@pytest.mark.skipif(os.name != "posix", reason="modes as POSIX has them")
def test_a_replaced_file_may_be_read_and_written_by_whom_it_was_before(tmp_path: Path) -> None:
    put_old(tmp_path, "a.stl")
    (tmp_path / "a.stl").chmod(0o640)
    write_all(tmp_path, three(), overwrite=True)
    assert stat.S_IMODE((tmp_path / "a.stl").stat().st_mode) == 0o640


def test_replacing_a_link_leaves_what_it_led_to(tmp_path: Path) -> None:
    put_old(tmp_path, "elsewhere.stl")
    (tmp_path / "a.stl").symlink_to(tmp_path / "elsewhere.stl")
    write_all(tmp_path, three(), overwrite=True)
    assert (tmp_path / "elsewhere.stl").read_bytes() == OLD
    assert (tmp_path / "a.stl").read_bytes() == b"a.stl" + NEW


@pytest.mark.parametrize("overwrite", [False, True])
def test_a_folder_by_the_name_of_a_file_stays(overwrite: bool, tmp_path: Path) -> None:
    (tmp_path / "b.stl").mkdir()
    put_old(tmp_path / "b.stl", "inside")
    before = snapshot(tmp_path)
    with pytest.raises(ExportRefused, match=r"b\.stl is a folder; nothing was written"):
        write_all(tmp_path, three(), overwrite=overwrite)
    assert snapshot(tmp_path) == before


def test_a_file_that_comes_while_we_write_is_not_written_over(tmp_path: Path) -> None:
    def as_another_program_does(file: IO[bytes]) -> None:
        put_old(tmp_path, "b.stl")
        file.write(NEW)

    files = {**three(), "c.json": as_another_program_does}
    with pytest.raises(ExportRefused, match=r"b\.stl is already there; nothing was written"):
        write_all(tmp_path, files, overwrite=False)
    assert contents(tmp_path) == {"b.stl": OLD}


def test_nor_is_it_where_the_file_system_has_no_hard_links(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(os, "link", refuse(errno.EPERM))  # as FAT on a memory stick does
    test_a_file_that_comes_while_we_write_is_not_written_over(tmp_path)


def test_files_are_replaced_where_the_file_system_has_no_hard_links(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(os, "link", refuse(errno.EPERM))
    put_old(tmp_path, "a.stl", "c.json")
    write_all(tmp_path, three(), overwrite=True)
    assert contents(tmp_path) == {name: name.encode() + NEW for name in NAMES}


def refuse(number: int) -> Callable[..., Any]:
    def call(*arguments: Any, **options: Any) -> Any:
        raise OSError(number, os.strerror(number))

    return call


# Disks that are full


@pytest.mark.parametrize("overwrite", [False, True])
def test_a_disk_that_fills_up_half_way_leaves_the_folder_as_it_was(
    overwrite: bool, mounted: Callable[[str], Path]
) -> None:
    disk = mounted("size=64k")
    put_old(disk, *(NAMES if overwrite else ("notes.txt",)))
    before = snapshot(disk)
    files = {**three(), "b.stl": content(b"x" * 500_000)}
    with pytest.raises(FileTrouble, match=r"b\.stl cannot be written: no space left on device"):
        write_all(disk, files, overwrite=overwrite)
    assert snapshot(disk) == before


def test_folders_made_on_a_full_disk_are_taken_away_again(
    mounted: Callable[[str], Path],
) -> None:
    disk = mounted("size=64k")
    with pytest.raises(FileTrouble, match="no space left on device; nothing was changed"):
        write_all(disk / "new" / "deep", {"a": content(b"x" * 500_000)}, overwrite=False)
    assert list(disk.iterdir()) == []


def test_folders_made_before_the_disk_had_no_room_for_the_next_are_taken_away_again(
    mounted: Callable[[str], Path],
) -> None:
    disk = mounted("size=64k,nr_inodes=4")  # the root and three more
    deep = disk / "one" / "two" / "three" / "four"
    with pytest.raises(FileTrouble, match="four cannot be made: no space left on device"):
        write_all(deep, three(), overwrite=False)
    assert list(disk.iterdir()) == []


LIMITED = """
import pathlib, resource, signal
from carve.errors import FileTrouble
from carve.export.atomic import content, write_all

signal.signal(signal.SIGXFSZ, signal.SIG_IGN)  # or the system would end the process
resource.setrlimit(resource.RLIMIT_FSIZE, (10_000, 10_000))
files = {{"a.stl": content(b"a" * 9_000), "b.stl": content(b"b" * 11_000)}}
try:
    write_all(pathlib.Path({folder!r}), files, overwrite={overwrite})
except FileTrouble as error:
    print(error)
"""


@pytest.mark.skipif(os.name != "posix", reason="file size limits as POSIX has them")
@pytest.mark.parametrize("overwrite", [False, True])
def test_a_write_that_fails_in_its_middle_leaves_the_folder_as_it_was(
    overwrite: bool, tmp_path: Path
) -> None:
    # a limit on the size of files stops a write after some of its bytes, for any user
    put_old(tmp_path, *(("a.stl", "b.stl") if overwrite else ("notes.txt",)))
    before = snapshot(tmp_path)
    code = LIMITED.format(folder=str(tmp_path), overwrite=overwrite)
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True)
    said = f"{tmp_path / 'b.stl'} cannot be written: file too large; nothing was changed\n"
    assert (done.stdout, done.stderr) == (said, "")
    assert snapshot(tmp_path) == before


# Folders that take no files


def test_a_folder_below_a_file_cannot_be_made(tmp_path: Path) -> None:
    put_old(tmp_path, "file")
    with pytest.raises(FileTrouble, match="cannot be made: its path leads through a file"):
        write_all(tmp_path / "file" / "cut", three(), overwrite=False)
    assert contents(tmp_path) == {"file": OLD}


def test_a_file_is_no_folder(tmp_path: Path) -> None:
    put_old(tmp_path, "file")
    with pytest.raises(FileTrouble, match="cannot be made: a file of that name is in the way"):
        write_all(tmp_path / "file", three(), overwrite=True)
    assert contents(tmp_path) == {"file": OLD}


def test_a_name_that_is_too_long_is_said_and_nothing_is_written(tmp_path: Path) -> None:
    files = {**three(), "x" * 256: content(NEW)}
    with pytest.raises(FileTrouble, match="cannot be written: file name too long"):
        write_all(tmp_path, files, overwrite=False)
    with pytest.raises(FileTrouble, match="cannot be made: file name too long"):
        write_all(tmp_path / ("x" * 300), three(), overwrite=False)
    assert list(tmp_path.iterdir()) == []


def test_a_read_only_disk_is_said_and_nothing_is_written(mounted: Callable[[str], Path]) -> None:
    disk = mounted("ro,size=64k")
    with pytest.raises(FileTrouble, match="cannot be written: read-only file system"):
        write_all(disk, three(), overwrite=False)
    with pytest.raises(FileTrouble, match="cannot be made: read-only file system"):
        write_all(disk / "cut", three(), overwrite=False)


LOCKED = """
import os, pathlib
from carve.errors import FileTrouble
from carve.export.atomic import content, write_all

os.getuid() or os.setuid(65534)  # root may write anywhere; the user nobody may not
for folder in map(pathlib.Path, {folders!r}):
    try:
        write_all(folder, {{"a.stl": content(b"a")}}, overwrite={overwrite})
    except FileTrouble as error:
        print(error)
"""


@pytest.mark.skipif(os.name != "posix", reason="permissions as POSIX has them")
@pytest.mark.parametrize("overwrite", [False, True])
def test_a_folder_one_may_not_write_to_or_look_into_is_said(overwrite: bool) -> None:
    with tempfile.TemporaryDirectory() as name:  # pytest's own folders are closed to others
        top = Path(name)
        top.chmod(0o755)
        shown, closed = top / "shown", top / "closed"
        shown.mkdir()
        closed.mkdir()
        put_old(shown, "a.stl", "b.stl") if overwrite else None
        before = contents(shown)
        shown.chmod(0o555)
        closed.chmod(0o000)
        folders = [str(shown), str(shown / "new"), str(closed / "cut")]
        code = LOCKED.format(folders=folders, overwrite=overwrite)
        done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True)
        closed.chmod(0o755)
        shown.chmod(0o755)
        assert done.stderr == ""
        assert done.stdout.splitlines() == [
            f"{shown} cannot be written: permission denied; nothing was changed",
            f"the export folder {shown_path(shown / 'new')} cannot be made: permission denied",
            f"the export folder {shown_path(closed / 'cut')} cannot be made: permission denied",
        ]
        assert contents(shown) == before
        assert list(closed.iterdir()) == []


def test_a_second_file_that_cannot_be_replaced_brings_the_first_back(tmp_path: Path) -> None:
    put_old(tmp_path, *NAMES)
    fixed = tmp_path / "b.stl"
    try:
        done = subprocess.run(["chattr", "+i", str(fixed)], capture_output=True, text=True)
    except FileNotFoundError:
        pytest.skip("there is no chattr command here")
    if done.returncode:
        pytest.skip(f"files cannot be made immutable here: {done.stderr.strip()}")
    try:
        before = snapshot(tmp_path)
        with pytest.raises(FileTrouble, match=r"b\.stl cannot be put in place: .*nothing was"):
            write_all(tmp_path, three(), overwrite=True)
        assert snapshot(tmp_path) == before
    finally:
        subprocess.run(["chattr", "-i", str(fixed)], check=True)


# Writers that stop


class Jammed(Exception):  # noqa: N818
    """What a writer might raise."""


@pytest.mark.parametrize("error", [KeyboardInterrupt, Jammed, MemoryError])
@pytest.mark.parametrize("number", [0, 1, 2])
@pytest.mark.parametrize("overwrite", [False, True])
def test_a_writer_that_stops_half_way_leaves_nothing(
    error: type[BaseException], number: int, overwrite: bool, tmp_path: Path
) -> None:
    put_old(tmp_path, *(NAMES if overwrite else ("notes.txt",)))
    before = snapshot(tmp_path)

    def stop(file: IO[bytes]) -> None:
        file.write(NEW)
        raise error

    with pytest.raises(error):
        write_all(tmp_path, {**three(), NAMES[number]: stop}, overwrite=overwrite)
    assert snapshot(tmp_path) == before


# Whatever the system refuses, and wherever Ctrl-C comes

CALLS = ("mkdir", "fsync", "link", "rename", "replace", "unlink", "rmdir")


class Trip:
    """Lets the n-th call to the system fail, before or after it has had its effect."""

    def __init__(self, n: int, error: BaseException, *, after: bool) -> None:
        self.left, self.error, self.after, self.tripped = n, error, after, False

    def around(self, call: Callable[..., Any]) -> Callable[..., Any]:
        def tripping(*arguments: Any, **options: Any) -> Any:
            self.left -= 1
            if self.left != 0:
                return call(*arguments, **options)
            self.tripped = True
            if self.after:
                call(*arguments, **options)
            raise self.error

        return tripping


@pytest.mark.parametrize("there", [(), ("a.stl", "c.json"), NAMES])
@pytest.mark.parametrize(
    ("error", "after"),
    [
        (OSError(errno.EIO, "Input/output error"), False),
        (KeyboardInterrupt(), False),
        (KeyboardInterrupt(), True),
    ],
    ids=["system refuses", "Ctrl-C before", "Ctrl-C after"],
)
def test_wherever_it_stops_the_folder_holds_all_new_files_or_what_it_held(
    there: tuple[str, ...], error: BaseException, after: bool, tmp_path: Path
) -> None:
    new = {name: name.encode() + NEW for name in NAMES}
    for n in range(1, 100):
        top = tmp_path / str(n)
        folder = top / "cut"
        top.mkdir()
        if there:
            folder.mkdir()
            put_old(folder, *there)
        before = snapshot(top)
        trip = Trip(n, error, after=after)
        with pytest.MonkeyPatch.context() as patch:
            for name in CALLS:
                patch.setattr(os, name, trip.around(getattr(os, name)))
            try:
                write_all(folder, three(), overwrite=bool(there))
            except (CarveError, KeyboardInterrupt):
                finished = False
            else:
                finished = True
        if not finished and snapshot(top) != before:
            # only after the last file was in its place may Ctrl-C come too late
            assert isinstance(error, KeyboardInterrupt), n
            assert contents(folder) == new, n
        elif finished:
            assert contents(folder) == new, n
        if not trip.tripped:
            assert n > len(NAMES)
            return
    pytest.fail("never came to its end")
