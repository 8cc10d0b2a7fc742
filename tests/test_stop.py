"""A request to stop ends the program with one word, wherever it comes, and leaves nothing half.

Exit statuses are 128 and the signal's number, as shells have it (POSIX, Shell Command Language,
exit status for commands).
"""

import os
import signal
import subprocess
import sys
import threading
from collections.abc import Callable
from pathlib import Path

import pytest

from carve.stop import STOP_SIGNALS, held

pytestmark = pytest.mark.skipif(os.name != "posix", reason="signals as POSIX has them")

ROOT = Path(__file__).parents[1]
WREN = ROOT / "examples" / "wren.toml"
STATUSES = {signal.SIGINT: 130, signal.SIGTERM: 143, signal.SIGHUP: 129}

SLOW = """
import pathlib, time

def say(word):
    print(word, flush=True)
    time.sleep(60)
"""

# where it is while the request comes: what Python reads in place of the module of that name
WITHIN_AN_IMPORT = {"numpy": SLOW + "say('now')"}
WITHIN_A_FAILING_IMPORT = {
    "numpy": SLOW + "try:\n    say('now')\nexcept BaseException:\n    raise ImportError('no numpy')"
}
AT_THE_END = {"sitecustomize": SLOW + "import atexit\natexit.register(say, 'now')"}
WITHIN_A_FINALIZER = {
    "sitecustomize": SLOW + "class Slow:\n    def __del__(self): say('now')\n"
    "import builtins\nbuiltins.slow = Slow()\nimport atexit\n"
    "atexit.register(lambda: delattr(builtins, 'slow'))"
}


def program(
    *arguments: str, instead: dict[str, str], into: Path, before: Callable[[], object]
) -> subprocess.Popen[str]:
    """The program with some modules replaced, when it has printed the word ``now``."""
    into.mkdir()
    for name, text in instead.items():
        (into / f"{name}.py").write_text(text)
    process = subprocess.Popen(
        [sys.executable, "-m", "carve", *arguments],
        env={**os.environ, "PYTHONPATH": os.pathsep.join((str(into), str(ROOT)))},
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        preexec_fn=before,
    )
    assert process.stdout is not None
    for line in process.stdout:
        if line == "now\n":
            return process
    pytest.fail(f"ended early: {process.communicate()[1]}")


def heard() -> None:
    """As a shell starts a program that it waits for, whatever this test was started by."""
    for number in STOP_SIGNALS:
        signal.signal(number, signal.SIG_DFL)


@pytest.mark.parametrize("number", STATUSES, ids=lambda number: number.name)
@pytest.mark.parametrize(
    "instead",
    [WITHIN_AN_IMPORT, WITHIN_A_FAILING_IMPORT, AT_THE_END, WITHIN_A_FINALIZER],
    ids=["within an import", "within an import that fails", "at the end", "within a finalizer"],
)
def test_a_request_to_stop_ends_the_program_with_one_word(
    instead: dict[str, str], number: signal.Signals, tmp_path: Path
) -> None:
    cut = tmp_path / "cut"
    arguments = ["keys"] if "numpy" not in instead else ["export", str(WREN), "--to", str(cut)]
    process = program(*arguments, instead=instead, into=tmp_path / "instead", before=heard)
    process.send_signal(number)
    _, errors = process.communicate(timeout=30)
    assert (process.returncode, errors) == (STATUSES[number], "stopped\n")
    assert not cut.exists()


def test_what_whoever_started_us_ignores_stays_ignored(tmp_path: Path) -> None:
    # as nohup does, so that a closed terminal ends nothing
    def deaf() -> None:
        signal.signal(signal.SIGHUP, signal.SIG_IGN)

    instead = {"numpy": SLOW.replace("60", "2") + "say('now')\nraise SystemExit(7)"}
    process = program("check", str(WREN), instead=instead, into=tmp_path / "instead", before=deaf)
    process.send_signal(signal.SIGHUP)
    assert process.communicate(timeout=30)[1] == ""
    assert process.returncode == 7


def test_a_held_request_is_made_again_at_the_end() -> None:
    came: list[int] = []
    before = signal.signal(signal.SIGTERM, lambda number, _: came.append(number))
    try:
        with held() as asked:
            signal.raise_signal(signal.SIGTERM)
            signal.raise_signal(signal.SIGTERM)
            assert asked == [signal.SIGTERM, signal.SIGTERM]
            assert came == []
        assert came == [signal.SIGTERM]
        signal.raise_signal(signal.SIGTERM)
        assert came == [signal.SIGTERM, signal.SIGTERM]
    finally:
        signal.signal(signal.SIGTERM, before)


def test_ctrl_c_within_a_held_block_is_ctrl_c_at_its_end() -> None:
    reached: list[bool] = []

    def block() -> None:
        with held():
            signal.raise_signal(signal.SIGINT)
            reached.append(True)

    with pytest.raises(KeyboardInterrupt):
        block()
    assert reached == [True]
    assert signal.getsignal(signal.SIGINT) is signal.default_int_handler


def test_a_thread_that_hears_of_no_request_has_none_to_hold() -> None:
    found: list[object] = []

    def run() -> None:
        with held() as asked:
            found.append((asked, signal.getsignal(signal.SIGINT)))

    before = signal.getsignal(signal.SIGINT)
    thread = threading.Thread(target=run)
    thread.start()
    thread.join()
    assert found == [([], before)]
