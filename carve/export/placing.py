"""Files that are ready are put in place: all of them, or none, or the folder says so.

Every step moves a file between two places, so that the disk alone says how far it has come: it can
be gone on with, or gone back, from wherever it stopped.
"""

import os
from collections.abc import Mapping, Sequence
from contextlib import suppress
from pathlib import Path

from carve.errors import ExportRefused, FileTrouble, because
from carve.export.journal import Change, changes_in, digest, text_of
from carve.export.staging import Staging


class _Stuck(Exception):  # noqa: N818
    """A file that could not be moved, and what the system said."""

    def __init__(self, target: Path, error: OSError) -> None:
        self.target, self.error = target, error
        super().__init__(str(error))


def put_in_place(staging: Staging, changes: Sequence[Change]) -> None:
    """Make the changes, for which all new files are ready.

    One file is changed by one rename. With more, a journal stands from before the first until after
    the last. Raises ExportRefused where a file has come meanwhile, FileTrouble where the system
    says no; then the folder is as it was.
    """
    alone = len(changes) == 1 and changes[0].new is not None and not staging.notice.exists()
    try:
        if alone:
            _replace(staging, changes[0])
        else:
            _in_order(staging, changes)
    except _Stuck as stuck:
        if isinstance(stuck.error, FileExistsError):
            raise ExportRefused(f"{stuck.target} is already there; nothing was written") from None
        raise FileTrouble(
            f"{stuck.target} cannot be put in place: {because(stuck.error)}; nothing was changed"
        ) from None
    _sync(staging.directory)


def finish(staging: Staging) -> Mapping[str, set[str]] | None:
    """Finish what a killed run had begun to put in place.

    Returns None where the folder is whole now, as it mostly was before. Otherwise what was made
    ready is gone or changed: then by name, SHA-256 of the files of the sets that are mixed here.
    Raises FileTrouble where the system says no; a later run can still finish it.
    """
    text = _read(staging.journal) or _read(staging.notice)
    if text is None:
        return None
    try:
        changes = changes_in(text)
    except ValueError:
        return {}
    if not all(_can_go_on(staging, change) for change in changes):
        return {
            change.name: {one for one in (change.new, change.old) if one is not None}
            for change in changes
        }
    try:
        staging.old.mkdir(exist_ok=True)
        _place(staging, changes)
        _sync(staging.directory)
        staging.journal.unlink(missing_ok=True)
        staging.notice.unlink(missing_ok=True)
    except (_Stuck, OSError) as error:
        said = error.error if isinstance(error, _Stuck) else error
        place = error.target if isinstance(error, _Stuck) else staging.directory
        raise FileTrouble(
            f"an export into {staging.directory} was stopped half way and cannot be finished yet: "
            f"{place} cannot be put in place: {because(said)}"
        ) from None
    return None


def _read(path: Path) -> str | None:
    try:
        return path.read_text(encoding="utf-8", errors="replace")
    except FileNotFoundError:
        return None
    except OSError as error:
        raise FileTrouble(f"{path} cannot be read: {because(error)}") from None


def _can_go_on(staging: Staging, change: Change) -> bool:
    """Whether a change is made already, or what it needs is there."""
    new, target = staging.new / change.name, staging.directory / change.name
    if change.new is None:
        return True
    there = digest(target)
    if not os.path.lexists(new):
        return there == change.new
    return digest(new) == change.new and (
        there is None or there == change.old or _is_one_file(target, new)
    )


def _replace(staging: Staging, change: Change) -> None:
    new, target = staging.new / change.name, staging.directory / change.name
    try:
        if change.old is None:
            _rename_new(new, target)
        else:
            new.replace(target)
    except OSError as error:
        raise _Stuck(target, error) from None


def _in_order(staging: Staging, changes: Sequence[Change]) -> None:
    """Journal, changes, no journal; on any trouble back to the beginning."""
    before = _read(staging.notice)
    try:
        _announce(staging, text_of(changes))
        _place(staging, changes)
        _sync(staging.directory)
        _unlink(staging.journal)
        _unlink(staging.notice)
    except BaseException:
        if os.path.lexists(staging.notice) or os.path.lexists(staging.journal):
            _go_back(staging, changes, before)
        raise


def _announce(staging: Staging, text: str) -> None:
    """Write the journal and its visible copy: from here on the next run would finish it."""
    _sync(staging.new)
    try:
        _write_whole(staging, staging.journal, text)
        _write_whole(staging, staging.notice, text)
    except OSError as error:
        raise _Stuck(staging.notice, error) from None
    _sync(staging.directory)


def _write_whole(staging: Staging, path: Path, text: str) -> None:
    """Let a text appear under its name, whole and on the disk."""
    with staging.aside.open("w", encoding="utf-8") as file:
        file.write(text)
        file.flush()
        os.fsync(file.fileno())
    staging.aside.replace(path)
    _sync(staging.folder)


def _unlink(path: Path) -> None:
    try:
        path.unlink()
    except OSError as error:
        raise _Stuck(path, error) from None


def _steps(changes: Sequence[Change]) -> list[Change]:
    """In the order in which they are made.

    What goes, goes first: where capitals make no difference it may be in the way.
    """
    return sorted(changes, key=lambda change: change.new is not None)


def _place(staging: Staging, changes: Sequence[Change]) -> None:
    for change in _steps(changes):
        target = staging.directory / change.name
        new, old = staging.new / change.name, staging.old / change.name
        try:
            if change.new is None:
                if change.old == digest(target):
                    target.replace(old)
            elif os.path.lexists(new):
                if change.old is not None and os.path.lexists(target):
                    target.replace(old)
                _rename_new(new, target)
        except OSError as error:
            raise _Stuck(target, error) from None


def _go_back(staging: Staging, changes: Sequence[Change], before: str | None) -> None:
    """Undo all changes, however far they got. before: the notice that stood here then."""
    try:
        for change in reversed(_steps(changes)):
            target = staging.directory / change.name
            new, old = staging.new / change.name, staging.old / change.name
            if change.new is not None and os.path.lexists(target):
                if not os.path.lexists(new):
                    target.replace(new)
                elif _is_one_file(target, new):
                    target.unlink()
            if os.path.lexists(old):
                old.replace(target)
        _sync(staging.directory)
        if before is None:
            staging.notice.unlink(missing_ok=True)
        else:
            _write_whole(staging, staging.notice, before)
        staging.journal.unlink(missing_ok=True)
    except OSError as error:
        raise FileTrouble(
            f"{staging.directory} holds files of two sets: {because(error)}. Do not cut from them; "
            f"{staging.notice.name} says how to put it right"
        ) from None


def _rename_new(path: Path, target: Path) -> None:
    """Rename, but never over a file that has come since it was looked for."""
    try:
        os.link(path, target)
    except FileExistsError:
        if not _is_one_file(target, path):  # or a killed run got as far as this
            raise
    except OSError:  # a file system without hard links, such as a memory stick's
        if os.path.lexists(target):
            raise FileExistsError from None
        path.rename(target)
        return
    path.unlink()


def _is_one_file(one: Path, other: Path) -> bool:
    """Whether two names are of one file, links being files of their own."""
    return os.path.samestat(one.lstat(), other.lstat())


def _sync(directory: Path) -> None:
    with suppress(OSError):  # not every system can sync a directory; the files are synced
        handle = os.open(directory, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)
