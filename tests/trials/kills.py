"""An export is killed at some moment; then the next export puts the folder right.

The exports are real ones, by the program, of a set with fewer files than the one it replaces. A
try's number decides what is in the folder, when the signal comes and which one.
"""

import os
import signal
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from functools import cache
from pathlib import Path
from random import Random
from typing import NamedTuple

from carve.design import load
from carve.errors import ExportRefused
from carve.export import export
from carve.export.staging import NAME, NOTICE
from carve.parts.job import Job, make
from trials.trial import Outcome, Trial

ROOT = Path(__file__).parents[2]
CHORD = 0.5  # mm; coarse, so that most of the time is not spent on meshes
WHOLE = 3.0  # s; a whole run takes less, but on a busy machine
WRITING = 0.35  # s from the hidden folder's appearing to the end
PLACING = 0.03  # s from the note's appearing to its end

Contents = dict[str, bytes]


class Plan(NamedTuple):
    """What a try does. earlier: what is in the folder first. foreign: files of the builder's.

    watched: whose appearing is waited for, None for the start. delay: s from then to the signal.
    """

    earlier: Contents
    foreign: Contents
    watched: str | None
    delay: float
    number: signal.Signals
    again: bool


@cache
def job_of(example: str) -> Job:
    """The job of an example, made once a process."""
    return make(load(ROOT / "examples" / f"{example}.toml"), CHORD)


def put(example: str, folder: Path, *, overwrite: bool) -> None:
    """Export an example, in this process, as a file called set.toml would be."""
    text = (ROOT / "examples" / f"{example}.toml").read_text(encoding="utf-8")
    job = job_of(example)
    export(job, folder, ("set.toml", text), overwrite=overwrite, allow_failed=True)


@cache
def set_of(example: str) -> Contents:
    """The files of an example's set."""
    with tempfile.TemporaryDirectory() as name:
        put(example, Path(name) / "set", overwrite=False)
        return contents(Path(name) / "set")


def contents(folder: Path) -> Contents:
    """All files of a folder and below, by their names in it."""
    return {
        str(path.relative_to(folder)): path.read_bytes()
        for path in sorted(folder.rglob("*"))
        if path.is_file()
    }


def planned(number: int) -> Plan:
    """The plan of a try."""
    dice = Random(number)
    earlier = set_of("linnet") if dice.random() < 0.8 else {}
    foreign = {"notes.txt": b"mine", "set-of-mine.stl": b"too"} if dice.random() < 0.5 else {}
    if earlier and dice.random() < 0.3:  # one that the new set has not, changed by the builder
        foreign["set-body-from-above.svg"] = b"drawn over"
    watched, longest = dice.choices(
        [(None, WHOLE), (NAME, WRITING), (NOTICE, PLACING)], weights=[2, 4, 4]
    )[0]
    stop = dice.choices([signal.SIGKILL, signal.SIGTERM, signal.SIGINT], weights=[8, 1, 1])[0]
    return Plan(
        earlier, foreign, watched, dice.uniform(0, longest), stop, again=dice.random() < 0.7
    )


def heed() -> None:
    """Let Ctrl-C be heard, also where all this was started in a shell's background."""
    signal.signal(signal.SIGINT, signal.SIG_DFL)


def killed(plan: Plan, top: Path, folder: Path) -> tuple[int, str]:
    """Start an export over the folder and send the signal. Returns its status and its errors."""
    design = top / "set.toml"
    design.write_bytes((ROOT / "examples" / "wren.toml").read_bytes())
    asked = ["export", str(design), "--to", str(folder), "--overwrite", "--even-so"]
    process = subprocess.Popen(
        [sys.executable, "-m", "carve", *asked, "--chord-error", f"{CHORD} mm"],
        stdout=subprocess.DEVNULL,
        stderr=subprocess.PIPE,
        text=True,
        cwd=top,
        env={**os.environ, "PYTHONPATH": str(ROOT)},
        preexec_fn=heed,
    )
    ended: Callable[[], bool] = lambda: process.poll() is not None  # noqa: E731
    if plan.watched is not None:
        while not (folder / plan.watched).exists() and not ended():
            time.sleep(0.0005)
    due = time.monotonic() + plan.delay
    while time.monotonic() < due and not ended():
        time.sleep(0.0005)
    process.send_signal(plan.number)
    _, errors = process.communicate()
    return process.returncode, errors


def state_of(folder: Path) -> str:
    """What the signal left, in words."""
    there = contents(folder) if folder.exists() else {}
    new = there.get("set-manifest.json") == set_of("wren")["set-manifest.json"]
    told = "marked" if NOTICE in there else "new" if new else "old"
    return f"{told}, with a hidden folder" if (folder / NAME).exists() else told


def left_by(plan: Plan, folder: Path, status: int, errors: str) -> str:
    """What is wrong in the folder, or with what was said, after the signal; "" where nothing is."""
    there = contents(folder) if folder.exists() else {}
    ours = {name: data for name, data in there.items() if name not in plan.foreign}
    if {name: there.get(name) for name in plan.foreign} != plan.foreign:
        return "a file of the builder's was touched"
    hidden = [name for name in ours if name.startswith(NAME)]
    visible = {name: data for name, data in ours.items() if name not in hidden}
    old = {name: data for name, data in plan.earlier.items() if name not in plan.foreign}
    whole = visible in (old, set_of("wren"))
    if plan.number == signal.SIGKILL:
        return "" if whole or NOTICE in visible else "mixed, and not marked"
    if not whole or hidden:
        return f"stopped politely, and left {'leftovers' if whole else 'a mixed set'}"
    stopped = [(128 + plan.number, "stopped\n"), (-plan.number, "")]  # or before Python began
    if (status, errors) not in (*stopped, (0, ""), (1, "")):
        return f"ended with {status} and said {errors[-200:]!r}"
    return ""


def put_right(plan: Plan, folder: Path) -> str:
    """What is wrong after the next export; "" where nothing is."""
    old = {**plan.earlier, **plan.foreign}
    allowed = [{**set_of("wren"), **plan.foreign}]
    try:
        put("wren", folder, overwrite=plan.again)
    except ExportRefused as error:
        if plan.again or "already there" not in str(error):
            return f"the next export was refused: {error}"
        allowed.append(old)
    there = contents(folder)
    if there not in allowed:
        odd = sorted(set(there) ^ set(allowed[0]))
        return f"after the next export the folder holds no whole set: {odd[:6]}"
    folders = [path.name for path in folder.iterdir() if path.is_dir()]
    return f"the next export left {folders}" if folders else ""


def once(number: int) -> Outcome:
    """One export killed and put right."""
    plan = planned(number)
    with tempfile.TemporaryDirectory(prefix="carve-kills-") as name:
        top = Path(name)
        folder = top / "cut"
        if plan.earlier or plan.foreign:
            folder.mkdir()
        for file, data in {**plan.earlier, **plan.foreign}.items():
            (folder / file).write_bytes(data)
        status, errors = killed(plan, top, folder)
        state = state_of(folder)
        wrong = left_by(plan, folder, status, errors) or put_right(plan, folder)
    if wrong:
        when = f"{plan.number.name} {plan.delay:.4f} s after {plan.watched or 'its start'}"
        return Outcome("wrong", f"{wrong} ({when}, {len(plan.earlier)} old files)")
    return Outcome("held", state)


TRIAL = Trial(
    "kills",
    "Whenever an export is killed, the folder holds the old set whole, the new one whole, or a "
    "note that forbids to cut; after the next export one set is whole and nothing else is left.",
    500,
    once,
)
