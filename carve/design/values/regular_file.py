"""A builder's file read from the disk: only what is a file, and only as much as its kind may hold.

A pipe or a device could be waited for, or read, for ever; so it is not read at all.
"""

import os
import stat
from errno import ELOOP
from pathlib import Path

from carve.errors import because

LONGEST_NAME = 120  # characters of a name that a sentence shows

_KINDS = (
    (stat.S_ISDIR, "it is a folder"),
    (stat.S_ISFIFO, "it is a pipe, and only files are read"),
    (stat.S_ISCHR, "it is a device, and only files are read"),
    (stat.S_ISBLK, "it is a device, and only files are read"),
    (stat.S_ISSOCK, "it is a socket, and only files are read"),
)


class NotRead(ValueError):  # noqa: N818  a file, not a malfunction
    """A file was not read. Its text goes on after the file's name: "cannot be read: ..."."""


class TooLarge(NotRead):
    """A file holds more bytes than one of its kind may."""


def read_regular(path: Path, most: int) -> bytes:
    """All bytes of a file.

    most: bytes that it may hold; no more are read. Raises NotRead, of which TooLarge is one.
    """
    try:
        # what is no file would be waited for as it is opened
        flags = os.O_RDONLY | getattr(os, "O_NONBLOCK", 0) | getattr(os, "O_BINARY", 0)
        with os.fdopen(os.open(path, flags | getattr(os, "O_NOCTTY", 0)), "rb") as file:
            mode = os.fstat(file.fileno()).st_mode
            if not stat.S_ISREG(mode):
                raise NotRead(f"cannot be read: {_what(mode)}")
            data = file.read(most + 1)
    except OSError as error:
        raise NotRead(f"cannot be read: {_why(path, error)}") from None
    except ValueError as error:
        if isinstance(error, NotRead):
            raise
        # a NUL, or half of a sign that UTF-16 writes in two
        raise NotRead("cannot be read: no file has such a name") from None
    if len(data) > most:
        raise TooLarge(f"holds more than {most / 1e6:g} MB")
    return data


def shown_path(path: Path) -> str:
    """A path in a sentence: on one line, its middle left out where it is long."""
    text = "".join(char if char.isprintable() else "?" for char in str(path))
    if len(text) <= LONGEST_NAME:
        return text
    return f"{text[: LONGEST_NAME // 2]}...{text[-LONGEST_NAME // 2 :]}"


def _what(mode: int) -> str:
    return next((said for is_it, said in _KINDS if is_it(mode)), "it is no file")


def _why(path: Path, error: OSError) -> str:
    try:
        mode = os.stat(path).st_mode  # noqa: PTH116  Path.stat says no more
    except OSError:
        mode = stat.S_IFREG
        # Path.is_symlink raises where it may not look
        if isinstance(error, FileNotFoundError) and os.path.islink(path):  # noqa: PTH114
            return "it is a link, and there is no file where it leads"
    if not stat.S_ISREG(mode):
        return _what(mode)
    if isinstance(error, NotADirectoryError):
        return "its path leads through a file as if that were a folder"
    return "it is a link that leads back to itself" if error.errno == ELOOP else because(error)
