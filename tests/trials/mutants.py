"""Damaged design files and drawings: whatever stands in one, the answer is findings or sentences.

A try takes an example, or one of the drawings beside them, does a few things to it that slips,
broken disks and odd programs do, and asks ``carve check`` for its findings.
"""

import io
import random
import re
import shutil
import signal
import tempfile
import time
import traceback
from collections.abc import Callable, Iterator
from contextlib import contextmanager, redirect_stderr, redirect_stdout
from pathlib import Path
from types import FrameType

from carve.cli import main
from trials.trial import Outcome, Trial

EXAMPLES = Path(__file__).parents[2] / "examples"
DESIGNS = sorted(EXAMPLES.glob("*.toml"))
DRAWN = [design for design in DESIGNS if 'file = "outlines/' in design.read_text(encoding="utf-8")]

LONGEST = 30.0  # s of the processor that one may take
LONGEST_WAIT = 600.0  # s by the clock, after which it hangs; a machine may have much else to do
MOST_LINES, LONGEST_LINE = 13, 400  # of what a refusal says
FOREIGN = re.compile(  # how a library or Python itself says what it stumbled over
    r"Traceback|Error\b|Exception|Warning:|linearring|linestring|geometry|numpy|shapely|ezdxf"
    r"|tomllib|pydantic|invalid literal|could not convert|out of range|not subscriptable|NoneType"
    r"|unexpected (?:keyword|EOF)|object has|cannot unpack|array|codec|surrogate|validation",
    re.IGNORECASE,
)


class Hangs(BaseException):
    """What nobody in between takes for an error that can be mended."""


LARGE = 8_000_000  # bytes that a damage adds at most

Damage = Callable[[random.Random, bytes], bytes]


def once(number: int) -> Outcome:
    """Damage one file and check it."""
    dice = random.Random(number)
    with tempfile.TemporaryDirectory(prefix="carve-mutant-") as scratch:
        folder = Path(scratch)
        of_drawing = dice.random() < 0.4
        design = dice.choice(DRAWN if of_drawing else DESIGNS)
        shutil.copytree(EXAMPLES / "outlines", folder / "outlines")
        file = Path(shutil.copy(design, folder / "design.toml"))
        if of_drawing:
            name = re.search(r'file = "(outlines/[^"]+)"', file.read_text(encoding="utf-8"))
            assert name is not None
            damaged = folder / name[1]
        else:
            damaged = file
        data = damaged.read_bytes()
        for _ in range(dice.choice((1, 1, 1, 2, 3))):
            if not data:
                break
            data = dice.choice(_damages(damaged.suffix))(dice, data)
        damaged.write_bytes(data)
        outcome = judged(["check", str(file)])
    return Outcome(outcome.verdict, f"{design.name}, {damaged.name}: {outcome.said}")


def judged(arguments: list[str]) -> Outcome:
    """How a command answers to a file that may be wrong."""
    out, err = io.StringIO(), io.StringIO()
    began = time.process_time()
    try:
        with _waited(), redirect_stdout(out), redirect_stderr(err):
            status = main(arguments)
    except (Exception, Hangs) as error:
        where = traceback.extract_tb(error.__traceback__)[-1]
        return Outcome(
            "wrong",
            f"{type(error).__name__} {str(error)[:200]!r} at {where.filename}:{where.lineno}",
        )
    took = time.process_time() - began
    lines = err.getvalue().splitlines()
    if took > LONGEST:
        return Outcome("wrong", f"took {took:.0f} s of the processor")
    if status not in (0, 1, 2):
        return Outcome("wrong", f"ended with status {status}")
    if status != 2:
        return Outcome("wrong" if lines else "held", lines[0][:300] if lines else "")
    if not lines or len(lines) > MOST_LINES:
        return Outcome("wrong", f"says {len(lines)} lines")
    for line in lines:
        unquoted = re.sub(r""""[^"]*"|'[^']*'""", "", line)
        if len(line) > LONGEST_LINE or FOREIGN.search(unquoted) or not line.isprintable():
            return Outcome("wrong", f"says {line[:LONGEST_LINE]!r} of {len(line)}")
    return Outcome("refused", lines[0])


@contextmanager
def _waited() -> Iterator[None]:
    """Whatever hangs in here ends in Hangs."""

    def stop(_number: int, _frame: FrameType | None) -> None:
        raise Hangs(f"after {LONGEST_WAIT:g} s")

    before = signal.signal(signal.SIGALRM, stop)
    signal.setitimer(signal.ITIMER_REAL, LONGEST_WAIT)
    try:
        yield
    finally:
        signal.setitimer(signal.ITIMER_REAL, 0)
        signal.signal(signal.SIGALRM, before)


# What happens to files of any sort


