"""Hand work to the kernel's main thread, keeping only the newest request.

JupyterLab runs widget messages on a side thread of the kernel (a "subshell"), so that a
dial answers while a cell is busy. VTK windows and matplotlib's pyplot belong to the main
thread: drawn from the side thread, the 3D view turns black. A dial being dragged also asks
for more pictures than can be drawn. `Latest` settles both: it may be called from any thread,
it works on the main thread, and it skips every request that a newer one has overtaken.
"""

from __future__ import annotations

import asyncio
import threading
from collections.abc import Callable
from typing import Generic, TypeVar

T = TypeVar("T")

IN_FLIGHT = 0.3
"""Seconds in which a message that a page held back has surely come: some round trips."""


class Latest(Generic[T]):
    """Runs `work` on the newest submitted value, on the thread that built this object.

    Build it in a notebook cell (or anywhere on the main thread). Where an event loop runs
    there, as in Jupyter, `submit` returns at once and the loop does the work. Where none runs,
    as in a plain script, `submit` does the work itself before it returns.

    The last value submitted before things fall quiet is always worked on.

    Args:
        work: called with a value; never by two threads at once.
        on_error: called, where the work ran, with whatever `work` raised. What `on_error`
            itself raises goes to the event loop's own handler, which logs it.

    """

    def __init__(self, work: Callable[[T], None], *, on_error: Callable[[Exception], None]) -> None:
        self._work = work
        self._on_error = on_error
        self._loop = _loop_of_main_thread()
        # At most one value waits. A list rather than None-or-value, for None is a value too.
        self._waiting: list[T] = []
        self._guard = threading.Lock()
        self._turn = threading.RLock()

    def submit(self, value: T) -> None:
        """Ask for `value` to be worked on. Safe from any thread; never raises what `work` does."""
        with self._guard:
            self._waiting = [value]
        if self._loop is None:
            self._run()
        else:
            # Once for each submit, though one run would do: a run that finds nothing waiting
            # costs nothing, and a loop that has closed gets to say so every time.
            self._loop.call_soon_threadsafe(self._run)

    def submit_soon(self, take: Callable[[], T], seconds: float = IN_FLIGHT) -> None:
        """Ask for what ``take`` gives in a moment, when messages on their way have come in.

        A page sends no second value of a slider before the first was answered, but a press of a
        button at once: the press may overtake the last value. ``take`` runs on a thread of its
        own. Where no event loop runs nothing is on its way, and this is ``submit(take())``.
        """
        if self._loop is None:
            self.submit(take())
            return
        timer = threading.Timer(seconds, lambda: self.submit(take()))
        timer.daemon = True
        timer.start()

    def _run(self) -> None:
        # Reentrant, so that work may submit again; it matters only with no loop, where two
        # threads could otherwise be in `work` together.
        with self._turn:
            with self._guard:
                taken, self._waiting = self._waiting, []
            for value in taken:
                try:
                    self._work(value)
                except Exception as error:
                    self._on_error(error)


def _loop_of_main_thread() -> asyncio.AbstractEventLoop | None:
    """The event loop running on this, the main, thread; None where none runs.

    Raises RuntimeError when called inside another thread's loop: that loop would draw on the
    wrong thread, which is exactly what `Latest` is there to prevent.
    """
    try:
        loop = asyncio.get_running_loop()
    except RuntimeError:
        return None
    if threading.current_thread() is not threading.main_thread():
        raise RuntimeError(
            "Latest has to be built on the kernel's main thread, in a notebook cell; "
            "it was built inside a widget's callback, which Jupyter runs on another thread."
        )
    return loop
