"""What happens when somebody asks the program to stop: Ctrl-C, a polite kill, a closed terminal.

Nothing heavy is imported here: the program reads this file before all others.
"""

import os
import signal
from collections.abc import Iterator
from contextlib import contextmanager
from types import FrameType

STOP_SIGNALS = tuple(
    getattr(signal, name) for name in ("SIGINT", "SIGTERM", "SIGHUP") if hasattr(signal, name)
)
"""Requests to stop. SIGHUP is a closed terminal; Windows has none."""

CLEAR_LINE = "\r\x1b[K"  # ECMA-48: to the first column, erase what is in the line

BY_SIGNAL = 128  # plus the signal's number is the exit status, as shells have it


def end_when_asked() -> None:
    """From now on end at once, with one word, on a request to stop.

    No exception is raised, so none shows where it came: within an import or a library's C. What
    must not be left half done is done under ``held``. A request that whoever started us has
    ignored (``nohup``) stays ignored.
    """
    for number in STOP_SIGNALS:
        if signal.getsignal(number) is not signal.SIG_IGN:
            signal.signal(number, _end)


def _end(number: int, _frame: FrameType | None) -> None:
    try:
        os.write(2, f"{CLEAR_LINE if os.isatty(2) else ''}stopped\n".encode())
    finally:  # the terminal may be gone
        os._exit(BY_SIGNAL + number)


@contextmanager
def held() -> Iterator[list[int]]:
    """Let requests to stop wait until the end of a block.

    Yields the requests that have come so far, by number: the block looks at them where it may
    stop. At its end each is made again and meets what would have met it before. Only the main
    thread hears of requests; on any other there is nothing to hold.
    """
    import threading  # late: the program's start waits for this file

    asked: list[int] = []
    if threading.current_thread() is not threading.main_thread():
        yield asked
        return
    before = {number: signal.getsignal(number) for number in STOP_SIGNALS}
    before = {
        number: handler
        for number, handler in before.items()
        if handler not in (None, signal.SIG_IGN)  # None: not Python's
    }
    try:
        for number in before:
            signal.signal(number, lambda number, _frame: asked.append(number))
        yield asked
    finally:
        for number in reversed(before):  # SIGINT last: it alone is likely to raise here
            signal.signal(number, before[number])
        for number in dict.fromkeys(asked):
            signal.raise_signal(number)