def _flip(dice: random.Random, data: bytes) -> bytes:
    """Some bytes are others."""
    changed = bytearray(data)
    for _ in range(dice.randint(1, 8)):
        changed[dice.randrange(len(changed))] = dice.randrange(256)
    return bytes(changed)


def _cut_out(dice: random.Random, data: bytes) -> bytes:
    start, end = _stretch(dice, data)
    return data[:start] + data[end:]


def _break_off(dice: random.Random, data: bytes) -> bytes:
    return data[: dice.randrange(len(data))]


def _double(dice: random.Random, data: bytes) -> bytes:
    start, end = _stretch(dice, data)
    times = dice.choice((1, 1, 2, 10, 300))
    return data[:end] + data[start:end] * times + data[end:]


def _odd_bytes(dice: random.Random, data: bytes) -> bytes:
    at = dice.randrange(len(data))
    odd = dice.choice(
        (b"\xff\xfe", b"\0", b"\x1b[31m", b"\xc3\x28", "\u2028\u202e\u00e9".encode(), b"\r")
    )
    return data[:at] + odd * dice.choice((1, 1, 5000)) + data[at:]


def _encoded(dice: random.Random, data: bytes) -> bytes:
    encoding = dice.choice(("utf-16", "utf-16-be", "utf-32", "utf-8-sig", "cp500", "latin-1"))
    return data.decode("utf-8", errors="replace").encode(encoding, errors="replace")


def _other_number(dice: random.Random, data: bytes) -> bytes:
    """A number is another one, or none."""
    return _replaced(dice, data, rb"-?\d+(?:\.\d+)?", dice.choice(_NUMBERS))


def _long_word(dice: random.Random, data: bytes) -> bytes:
    return _replaced(
        dice, data, rb"[A-Za-z_]{2,}", dice.choice((b"x", b"1", b"A.", b"((")) * 20_000
    )


def _other_word(dice: random.Random, data: bytes) -> bytes:
    return _replaced(
        dice, data, rb"[A-Za-z_]{2,}", dice.choice(re.findall(rb"[A-Za-z_]{2,}", data) or [b"a"])
    )


_NUMBERS = (
    *(b"0", b"-1", b"1e-9", b"1e300", b"-1e300", b"1e999", b"nan", b"inf", b"-inf", b"0.5"),
    *(b"9" * 300, b"9" * 5000, b"1" * 20_000, b"0x" + b"f" * 400, b"0.0001", b"1500", b"1000000"),
    *(b'"1/0 in"', b'""', b"true", b"[]", b"[[1, 2]]", b"{}", b"2024-01-31", b"'fret 0'", b"-0.0"),
)

# What happens to design files


def _take_line(dice: random.Random, data: bytes) -> bytes:
    lines = data.split(b"\n")
    del lines[dice.randrange(len(lines))]
    return b"\n".join(lines)


def _twice_a_line(dice: random.Random, data: bytes) -> bytes:
    lines = data.split(b"\n")
    line = dice.choice(lines)
    lines[dice.randrange(len(lines)) : 0] = [line] * dice.choice((1, 1, 200))
    return b"\n".join(lines)


def _misspelt(dice: random.Random, data: bytes) -> bytes:
    """A key has a letter less, or two changed round."""
    keys = list(re.finditer(rb"(?m)^([a-z_]{2,}) *=", data))
    if not keys:
        return data
    found = dice.choice(keys)
    key = bytearray(found[1])
    at = dice.randrange(len(key) - 1)
    key[at : at + 2] = dice.choice((key[at : at + 1], bytes(reversed(key[at : at + 2])), b"zz"))
    return data[: found.start(1)] + bytes(key) + data[found.end(1) :]


def _other_value(dice: random.Random, data: bytes) -> bytes:
    return _replaced(dice, data, rb"(?<== )[^\n]+", dice.choice((*_NUMBERS, *_VALUES)))


def _moved_number(dice: random.Random, data: bytes) -> bytes:
    """A number is a little, or a good deal, more or less: within its range and at the ends."""

    def other(found: re.Match[bytes]) -> bytes:
        return (
            f"{float(found[0]) * dice.choice((0.5, 0.9, 0.99, 1.01, 1.1, 2, 5, -1)):.6g}".encode()
        )

    numbers = list(re.finditer(rb"(?<== )\d+(?:\.\d+)?", data))
    for found in sorted(
        dice.sample(numbers, min(len(numbers), dice.randint(1, 4))), key=lambda f: -f.start()
    ):
        data = data[: found.start()] + other(found) + data[found.end() :]
    return data


def _added(dice: random.Random, data: bytes) -> bytes:
    """Something stands there that nobody asked for."""
    return data + b"\n" + dice.choice(_MORE)


