"""One thing that is tried many times: what each try comes to, and what is counted."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal, NamedTuple

Verdict = Literal["held", "refused", "wrong"]
"""``held``: as claimed. ``refused``: the input was no valid one, and that was said. ``wrong``: not
as claimed."""


class Outcome(NamedTuple):
    """How one try came out. said: what is wrong, or why it was refused, in a line."""

    verdict: Verdict
    said: str = ""


@dataclass(frozen=True)
class Trial:
    """Something that holds for every number.

    name: what is counted, such as "designs". claim: what holds for each, in a sentence. count: how
    many are tried where nobody says otherwise. once: tries number n, which alone decides what is
    tried; it is sent to other processes, so it stands at the top of its module.
    """

    name: str
    claim: str
    count: int
    once: Callable[[int], Outcome]
