"""Every cache that lasts from one turn of a dial to the next, in one place.

What is kept hangs on the values it was made from and on nothing else, so the way a dial came
never shows in what is made (``tests/parts/test_turns_of_a_dial.py``).
"""

from collections.abc import Callable, Hashable
from functools import lru_cache, partial, wraps
from typing import Any, Concatenate, ParamSpec, TypeVar, cast

from carve.design.schema.design import Design
from carve.parts.reads import DesignReads

P = ParamSpec("P")
T = TypeVar("T")
G = TypeVar("G", bound=Hashable)

KEPT = 16
"""Results kept of each function: some turns back of a dial, and a part at two chord errors."""

GROUPS = 512
"""Groups of which ``kept_each`` keeps results: more than an instrument has parts and checks."""

_FORGET: list[Callable[[], None]] = []


def kept(make: Callable[P, T]) -> Callable[P, T]:
    """A function of hashable values that remembers its last ``KEPT`` results."""
    return kept_many(KEPT)(make)


def kept_many(size: int) -> Callable[[Callable[P, T]], Callable[P, T]]:
    """The same, for a function of which more results are asked for in one turn."""

    def remembering(make: Callable[P, T]) -> Callable[P, T]:
        cached = lru_cache(maxsize=size)(make)
        _FORGET.append(cached.cache_clear)

        @wraps(make)
        def wrapped(*values: P.args, **named: P.kwargs) -> T:
            return cached(*values, **named)  # type: ignore[arg-type]

        return wrapped

    return remembering


def kept_each(
    size: int,
) -> Callable[[Callable[Concatenate[G, P], T]], Callable[Concatenate[G, P], T]]:
    """The same, but the last ``size`` results are kept for each first argument by itself.

    So a drag at one part's dial pushes out no result of another part, however many there are, and
    no more than ``size`` meshes of one part are ever held.
    """

    def remembering(make: Callable[Concatenate[G, P], T]) -> Callable[Concatenate[G, P], T]:
        @lru_cache(maxsize=GROUPS)
        def group(first: G) -> Callable[P, T]:
            return cast(Callable[P, T], lru_cache(maxsize=size)(partial(make, first)))

        _FORGET.append(group.cache_clear)

        @wraps(make)
        def wrapped(first: G, *values: P.args, **named: P.kwargs) -> T:
            return group(first)(*values, **named)

        return cast(Callable[Concatenate[G, P], T], wrapped)

    return remembering


T_hashable = TypeVar("T_hashable", bound=Hashable)


@kept
def first_equal(value: T_hashable) -> T_hashable:
    """The first of all equal values, with what has been worked out of it already."""
    return value


def forget_all() -> None:
    """Forget everything, so that the next turn starts as a new process does."""
    for forget in _FORGET:
        forget()


class LastMade:
    """What functions of a design made last, made again only where what it hangs on has changed.

    For what is shown of one part: unlike ``kept`` it holds one result of each function, and goes
    when its owner does.
    """

    def __init__(self) -> None:
        self._made: dict[Callable[..., Any], tuple[tuple[Any, ...], DesignReads, Any]] = {}

    def get(self, make: Callable[..., T], design: Design, *given: Any) -> T:
        """``make(design, *given)``, or what that gave the last time.

        It is still the same where ``given`` are the same (a part is, unless it has been made anew)
        and so is everything that ``make`` read of the design.
        """
        before = self._made.get(make)
        if before is not None and before[0] == given and before[1].same_in(design):
            return cast(T, before[2])
        reads = DesignReads(design)
        made = make(reads.design, *given)
        self._made[make] = given, reads, made
        return made
