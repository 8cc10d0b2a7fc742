"""Everything that can be said to a builder when something is wrong.

Each message is one plain sentence, fit for the screen as it stands::

    CarveError
    ├── DesignError     the design file is wrong: one sentence a problem
    ├── ShapeError      a shape cannot be: one value a problem; ``carve.parts.job`` makes a
    │                   DesignError of it, so no builder ever reads its own text
    ├── OutsidePart     a place was asked for that the part does not reach
    ├── SolidError      a closed mesh could not be made
    ├── ExportRefused   something stands against it
    │   ├── FileInTheWay    a file that nobody said to replace
    │   └── FindingFailed   a finding fails
    └── FileTrouble     the disk, a folder or a permission said no
"""

import re
from collections import defaultdict
from collections.abc import Callable, Hashable, Sequence
from dataclasses import dataclass
from itertools import chain, islice, zip_longest
from typing import TypeVar

T = TypeVar("T")


MOST_OF_A_KIND, MOST_TOLD = 10, 12  # sentences


class CarveError(Exception):
    """Base of all errors whose text is meant for the builder."""


class DesignError(CarveError):
    """The design file is wrong.

    problems: one sentence each, every one beginning with the key it speaks of. left_out: how many
    more there are that nobody said. The text lists ten sentences of a kind and twelve in all, which
    is what a screen shows and a builder mends before reading the file again.
    """

    def __init__(self, problems: Sequence[str], left_out: int = 0) -> None:
        self.problems = tuple(problems)
        shown = first_of_each(self.problems, _kind)
        more = len(self.problems) - len(shown) + left_out
        super().__init__("\n".join([*shown, *([f"and {more} more"] if more else [])]))


@dataclass(frozen=True)
class Problem:
    """One thing that is wrong with a shape, in values: lengths in mm, angles in radians.

    Every kind of problem is a subclass, defined in ``problems.py`` beside the shapes that find
    it. What it is called in the design file, and in which unit it is told, it does not know: the
    sentence to it is written in ``carve/parts/sentences``.
    """


class ShapeError(CarveError):
    """What the design asks for cannot be shaped.

    problems: one value each, at least one.
    """

    def __init__(self, *problems: Problem) -> None:
        self.problems = problems
        super().__init__(f"there is no such shape: {'; '.join(map(repr, problems))}")


class OutsidePart(CarveError):  # noqa: N818  a place, not a malfunction
    """A place was asked for that the part does not reach."""


class SolidError(CarveError):
    """A closed, clean mesh could not be made."""


class ExportRefused(CarveError):  # noqa: N818  the tool did as it should
    """Nothing was written: something stands against it."""


class FileInTheWay(ExportRefused):
    """Nothing was written: a file is there already, and nobody said to replace it."""


class FindingFailed(ExportRefused):
    """Nothing was written: a part fails a finding, and nobody said to export it even so."""


class FileTrouble(CarveError):  # noqa: N818
    """The operating system would not read or write."""


def because(trouble: OSError) -> str:
    """What the operating system said, without its number and path."""
    return (trouble.strerror or str(trouble)).lower()


def first_of_each(items: Sequence[T], kind: Callable[[T], Hashable]) -> list[T]:
    """As many items as a builder is told at once, some of every kind, in the order they have.

    kind: of one item.
    """
    if len(items) <= 1:
        return list(items)
    kinds: dict[Hashable, list[int]] = defaultdict(list)
    for number, item in enumerate(items):
        kinds[kind(item)].append(number)
    some = (numbers[:MOST_OF_A_KIND] for numbers in kinds.values())
    in_turn = chain.from_iterable(zip_longest(*some))  # one of each kind, then a second of each
    chosen = islice((number for number in in_turn if number is not None), MOST_TOLD)
    return [items[number] for number in sorted(chosen)]


_FIGURES = re.compile(r"\d+")


def _kind(sentence: str) -> str:
    """What sentences about entries of one list have in common."""
    return _FIGURES.sub("", sentence.partition(":")[0])
