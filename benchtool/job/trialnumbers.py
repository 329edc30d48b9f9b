"""The number of a strip: one in the whole job, the one in its name, so that every place calls the strip the same."""

import re
from collections.abc import Collection, Iterator, Sequence
from itertools import count
from typing import Self

from benchtool.job.state import State
from benchtool.job.trials import TrialState

_IN_NAME = re.compile(r"(?:^|\s)([A-Z][0-9.]*)?([1-9][0-9]{0,5})\Z")
"""The last word of a name; records of old have a letter before the number in the later trials of a job."""


class StripNumber(int):
    """The number of a strip, written with what stands `before` it in its name: a letter in records of old."""

    before: str

    def __new__(cls, number: int, before: str = "") -> Self:
        """Make one of its figure and what stands before it."""
        made = super().__new__(cls, number)
        made.before = before
        return made

    def __str__(self) -> str:
        return f"{self.before}{int(self)}"

    @property
    def value(self) -> int | str:
        """What stands for it in an answer: the number, or its text where a letter belongs to it."""
        return str(self) if self.before else int(self)


def number_in(name: str) -> StripNumber | None:
    """Read the number of a strip from the name of its piece; None where the name ends in none."""
    found = _IN_NAME.search(name.strip())
    return StripNumber(int(found[2]), found[1] or "") if found is not None else None


def strip_numbers(trial: TrialState) -> dict[str, StripNumber]:
    """Number the strips of a trial, by the id of their pieces, in the order in which they lie.

    A strip that was given another name keeps the number of its place; where that leaves two alike, all are numbered
    by their places.
    """
    lying = sorted(trial.plan.strips, key=lambda s: (s.panel, s.place))
    pieces = (trial.pieces.get(s.piece) for s in lying)
    read = [number_in(p.piece.name) if p is not None else None for p in pieces]
    first = next((StripNumber(n - i, n.before) for i, n in enumerate(read) if n is not None and n > i), StripNumber(1))
    found = [n if n is not None else StripNumber(first + i, first.before) for i, n in enumerate(read)]
    if len({str(n) for n in found}) < len(found) or len({n.before for n in found}) > 1:
        found = [StripNumber(i) for i in range(1, len(lying) + 1)]
    return {strip.piece: number for strip, number in zip(lying, found, strict=True)}


def first_free(state: State) -> int:
    """Give the number with which the strips of a new trial go on: no strip of the job has it or a higher one."""
    numbers = (n for trial in state.trials.values() for n in strip_numbers(trial).values())
    named = (n for p in state.pieces.values() if p.piece.strip_of and (n := number_in(p.piece.name)) is not None)
    return max((int(n) for n in (*numbers, *named)), default=0) + 1


def numbers_on(own: Sequence[StripNumber], first: int, taken: Collection[int]) -> Iterator[StripNumber]:
    """Give the numbers that strips have, then those that come after them, or from `first` on, and are not taken."""
    yield from own
    before = own[-1].before if own else ""
    start = max(own) + 1 if own else first
    yield from (StripNumber(n, before) for n in count(start) if n not in taken)
