"""The same design gives the same bytes, wherever and whenever it is exported.

Each run is a process of its own, in surroundings that differ from the first run's in all that a
machine may differ in and a builder would not think of: the seed of Python's hashes, language, time
zone, the permissions new files get, the folder it runs in, the processor's threads, and the day.
"""

import os
import subprocess
import sys
from functools import cache
from pathlib import Path
from typing import Any

import pytest

ROOT = Path(__file__).parents[2]

CALENDAR = """
import datetime, time

SHIFT = float({days}) * 86400
for name in ("time", "gmtime", "localtime", "strftime"):
    def shifted(*arguments, _call=getattr(time, name), _name=name):
        at = {{"time": 0, "strftime": 1}}.get(_name, 0)
        if _name == "time":
            return _call() + SHIFT
        if len(arguments) > at and arguments[at] is not None:
            return _call(*arguments)
        now = _time() + SHIFT
        return _call(now) if _name != "strftime" else _call(arguments[0], _localtime(now))
    if name == "time":
        _time, _localtime = time.time, time.localtime
    setattr(time, name, shifted)


class Datetime(datetime.datetime):
    @classmethod
    def now(cls, tz=None):
        return cls.fromtimestamp(time.time(), tz)

    @classmethod
    def utcnow(cls):
        return cls.utcfromtimestamp(time.time())

    @classmethod
    def today(cls):
        return cls.now()


class Date(datetime.date):
    @classmethod
    def today(cls):
        return cls.fromtimestamp(time.time())


datetime.datetime, datetime.date = Datetime, Date
"""
"""A ``sitecustomize``, which Python reads at its start: it moves the day."""

HERE: dict[str, Any] = {"seed": "0", "language": "C", "zone": "UTC", "umask": 0o022, "days": 0}
ELSEWHERE: list[dict[str, Any]] = [
    {**HERE, "seed": "1"},
    {**HERE, "seed": "12345", "language": "C.UTF-8", "zone": "Pacific/Kiritimati"},
    {**HERE, "seed": "random", "language": "de_DE.UTF-8", "umask": 0o077, "days": 1000},
    {**HERE, "days": -4000, "threads": "1"},
]
EXAMPLES = {  # with the chord error asked for
    "wren": "0.05 mm",  # a neck and its board
    "linnet": "0.1 mm",  # a flat body too
    "dipper": "0.1 mm",  # a hollow body, its top and its back carved
}


def exported(example: str, into: Path, **surroundings: Any) -> dict[str, bytes]:
    """Every file of an export by a process in such surroundings."""
    start = into / "start"
    start.mkdir(parents=True)
    (start / "sitecustomize.py").write_text(CALENDAR.format(days=surroundings["days"]))
    env = {
        **os.environ,
        "PYTHONPATH": os.pathsep.join((str(start), str(ROOT))),
        "PYTHONHASHSEED": surroundings["seed"],
        "LC_ALL": surroundings["language"],
        "TZ": surroundings["zone"],
    }
    if "threads" in surroundings:
        env |= {"OPENBLAS_NUM_THREADS": surroundings["threads"]}
    folder = into / "cut"
    arguments = [str(ROOT / "examples" / f"{example}.toml"), "--to", str(folder)]
    command = [sys.executable, "-m", "carve", "export", *arguments, "--even-so"]
    done = subprocess.run(
        [*command, "--chord-error", EXAMPLES[example]],
        cwd=start,
        env=env,
        umask=surroundings["umask"] if os.name == "posix" else -1,
        capture_output=True,
        text=True,
    )
    assert done.returncode in (0, 1), done.stderr
    return {path.name: path.read_bytes() for path in sorted(folder.iterdir())}


@pytest.fixture(scope="module")
def first(tmp_path_factory: pytest.TempPathFactory) -> Any:
    """The files of an example's first export, made once."""

    @cache
    def made(example: str) -> dict[str, bytes]:
        return exported(example, tmp_path_factory.mktemp(example), **HERE)

    return made


@pytest.mark.parametrize("surroundings", ELSEWHERE, ids=lambda s: f"seed {s['seed']}")
@pytest.mark.parametrize(
    "example",
    ["wren", *(pytest.param(name, marks=pytest.mark.slow) for name in EXAMPLES if name != "wren")],
)
def test_the_same_design_gives_the_same_bytes_everywhere(
    example: str, surroundings: dict[str, Any], first: Any, tmp_path: Path
) -> None:
    before, now = first(example), exported(example, tmp_path, **surroundings)
    assert {Path(name).suffix for name in before} >= {".stl", ".dxf", ".pdf", ".svg", ".json"}
    assert list(now) == list(before)
    assert [name for name in before if now[name] != before[name]] == []


def test_the_moved_day_is_the_day_that_programs_see(tmp_path: Path) -> None:
    # so that the test above could fail
    (tmp_path / "sitecustomize.py").write_text(CALENDAR.format(days=1000))
    code = "import time, datetime; print(time.time(), time.strftime('%Y'), datetime.datetime.now())"
    done = subprocess.run(
        [sys.executable, "-c", code],
        env={**os.environ, "PYTHONPATH": str(tmp_path)},
        capture_output=True,
        text=True,
        check=True,
    )
    import time

    seconds, year, day, _ = done.stdout.split()
    then = time.time() + 1000 * 86400
    assert float(seconds) == pytest.approx(then, abs=60)
    assert year == day[:4] == time.strftime("%Y", time.localtime(then))