_VALUES = (
    *(b"[" * 500, b"{a=" * 200, b"[" + b"1," * 6000 + b"]", b"'" + b"x" * 5000 + b"'"),
    *(b'"C"', b'"drawing"', b'"heel"', b'"through"', b'"fret 12"', b'"nut"', b'"in"', b'"left"'),
    *(b"[1, 2, 3]", b'["a", "b"]', b"{ shoulder = 2, keel = nan }", b'{ nut = 1, heel = "flat" }'),
    b"[[0, 0], [100, 0], [200, 0]]",
)
_MORE = (
    b"[nonsense]\na = 1",
    b"[[neck.stations]]\nat = 1\n" * 300,
    b"a = " + b"[" * 2000,
    b".".join([b"a"] * 50_000) + b" = 1",
    b"\n".join(b"key%d = 1" % n for n in range(5000)),
    b"\n".join(b"[limits.t%d]" % n for n in range(300)),
    b'[[body.pockets]]\nname = "p"\nbad = 1\n' * 199,
    b"#" * 2_000_000,
)

# What happens to drawings


def _many(dice: random.Random, data: bytes) -> bytes:
    """One element of an SVG is there very often."""
    elements = list(re.finditer(rb"<(?:path|g|circle|rect|line)\b[^>]*>", data))
    if not elements:
        return _double(dice, data)
    found = dice.choice(elements)
    return (
        data[: found.start()]
        + found[0] * min(dice.choice((50, 300, 40_000)), 1 + LARGE // len(found[0]))
        + data[found.start() :]
    )


def _attribute(dice: random.Random, data: bytes) -> bytes:
    """An SVG's attribute is something else."""
    named = list(re.finditer(rb'([a-zA-Z:]+)="([^"]*)"', data))
    if not named:
        return _flip(dice, data)
    found = dice.choice(named)
    return data[: found.start(2)] + dice.choice(_ATTRIBUTES) + data[found.end(2) :]


def _tag_value(dice: random.Random, data: bytes) -> bytes:
    """A line of a DXF is something else: a group code or a value."""
    lines = data.split(b"\n")
    lines[dice.randrange(len(lines))] = dice.choice(
        (
            b"\xff\xfe",
            b"",
            b"-1",
            b"1e300",
            b"nan",
            b"9" * 5000,
            b"SPLINE",
            b"ENDSEC",
            b"x" * 20_000,
            b" 70",
            b"0",
        )
    )
    return b"\n".join(lines)


_ATTRIBUTES = (
    *(
        b"M0 0 L200 0 Z",
        b"M0 0 C50 0 100 0 200 0 C100 0 50 0 0 0 Z",
        b"M0 0 L9 9 L9 0 L0 9 Z",
        b"M5 5 Z",
    ),
    *(b"", b"1" * 20_000, b"rotate(" * 10_000, b"rotate(9)" * 60, b"M0 0" + b" 1 1" * 400_000),
    *(b"M0 0 L nan inf", b"scale(0)", b"matrix(1e300 0 0 1e300 0 0)", b"skewX(90)", b"1e300mm"),
    *(b"0 0 0 0", b"0 0 1e9 1e9", b"M 0 0 A 0 0 0 1 1 5 5", b"M0 0 10 0 20 0Z", b"display:none"),
    *(
        b"100%",
        b"-5mm",
        b"5furlongs",
        b"none",
        b"#" * 30,
        b"a:b;" * 4000,
        b"Z" * 100_000,
        b"M" * 9000,
    ),
)

_ANY: tuple[Damage, ...] = (
    *(
        _flip,
        _cut_out,
        _break_off,
        _double,
        _odd_bytes,
        _encoded,
        _other_number,
        _long_word,
        _other_word,
    ),
)
_OF_DESIGNS: tuple[Damage, ...] = (
    *(
        _take_line,
        _twice_a_line,
        _misspelt,
        _other_value,
        _other_value,
        _moved_number,
        _moved_number,
        _added,
    ),
)


def _damages(suffix: str) -> tuple[Damage, ...]:
    if suffix == ".toml":
        return _ANY + _OF_DESIGNS
    more: tuple[Damage, ...] = (
        (_attribute, _attribute, _many) if suffix == ".svg" else (_tag_value, _tag_value)
    )
    return (*_ANY, *more, *more)


def _stretch(dice: random.Random, data: bytes) -> tuple[int, int]:
    start = dice.randrange(len(data))
    return start, min(len(data), start + dice.choice((1, 10, 100, 1000)))


def _replaced(dice: random.Random, data: bytes, pattern: bytes, by: bytes) -> bytes:
    """One thing that a pattern finds, chosen by dice, is another."""
    found = list(re.finditer(pattern, data))
    if not found:
        return data + by
    one = dice.choice(found)
    return data[: one.start()] + by + data[one.end() :]


TRIAL = Trial(
    name="mutants",
    claim="A damaged file ends in findings, or in a few sentences of our own, in time",
    count=2000,
    once=once,
)
