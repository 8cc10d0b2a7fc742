"""The journal of an export: what it changes in the folder, so that another run can finish it.

It stands for as long as the folder may hold files of two sets. Its first lines are for the
builder, who finds it between the files; the rest is for the next run.
"""

import hashlib
import json
import os
from collections.abc import Sequence
from dataclasses import asdict, dataclass
from pathlib import Path, PureWindowsPath

from carve.export.staging import NAME, NOTICE

_WORDS = """\
Do not cut from the files in this folder: an export into it was stopped half way, and they may be
of two designs. Export into this folder again: that first puts it right and takes this note away.

For carve:
"""


@dataclass(frozen=True)
class Change:
    """What becomes of one file.

    new: SHA-256 of what comes, None where nothing does. old: of what goes, None where nothing is
    there.
    """

    name: str
    new: str | None
    old: str | None


def text_of(changes: Sequence[Change]) -> str:
    """The journal of some changes."""
    return _WORDS + json.dumps([asdict(change) for change in changes], indent=1) + "\n"


def changes_in(text: str) -> tuple[Change, ...]:
    """The changes that a journal tells of. Raises ValueError where it is none."""
    try:
        found = json.loads(text[text.index("[") :])
        changes = tuple(Change(**entry) for entry in found)
    except (TypeError, ValueError):
        raise ValueError("no journal") from None
    for change in changes:
        sums = (change.new, change.old)
        if not is_plain(change.name) or not all(isinstance(s, str | None) for s in sums):
            raise ValueError("no journal")
    return changes


def is_plain(name: object) -> bool:
    """Whether a name is one of a file in the folder itself, and none of the journal's own."""
    return (
        isinstance(name, str)
        and name not in {"", ".", "..", NAME, NOTICE}
        and PureWindowsPath(name).name == name  # knows both ways of writing a folder
    )


def digest(path: Path) -> str | None:
    """SHA-256 of a file; of where it leads, if it is a link; None where nothing is there.

    What has no sum is named by a word, so that it is told from all that have one.
    """
    try:
        if path.is_symlink():
            return hashlib.sha256(b"link to " + os.fsencode(path.readlink())).hexdigest()
        if not path.is_file():
            return "no file" if os.path.lexists(path) else None
        with path.open("rb") as file:
            return hashlib.file_digest(file, "sha256").hexdigest()
    except FileNotFoundError:
        return None
    except OSError:
        return "unreadable"
