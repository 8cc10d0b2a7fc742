"""A drawing is read in time or refused in a sentence, whatever size somebody gave it.

Each of these took from a third of a minute to for ever before it was held.
"""

import time

import pytest

from carve.design.drawing import limits
from carve.design.drawing.chains import joined_chains
from carve.design.drawing.model import Chain
from carve.design.drawing.read import read_drawing
from carve.design.values.curve import straight

IN_TIME = 15.0  # s of the processor; every one of them is refused, or read, in a few

SVG = 'xmlns="http://www.w3.org/2000/svg"'


def svg(inside: str, page: str = 'width="500mm" height="500mm" viewBox="0 0 500 500"') -> bytes:
    return f"<svg {SVG} {page}>{inside}</svg>".encode()


def path(d: str, more: str = "") -> bytes:
    return svg(f'<path d="{d}" {more}/>')


CIRCLE = '<circle r="9"/>'

TOO_MUCH: dict[str, tuple[bytes, str]] = {
    "a width of 20,000 digits": (svg(CIRCLE, f'width="{"1" * 20_000} !"'), "40 digits"),
    "a radius of 20,000 digits": (svg(f'<circle r="{"1" * 20_000}"/>'), "40 digits"),
    "a coordinate of 20,000 digits": (path(f"M0 0 L{'1' * 20_000} 1"), "40 digits"),
    "transforms in transforms": (path("M0 0 1 1", f'transform="{"rotate(" * 10_000}"'), "50 trans"),
    "a thousand transforms": (
        path("M0 0 1 1", f'transform="{"scale(1)" * 1000}"'),
        "50 transforms",
    ),
    "a path of 9 MB": (path("M0 0" + " 1 1" * 2_250_000), "400000 coordinates"),
    "a path of letters": (path("M0 0" + "Z" * 9_000_000), "400000 coordinates"),
    "too many pieces": (
        path("M0 0" + "".join(f"L{n % 9} {n}" for n in range(60_000))),
        "50000 pieces",
    ),
    "a path used again and again": (
        svg(f'<path id="p" d="M0 0{"h1v1" * 9000}"/>' + '<use href="#p"/>' * 30),
        "400000 coordinates",
    ),
    "elements": (svg("<g/>" * 40_000), "30000 elements"),
    "a style sheet": (svg(f"<style>{'a' * 30_000}</style>{CIRCLE}"), "20000 characters"),
    "a style": (svg(f'<circle r="9" style="{"a:b;" * 9000}"/>'), "20000 characters"),
    "names of attributes": (
        svg('<circle r="9" ' + " ".join(f'n{n}="1"' for n in range(300)) + "/>"),
        "200 names",
    ),
    "lines of a DXF": (b"  0\nSECTION\n" + b"999\nx\n" * 400_000, "600000 lines"),
}


@pytest.mark.parametrize("kind", TOO_MUCH)
def test_too_much_of_anything_is_refused_in_one_sentence_and_in_time(kind: str) -> None:
    data, said = TOO_MUCH[kind]
    began = time.thread_time()
    with pytest.raises(ValueError, match=said) as caught:
        read_drawing(data)
    assert time.thread_time() - began < IN_TIME
    assert "\n" not in str(caught.value)
    assert len(str(caught.value)) < 250


def test_blanks_in_a_style_sheet_cost_no_time() -> None:
    began = time.thread_time()
    read_drawing(svg(f"<style>a{' ' * 19_000}b {{}}</style>{CIRCLE}"))
    assert time.thread_time() - began < IN_TIME


def test_a_long_remark_is_passed_by() -> None:
    assert read_drawing(svg(f'<circle r="9" data-note="{"x" * 200_000}"/>')).chains


def test_what_a_drawing_program_writes_is_within_the_limits() -> None:
    """Two thousand circles and a path of ten thousand points: more than any full-size plan."""
    circles = "".join(f'<circle cx="{n % 50}" cy="{n // 50}" r="0.4"/>' for n in range(1500))
    outline = "".join(f"L{n * 0.05:.17f} {n % 7:.17f}" for n in range(10_000))
    assert len(read_drawing(svg(f'<path d="M0 0{outline}"/>{circles}')).chains) == 1501


def test_time_runs_out_with_a_sentence(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(limits, "MOST_SECONDS", -1.0)
    for data in (svg(CIRCLE), b"  0\nSECTION\n  2\nHEADER\n  0\nENDSEC\n  0\nEOF\n"):
        with pytest.raises(ValueError, match="takes longer than"):
            read_drawing(data)


def test_ten_thousand_open_lines_are_looked_through_in_time() -> None:
    lines = [Chain((), (), (straight((n, 0.0), (n, 0.4)),)) for n in range(20_000)]
    began = time.thread_time()
    joined = joined_chains(lines, 0.1)
    assert time.thread_time() - began < IN_TIME
    assert len(joined.open) == 20_000
    assert joined.open[5].away == pytest.approx((0.4, 0.4))


def test_ends_that_all_meet_in_one_place_are_refused() -> None:
    lines = [Chain((), (), (straight((0.0, 0.0), (n + 1.0, n + 1.0)),)) for n in range(3000)]
    with pytest.raises(ValueError, match="pairs of ends"):
        joined_chains(lines, 0.1)
