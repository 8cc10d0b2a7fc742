"""What stands in the lab, as one value: what the dials say, whether it can be made, what is shown.

What the dials say *is* the design. Where it cannot be made there is none, and nothing leaves the
house. The dials whose turns are the trouble are *held*: what is shown has them where they last
could be made, and follows all other dials.

A step takes a state and gives the next one; neither is ever changed, so states can be kept.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping
from dataclasses import dataclass, field, replace
from functools import cached_property
from pathlib import Path
from typing import Any

from carve.design import Design, parse, read_text, rewrite, value_at, with_values
from carve.design.io.dials import DialSpec, dials, dials_named
from carve.design.io.toml_file import rounding_of
from carve.design.values.units import show_number
from carve.errors import CarveError, DesignError
from carve.parts.job import Job, make, preview_chord

NOT_CURRENT = "Not the design on the dials"
MOST_HELD = 3  # dials that a sentence names

Turns = Mapping[str, Any]
"""What dials say, by key: mm for a length, else as the design holds it."""

Problems = tuple[str, ...]
"""Sentences, each beginning with a key where it is about one."""

Held = Mapping[str, Problems]
"""Dials by key, and what was wrong when they were tried where they stand."""


@dataclass(frozen=True, eq=False)
class Made:
    """A design that could be made.

    turns: what its dials say where that is not what the file said when it was opened. design: the
    two together. job: its parts, as fine as a picture needs.
    """

    turns: Turns
    design: Design
    job: Job


@dataclass(frozen=True, eq=False)
class LabState:
    """What the dials say, and what became of it.

    text: of the design file, as it was read or saved last. opened: the design that was read.
    rounded: gives what a file keeps of a key's value. turns: what the dials say where that is
    not what ``opened`` says. waiting: whether nobody has tried yet to make that. shown: the last
    that could be made, None where nothing could. held: the dials that stand elsewhere in what is
    shown, and why. problems: what is wrong with what the dials say, one sentence each.
    """

    text: str
    opened: Design
    rounded: Callable[[str, Any], Any]
    turns: Turns = field(default_factory=dict)
    waiting: bool = True
    shown: Made | None = None
    held: Held = field(default_factory=dict)
    problems: Problems = ()

    # --- steps

    def standing(self, turns: Turns) -> LabState:
        """With the dials standing so, and all others where the file has them.

        A number is taken as the file will keep it: what is shown, exported and saved is the same
        to the last digit.
        """
        said = {key: self.rounded(key, value) for key, value in turns.items()}
        changed = {
            key: value
            for key, value in said.items()
            if value != self.rounded(key, value_at(self.opened, key))
        }
        return self if changed == self.turns else replace(self, turns=changed, waiting=True)

    def turned(self, turns: Turns) -> LabState:
        """With some dials turned, and all others as they stand."""
        return self.standing({**self.turns, **turns})

    def settled(self) -> LabState:
        """With what the dials say made, or with what is wrong with it."""
        if not self.waiting:
            return self
        try:
            made = self._made(self.turns)
        except CarveError as error:
            problems = _problems(error)
            shown, held = self._nearest(problems)
        else:
            shown, held, problems = made, {}, ()
        return replace(self, waiting=False, shown=shown, held=held, problems=problems)

    def stopped(self, problem: str) -> LabState:
        """With something in the way that is no fault of the design's, in one sentence."""
        return replace(self, waiting=False, held={}, problems=(problem,))

    def saved(self, text: str) -> LabState:
        """With the file's text as it has been saved."""
        return replace(self, text=text)

    # --- what it says

    @property
    def made(self) -> Made | None:
        """What the dials say, None where that cannot be made or nobody has tried yet."""
        return None if self.waiting or self.problems else self.shown

    @property
    def design(self) -> Design:
        """The design on the dials. Raises DesignError where it cannot be made.

        The state must be settled.
        """
        assert not self.waiting
        if self.problems:
            raise DesignError(self.problems)
        assert self.shown is not None
        return self.shown.design

    def rewritten(self) -> str:
        """The file's text with what the dials say in it. Raises DesignError as ``design``."""
        return rewrite(self.text, self.design)

    @property
    def refusal(self) -> str:
        """Why nothing leaves the house, in one sentence; empty where something may."""
        return _one_sentence(self.problems)

    @cached_property
    def notice(self) -> str:
        """Why what is shown is not the design on the dials, in one sentence; empty where it is."""
        if not self.problems:
            return ""
        if self.shown is None:
            return f"{NOT_CURRENT}: it cannot be made, and so there is nothing to show."
        stands = [self._standing(spec) for spec in self._dials if spec.key in self.held]
        named = ", ".join(stands[:MOST_HELD])
        if len(stands) > MOST_HELD:
            named += f" and {len(stands) - MOST_HELD} more as they were"
        elsewhere = f", with {named}" if named else ""
        return f"{NOT_CURRENT}: shows the last one that could be made{elsewhere}."

    @cached_property
    def marks(self) -> Mapping[str, str]:
        """What is wrong at which dial, a sentence by key.

        A dial is marked where a sentence names it, and where it was turned into the trouble though
        none does: the builder's hand is there.
        """
        keys = [spec.key for spec in self._dials]
        found: dict[str, Problems] = {}
        for problem in self.problems:
            for key in dials_named(problem, keys):
                found[key] = (*found.get(key, ()), problem)
        return {key: _one_sentence(problems) for key, problems in {**self.held, **found}.items()}

    # --- how it comes about

    @cached_property
    def _dials(self) -> tuple[DialSpec, ...]:
        return dials(self.opened)

    def _made(self, turns: Turns) -> Made:
        design = with_values(self.opened, turns) if turns else self.opened
        return Made(turns, design, make(design, preview_chord(design)))

    def _nearest(self, problems: Problems) -> tuple[Made | None, Held]:
        """What is shown instead of a design that cannot be made, and the dials held there."""
        shown = self.shown
        if shown is None:
            return None, {}
        apart = [key for key in {**shown.turns, **self.turns} if self._differs(key, shown.turns)]
        held = {key: problems for key in apart if key in self.held}
        nearest = self._with_held(shown, held) if 0 < len(held) < len(apart) else None
        if not isinstance(nearest, Made):
            nearest, held = shown, dict.fromkeys(apart, problems)
        named = {key for problem in problems for key in dials_named(problem, apart)}
        for key in sorted(held, key=lambda key: key in named):  # those at fault come last
            others = held.keys() - {key}
            if others:
                tried = self._with_held(shown, others)
                if isinstance(tried, Made):
                    nearest = tried
                    del held[key]
                else:
                    held[key] = tried
        return nearest, held

    def _differs(self, key: str, turns: Turns) -> bool:
        return (key in turns, turns.get(key)) != (key in self.turns, self.turns.get(key))

    def _with_held(self, shown: Made, held: Collection[str]) -> Made | Problems:
        """What the dials say but for some that stay as they are shown, or what is wrong with it."""
        turns = {key: value for key, value in self.turns.items() if key not in held}
        turns |= {key: shown.turns[key] for key in held if key in shown.turns}
        try:
            return self._made(turns)
        except CarveError as error:
            return _problems(error)

    def _standing(self, spec: DialSpec) -> str:
        """Where a held dial stands in what is shown, in words."""
        assert self.shown is not None
        value = value_at(self.shown.design, spec.key)
        if not isinstance(value, float):
            return f"{spec.key} as it was"
        shown = self.opened.show(value) if spec.is_length else f"{show_number(value, 4)}{spec.unit}"
        return f"{spec.key} at {shown}"


def _problems(error: CarveError) -> Problems:
    return error.problems if isinstance(error, DesignError) else (str(error),)


def _one_sentence(problems: Problems) -> str:
    more = len(problems) - 1
    return "".join(problems[:1]) + (f" (and {more} more)" if more > 0 else "")


def opened(file: Path) -> LabState:
    """The state of a lab that has just read a design file, not settled yet.

    Raises FileTrouble where it cannot be read, DesignError where it is wrong.
    """
    text = read_text(file)
    design = parse(text, file.name, file.parent)
    return LabState(text, design, rounding_of(text, design))
