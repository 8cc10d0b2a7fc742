"""The hidden folder in which an export is made ready, and that one run at a time may have.

It lies in the folder that is exported to, so that a rename is enough to put a file in place. Who
holds its lock may use it; the system lets go of the lock when a run ends, however it ends.
"""

import os
import shutil
import sys
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from pathlib import Path

from carve.design.values.regular_file import shown_path
from carve.errors import ExportRefused, FileTrouble, because

NAME = ".carve-unfinished"
NOTICE = "UNFINISHED-EXPORT.txt"
_LOCK = "lock"
_TRIES = 100  # each fails only where another run has just ended


@dataclass(frozen=True)
class Staging:
    """The places of an export into a folder.

    directory: where the files go. new: where they wait. old: where their forerunners go.
    journal: what is being changed, while it is being changed. notice: the same where a builder
    sees it.
    """

    directory: Path

    @property
    def folder(self) -> Path:
        """The hidden folder."""
        return self.directory / NAME

    @property
    def new(self) -> Path:
        """Folder of the files to come."""
        return self.folder / "new"

    @property
    def old(self) -> Path:
        """Folder of the files they take the place of."""
        return self.folder / "old"

    @property
    def aside(self) -> Path:
        """File in which a journal is written before it takes its name."""
        return self.folder / "aside"

    @property
    def journal(self) -> Path:
        """File that says what is being changed."""
        return self.folder / "journal"

    @property
    def notice(self) -> Path:
        """The visible copy of the journal."""
        return self.directory / NOTICE

    def clear(self) -> None:
        """Remove all that was made ready, and make room anew."""
        for folder in (self.new, self.old):
            _remove(folder)
            folder.mkdir()


@contextmanager
def staging_in(directory: Path) -> Iterator[Staging]:
    """Have the hidden folder of a directory, which is made if it isn't there.

    What a killed run left in the hidden folder is still there. Afterwards it goes with all that
    is in it, unless a journal says that it is still needed. Folders made for nothing go too.
    Raises ExportRefused where another run has it, FileTrouble where the system says no.
    """
    if "\0" in str(directory):
        raise FileTrouble(f"{_called(directory)} cannot be made: no folder has such a name")
    missing = [path for path in (directory, *directory.parents) if not os.path.lexists(path)]
    staging = Staging(directory)
    handle = None
    try:
        _make(directory)
        handle = _lock(staging)
        yield staging
        _release(staging, handle)
    except BaseException:
        if handle is None:
            with suppress(OSError):  # made, but not yet ours
                staging.folder.rmdir()
        else:
            _release(staging, handle)
        for folder in missing:
            with suppress(OSError):
                folder.rmdir()
        raise
    finally:
        if handle is not None:
            _close(staging, handle)


def _make(directory: Path) -> None:
    try:
        directory.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise FileTrouble(
            f"{_called(directory)} cannot be made: {_why(directory, error)}"
        ) from None


def _called(directory: Path) -> str:
    return f"the export folder {shown_path(directory)}"


def _why(directory: Path, error: OSError) -> str:
    """Why there is no such folder: what is in its way, or what the system says."""
    if isinstance(error, NotADirectoryError):
        return "its path leads through a file as if that were a folder"
    if not isinstance(error, FileExistsError):
        return because(error)
    if os.path.exists(directory):  # noqa: PTH110  Path.exists raises where it may not look
        return "a file of that name is in the way"
    return "a link of that name is in the way, and it leads nowhere"


def _lock(staging: Staging) -> int:
    """Make the hidden folder and take its lock. Returns the lock file's descriptor."""
    try:
        if staging.folder.is_symlink():
            raise NotADirectoryError("it is a link")
        for _ in range(_TRIES):
            with suppress(FileExistsError):
                staging.folder.mkdir()
            handle = _take(staging.folder / _LOCK)
            if handle is not None:
                return handle
    except BlockingIOError:
        pass
    except OSError as error:
        raise FileTrouble(
            f"{staging.directory} cannot be written: {because(error)}; nothing was changed"
        ) from None
    raise ExportRefused(
        f"another run of carve is writing into {staging.directory}; nothing was written. "
        "Try again when it has ended"
    )


def _take(path: Path) -> int | None:
    """Open the lock file and take the lock; None where who had it took the file away just now.

    Raises BlockingIOError where another run has it.
    """
    try:
        handle = os.open(path, os.O_RDWR | os.O_CREAT, 0o666)
    except FileNotFoundError:
        return None
    try:
        _claim(handle)
        if _is_ours(handle, path):
            return handle
    except BaseException:
        os.close(handle)
        raise
    os.close(handle)
    return None


def _claim(handle: int) -> None:
    """Take the lock of a file. Raises BlockingIOError where another run has it."""
    if sys.platform == "win32":
        import msvcrt

        try:
            msvcrt.locking(handle, msvcrt.LK_NBLCK, 1)
        except OSError:
            raise BlockingIOError from None
    else:
        import fcntl

        try:
            fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError:
            raise
        except OSError:  # some file systems of a network know no locks: then nobody has one
            return


def _is_ours(handle: int, path: Path) -> bool:
    """Whether the lock file we hold is the one that stands there now."""
    try:
        return os.path.samestat(os.fstat(handle), path.stat())
    except OSError:
        return False


def _release(staging: Staging, handle: int) -> None:
    """Empty the hidden folder and let go of it; keep all of it where its journal stands."""
    if os.path.lexists(staging.journal):
        return
    try:
        _clear_away(staging, handle)
    finally:  # what the system refused once, or Ctrl-C in between
        _clear_away(staging, handle)


def _clear_away(staging: Staging, handle: int) -> None:
    lock = staging.folder / _LOCK
    if _is_ours(handle, lock):
        for path in (staging.new, staging.old, staging.aside):
            _remove(path)
        with suppress(OSError):
            if {path.name for path in staging.folder.iterdir()} > {_LOCK}:
                return  # it stays ours as long as something is in it
            lock.unlink()
    with suppress(OSError):  # another run may have it by now
        staging.folder.rmdir()


def _close(staging: Staging, handle: int) -> None:
    """Let go of the lock."""
    os.close(handle)
    if sys.platform == "win32":  # where no open file can be removed, ours or another run's
        with suppress(OSError):
            (staging.folder / _LOCK).unlink()
            staging.folder.rmdir()


def _remove(path: Path) -> None:
    """Remove a file or a folder of ours, which may be gone."""
    if path.is_dir() and not path.is_symlink():
        shutil.rmtree(path, ignore_errors=True)
    else:
        with suppress(OSError):
            path.unlink(missing_ok=True)
