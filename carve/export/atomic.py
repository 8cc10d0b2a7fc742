"""All files or none: written aside, then put in place, never over a file by accident."""

import os
import secrets
from collections.abc import Mapping, Sequence
from contextlib import suppress
from pathlib import Path
from typing import IO, Protocol

from carve.errors import ExportRefused, FileTrouble, because


class Write(Protocol):
    """Writes the content of one file."""

    def __call__(self, file: IO[bytes]) -> None:
        """Write to a binary file that is open for writing."""


def write_all(directory: Path, files: Mapping[str, Write], *, overwrite: bool) -> list[Path]:
    """Write files into a directory, which is made if it isn't there.

    files: name to writer. Either all of them stand in the directory afterwards, whole, or
    the directory is as it was. An existing file stays unless ``overwrite``.
    Returns their paths. Raises ExportRefused where a file is in the way, FileTrouble where
    the system says no.
    """
    targets = {directory / name: write for name, write in files.items()}
    _refuse_existing([target for target in targets if not overwrite])
    made = _make(directory)
    aside: dict[Path, Path] = {}
    try:
        for target, write in targets.items():
            aside[target] = _beside(target)
            _write(aside[target], target, write)
        _place(aside, overwrite=overwrite)
    except BaseException:
        for path in aside.values():
            path.unlink(missing_ok=True)
        for folder in made:
            with suppress(OSError):
                folder.rmdir()
        raise
    _sync(directory)
    return list(targets)


def _refuse_existing(targets: Sequence[Path]) -> None:
    there = [target for target in targets if os.path.lexists(target)]
    if there:
        names = ", ".join(str(path) for path in there)
        raise ExportRefused(
            f"{names} {'is' if len(there) == 1 else 'are'} already there; nothing was written "
            "(--overwrite replaces)"
        )


def _make(directory: Path) -> list[Path]:
    """Make a directory. Returns the folders made, innermost first."""
    missing = [folder for folder in (directory, *directory.parents) if not folder.exists()]
    try:
        directory.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise FileTrouble(f"{directory} cannot be made: {because(error)}") from None
    return missing


def _beside(target: Path) -> Path:
    return target.with_name(f".{target.name}.{secrets.token_hex(4)}.part")


def _write(path: Path, target: Path, write: Write) -> None:
    try:
        with path.open("xb") as file:
            write(file)
            file.flush()
            os.fsync(file.fileno())
    except OSError as error:
        raise FileTrouble(
            f"{target} cannot be written: {because(error)}; nothing was changed"
        ) from None


def _place(aside: Mapping[Path, Path], *, overwrite: bool) -> None:
    """Put the finished files in place; on any trouble put everything back as it was."""
    placed: list[tuple[Path, Path | None]] = []
    try:
        for target, path in aside.items():
            kept = None
            if overwrite and os.path.lexists(target):
                kept = _beside(target)
                target.rename(kept)
            placed.append((target, kept))
            _rename_new(path, target)
    except BaseException as error:
        for target, kept in reversed(placed):
            # a target is ours to remove only where its own file has left its place aside
            if not aside[target].exists():
                target.unlink(missing_ok=True)
            if kept is not None:
                kept.rename(target)
        if isinstance(error, FileExistsError):
            raise ExportRefused(
                f"{error.filename2} is already there; nothing was written"
            ) from None
        if isinstance(error, OSError):
            raise FileTrouble(
                f"{error.filename2 or error.filename} cannot be put in place: {because(error)}; "
                "nothing was changed"
            ) from None
        raise
    for _, kept in placed:
        if kept is not None:
            kept.unlink(missing_ok=True)


def _rename_new(path: Path, target: Path) -> None:
    """Rename, but never over a file that has come since it was looked for."""
    try:
        os.link(path, target)
    except FileExistsError:
        raise
    except OSError:  # a file system without hard links, such as a memory stick's
        if os.path.lexists(target):
            raise FileExistsError(17, "file exists", str(path), None, str(target)) from None
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
