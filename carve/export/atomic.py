"""All files or none: made ready aside, then put in place, never over a file by accident."""

import os
import shutil
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from typing import IO, NamedTuple, Protocol

from carve.design.values.regular_file import shown_path
from carve.errors import ExportRefused, FileInTheWay, FileTrouble, because
from carve.export.journal import Change, digest, is_plain
from carve.export.placing import finish, put_in_place
from carve.export.staging import NOTICE, Staging, staging_in
from carve.stop import held

MOST_NAMED = 3  # files in the way that a sentence names


class Write(Protocol):
    """Writes the content of one file."""

    def __call__(self, file: IO[bytes]) -> None:
        """Write to a binary file that is open for writing."""


class Written(NamedTuple):
    """What became of a folder's files.

    paths: those written. removed: those of an earlier set that belong to it no more. left: such as
    well, but changed since they were written, so they stay.
    """

    paths: tuple[Path, ...]
    removed: tuple[Path, ...] = ()
    left: tuple[Path, ...] = ()


def content(data: bytes) -> Write:
    """A writer of bytes that are there already."""

    def write(file: IO[bytes]) -> None:
        file.write(data)

    return write


def _no_earlier(directory: Path) -> Mapping[str, str]:
    return {}


def write_all(
    directory: Path,
    files: Mapping[str, Write],
    *,
    overwrite: bool,
    earlier: Callable[[Path], Mapping[str, str]] = _no_earlier,
) -> Written:
    """Write files into a directory, which is made if it isn't there.

    files: name to writer. Either all of them stand in the directory afterwards, whole, or
    the directory is as it was. An existing file stays unless ``overwrite``.
    earlier: asked, once the directory is whole, for the files of an earlier set in it, names with
    SHA-256. Those that ``files`` has no more go in the same step.

    A run that is killed leaves the old files, or the new ones, or a note that begins
    "Do not cut"; the next call finishes what it began and takes away what it left. A request to
    stop waits until the directory is in order. Raises ExportRefused where a file is in the way or
    another run is writing here, FileTrouble where the system says no.
    """
    try:
        with held() as asked, staging_in(directory) as staging:
            if (mixed := finish(staging)) is not None:
                _give_up(staging, overwrite=overwrite)
            _refuse_existing([directory / name for name in files], overwrite=overwrite)
            _make_ready(staging, files, asked)
            former = {name: {listed} for name, listed in earlier(directory).items()}
            going, left = _leftover(directory, {**former, **(mixed or {})}, files)
            coming = [_coming(staging, name, overwrite=overwrite) for name in files]
            put_in_place(staging, [*coming, *going])
    except OSError as error:
        raise FileTrouble(f"{directory} cannot be written: {because(error)}") from None
    return Written(
        tuple(directory / name for name in files),
        tuple(directory / change.name for change in going),
        tuple(directory / name for name in left),
    )


def _give_up(staging: Staging, *, overwrite: bool) -> None:
    """Forget a set that can no longer be finished, where another takes its place."""
    if not overwrite:
        raise FileInTheWay(
            f"an export into {staging.directory} was stopped half way and cannot be finished: what "
            f"it had made ready is gone, or its files were changed since. {NOTICE} there says "
            "more; nothing was written"
        )
    staging.journal.unlink(missing_ok=True)  # the note stays until the new set stands


def _refuse_existing(targets: Sequence[Path], *, overwrite: bool) -> None:
    for target in targets:
        if os.path.isdir(target):  # noqa: PTH112  Path.is_dir raises where it may not look
            raise ExportRefused(f"{target} is a folder; nothing was written")
    there = [target for target in targets if os.path.lexists(target)]
    if there and not overwrite:
        names = ", ".join(shown_path(Path(path.name)) for path in there[:MOST_NAMED])
        if len(there) > MOST_NAMED:
            names += f" and {len(there) - MOST_NAMED} more"
        raise FileInTheWay(
            f"{names} {'is' if len(there) == 1 else 'are'} already there in "
            f"{shown_path(there[0].parent)}; nothing was written"
        )


def _make_ready(staging: Staging, files: Mapping[str, Write], asked: Sequence[int]) -> None:
    """Write all files into the hidden folder. asked: requests to stop, which grow meanwhile."""
    staging.clear()
    for name, write in files.items():
        if asked:
            raise KeyboardInterrupt
        _write(staging.new / name, staging.directory / name, write)


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


def _coming(staging: Staging, name: str, *, overwrite: bool) -> Change:
    """A file that is ready; what it replaces is nothing where nothing may be replaced."""
    there = digest(staging.directory / name) if overwrite else None
    return Change(name, digest(staging.new / name), there)


def _leftover(
    directory: Path, former: Mapping[str, set[str]], files: Mapping[str, Write]
) -> tuple[list[Change], list[str]]:
    """Files of an earlier set that a new one has not: those to remove, and those to leave."""
    going, left = [], []
    for name, sums in former.items():
        if name in files or not is_plain(name):
            continue
        there = digest(directory / name)
        if there in sums:
            going.append(Change(name, None, there))
        elif there is not None:
            left.append(name)
    return going, left
