"""All files or none: written aside, then put in place, never over a file by accident."""

import os
import secrets
import shutil
from collections.abc import Collection, Mapping, Sequence
from contextlib import suppress
from pathlib import Path
from typing import IO, Protocol

from carve.design.values.regular_file import shown_path
from carve.errors import ExportRefused, FileTrouble, because


class Write(Protocol):
    """Writes the content of one file."""

    def __call__(self, file: IO[bytes]) -> None:
        """Write to a binary file that is open for writing."""


def content(data: bytes) -> Write:
    """A writer of bytes that are there already."""

    def write(file: IO[bytes]) -> None:
        file.write(data)

    return write


def write_all(directory: Path, files: Mapping[str, Write], *, overwrite: bool) -> list[Path]:
    """Write files into a directory, which is made if it isn't there.

    files: name to writer. Either all of them stand in the directory afterwards, whole, or
    the directory is as it was. An existing file stays unless ``overwrite``.
    Returns their paths. Raises ExportRefused where a file is in the way, FileTrouble where
    the system says no.
    """
    if "\0" in str(directory):
        raise FileTrouble(f"{_called(directory)} cannot be made: no folder has such a name")
    targets = {directory / name: write for name, write in files.items()}
    _refuse_existing(list(targets), overwrite=overwrite)
    missing = [path for path in (directory, *directory.parents) if not os.path.lexists(path)]
    aside: dict[Path, Path] = {}
    try:
        _make(directory)
        for target, write in targets.items():
            aside[target] = _beside(target)
            _write(aside[target], target, write)
        _place(aside, overwrite=overwrite)
    except BaseException:
        _discard(aside.values())
        for folder in missing:
            with suppress(OSError):
                folder.rmdir()
        raise
    _sync(directory)
    return list(targets)


def _refuse_existing(targets: Sequence[Path], *, overwrite: bool) -> None:
    for target in targets:
        if os.path.isdir(target):  # noqa: PTH112  Path.is_dir raises where it may not look
            raise ExportRefused(f"{target} is a folder; nothing was written")
    there = [target for target in targets if os.path.lexists(target)]
    if there and not overwrite:
        names = ", ".join(str(path) for path in there)
        raise ExportRefused(
            f"{names} {'is' if len(there) == 1 else 'are'} already there; nothing was written "
            "(--overwrite replaces)"
        )


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


def _beside(target: Path) -> Path:
    return target.with_name(f".{target.name}.{secrets.token_hex(4)}.part")


def _write(path: Path, target: Path, write: Write) -> None:
    try:
        with path.open("xb") as file:
            write(file)
            file.flush()
            os.fsync(file.fileno())
        if target.exists():
            shutil.copymode(target, path)  # who may read and write it stays as it was
    except OSError as error:
        raise FileTrouble(
            f"{target} cannot be written: {because(error)}; nothing was changed"
        ) from None


def _place(aside: Mapping[Path, Path], *, overwrite: bool) -> None:
    """Put the finished files in place; on any trouble put everything back as it was."""
    kept: dict[Path, Path] = {}
    tried: list[Path] = []
    try:
        for target, path in aside.items():
            tried.append(target)
            if overwrite and os.path.lexists(target):
                kept[target] = _beside(target)
                _keep(target, kept[target])
                path.replace(target)
            else:
                _rename_new(path, target)
    except BaseException as error:
        for target in reversed(tried):
            _put_back(target, aside[target], kept.get(target))
        if isinstance(error, FileExistsError):
            raise ExportRefused(f"{tried[-1]} is already there; nothing was written") from None
        if isinstance(error, OSError):
            raise FileTrouble(
                f"{tried[-1]} cannot be put in place: {because(error)}; nothing was changed"
            ) from None
        raise
    _discard(kept.values())


def _keep(target: Path, old: Path) -> None:
    """Keep a file under a second name until its successor stands."""
    try:
        os.link(target, old, follow_symlinks=False)
    except OSError:  # a file system without hard links, such as a memory stick's
        target.rename(old)


def _put_back(target: Path, path: Path, old: Path | None) -> None:
    """Undo the placing of one file, however far it got. old: where its forerunner was kept."""
    if old is None:
        # a target is ours to remove only where our own file has become it
        if not os.path.lexists(path) or (target.exists() and target.samefile(path)):
            target.unlink(missing_ok=True)
    elif os.path.lexists(old):
        old.replace(target)
        old.unlink(missing_ok=True)  # two names of one file stay two when one replaces the other


def _discard(paths: Collection[Path]) -> None:
    """Remove files that may be gone already."""
    try:
        for path in paths:
            _remove(path)
    finally:  # Ctrl-C may have come in between
        for path in paths:
            _remove(path)


def _remove(path: Path) -> None:
    with suppress(OSError):  # a folder that takes no file does not let one go either
        path.unlink()


def _rename_new(path: Path, target: Path) -> None:
    """Rename, but never over a file that has come since it was looked for."""
    try:
        os.link(path, target)
    except FileExistsError:
        raise
    except OSError:  # again no hard links
        if os.path.lexists(target):
            raise FileExistsError from None
        path.rename(target)
    else:
        path.unlink()


def _sync(directory: Path) -> None:
    with suppress(OSError):  # not every system can sync a directory; the files are synced
        handle = os.open(directory, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)
