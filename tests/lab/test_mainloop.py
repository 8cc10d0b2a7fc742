"""What a dial may rely on when it hands its value to the main thread."""

from __future__ import annotations

import asyncio
import threading
import time
from collections.abc import Callable

import pytest

from carve.lab.mainloop import Latest


def fail(error: Exception) -> None:
    raise AssertionError("no error was expected") from error


def from_another_thread(work: Callable[[], None]) -> threading.Thread:
    thread = threading.Thread(target=work)
    thread.start()
    return thread


async def until(condition: Callable[[], bool], seconds: float = 5.0) -> None:
    """Let the loop turn until the condition holds; the assertions after it judge."""
    end = time.monotonic() + seconds
    while not condition() and time.monotonic() < end:
        await asyncio.sleep(0.001)


def test_a_burst_ends_on_its_last_value_with_far_fewer_calls_on_the_main_thread() -> None:
    seen: list[int] = []
    threads: set[threading.Thread] = set()

    def draw(value: int) -> None:
        time.sleep(0.02)
        seen.append(value)
        threads.add(threading.current_thread())

    async def scenario() -> None:
        latest = Latest(draw, on_error=fail)

        def drag() -> None:
            for value in range(100):
                latest.submit(value)
                time.sleep(0.001)

        thread = from_another_thread(drag)
        await until(lambda: bool(seen) and seen[-1] == 99)
        thread.join()
        # Nothing may trail in after the last value.
        await asyncio.sleep(0.05)

    asyncio.run(scenario())
    assert seen[-1] == 99
    assert seen == sorted(set(seen)), "in order, and none twice"
    assert 1 <= len(seen) <= 50
    assert threads == {threading.main_thread()}


def test_submitting_does_not_wait_for_the_work() -> None:
    release = threading.Event()
    seen: list[int] = []

    def draw(value: int) -> None:
        release.wait(5.0)
        seen.append(value)

    async def scenario() -> None:
        latest = Latest(draw, on_error=fail)

        def drag() -> None:
            # The main thread sits inside draw(0) until the release: were submit to wait for
            # it, the second line would never be reached.
            latest.submit(0)
            latest.submit(1)
            release.set()

        thread = from_another_thread(drag)
        await until(lambda: bool(seen) and seen[-1] == 1)
        thread.join()

    asyncio.run(scenario())
    assert release.is_set()
    assert seen[-1] == 1


def test_a_value_that_arrives_during_the_work_is_not_lost() -> None:
    seen: list[int] = []

    async def scenario() -> None:
        def draw(value: int) -> None:
            if value == 0:
                thread = from_another_thread(lambda: latest.submit(1))
                thread.join()
            seen.append(value)

        latest = Latest(draw, on_error=fail)
        latest.submit(0)
        await until(lambda: len(seen) == 2)

    asyncio.run(scenario())
    assert seen == [0, 1]


def test_none_is_a_value_like_any_other() -> None:
    seen: list[None] = []

    async def scenario() -> None:
        latest = Latest(seen.append, on_error=fail)
        latest.submit(None)
        await until(lambda: bool(seen))

    asyncio.run(scenario())
    assert seen == [None]


def test_an_error_is_reported_and_the_next_value_is_still_worked_on() -> None:
    seen: list[int] = []
    errors: list[Exception] = []

    def draw(value: int) -> None:
        if value < 0:
            raise ValueError(f"{value} mm is no thickness")
        seen.append(value)

    async def scenario() -> None:
        latest = Latest(draw, on_error=errors.append)
        latest.submit(-1)
        await until(lambda: bool(errors))
        latest.submit(1)
        await until(lambda: bool(seen))

    asyncio.run(scenario())
    assert [str(error) for error in errors] == ["-1 mm is no thickness"]
    assert seen == [1]


def test_with_no_loop_the_work_is_done_before_submit_returns() -> None:
    seen: list[int] = []
    errors: list[Exception] = []

    def draw(value: int) -> None:
        if value == 2:
            raise ValueError("two")
        seen.append(value)

    latest = Latest(draw, on_error=errors.append)
    for value in (1, 2, 3):
        latest.submit(value)
    assert seen == [1, 3]
    assert [str(error) for error in errors] == ["two"]


def test_with_no_loop_two_threads_are_never_in_the_work_together() -> None:
    inside = 0
    most = 0
    seen: list[int] = []

    def draw(value: int) -> None:
        nonlocal inside, most
        inside += 1
        most = max(most, inside)
        time.sleep(0.001)
        inside -= 1
        seen.append(value)

    latest = Latest(draw, on_error=fail)

    def drag() -> None:
        for value in range(20):
            latest.submit(value)

    threads = [from_another_thread(drag) for _ in range(4)]
    for thread in threads:
        thread.join()
    assert most == 1
    assert seen[-1] == 19


def test_built_inside_another_threads_loop_it_says_where_it_belongs() -> None:
    raised: list[str] = []

    async def build() -> None:
        with pytest.raises(RuntimeError) as caught:
            Latest(print, on_error=fail)
        raised.append(str(caught.value))

    thread = from_another_thread(lambda: asyncio.run(build()))
    thread.join()
    assert "main thread" in raised[0]


def test_a_press_takes_the_value_that_it_overtook_on_the_way() -> None:
    said, done = ["before the last move"], []

    async def scenario() -> None:
        latest: Latest[str] = Latest(done.append, on_error=fail)

        def page() -> None:
            latest.submit_soon(lambda: said[-1], seconds=0.1)  # the press arrives first
            said.append("the last move")

        from_another_thread(page).join()
        assert done == []
        await until(lambda: bool(done))

    asyncio.run(scenario())
    assert done == ["the last move"]


def test_a_press_is_worked_on_as_things_stood_though_the_main_thread_comes_late() -> None:
    said, done = ["at the press"], []

    async def scenario() -> None:
        latest: Latest[str] = Latest(done.append, on_error=fail)
        from_another_thread(lambda: latest.submit_soon(lambda: said[-1], seconds=0.02)).join()
        time.sleep(0.2)  # the main thread is busy with a turn
        said.append("long after the press")
        await until(lambda: bool(done))

    asyncio.run(scenario())
    assert done == ["at the press"]


def test_with_no_event_loop_a_press_is_worked_on_at_once() -> None:
    done: list[int] = []
    Latest(done.append, on_error=fail).submit_soon(lambda: 7)
    assert done == [7]
