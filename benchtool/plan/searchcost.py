"""What a plan costs while it is being made, and pieces drawn forward once it is."""

from collections.abc import Sequence
from dataclasses import dataclass

from benchtool.plan.lines import Line
from benchtool.plan.placing import place
from benchtool.plan.timetable import Case, Laid

MOST_ROUNDS = 4
"""So often the pieces are drawn forward; hardly anything moves after the second time."""

Score = tuple[int, int, int, int, int]
"""The fields of a cost in whole seconds, in their order."""


def is_best(case: Case, laid: Laid) -> bool:
    """Say whether no plan can be better, for each piece lies as it would alone in the shop."""
    return score_of(case, laid) <= Tally.of(case).score


def score_of(case: Case, laid: Laid) -> Score:
    """Give what a plan costs in whole seconds."""
    tally = Tally.of(case)
    for c in case.doable:
        if c in laid:
            tally.placed(case, c, *laid[c])
        else:
            tally.lost(c)
    return tally.score


def tightened(case: Case, laid: Laid) -> Laid:
    """Take each piece out and put it back as early as the rest lets it, some times over: never worse."""
    free = case.empty.copy()
    now = dict(laid)
    for line, starts in now.values():
        free.add(line, starts)
    for _ in range(MOST_ROUNDS):
        moved = False
        for c in sorted(now, key=lambda c: list(now[c][1])):
            line, starts = now[c]
            free.take(line, starts)
            again = place(line, free)
            free.add(line, again)
            moved = moved or again != list(starts)
            now[c] = (line, again)
        if not moved:
            break
    return now


@dataclass(slots=True)
class Tally:
    """What a plan costs at the least as far as it is made: what is not yet placed counts as it would alone."""

    left: int
    missed: list[int]
    late: list[int]
    ends: list[int]

    @classmethod
    def of(cls, case: Case) -> "Tally":
        """Give the cost of a plan of which nothing is made."""
        alone = case.alone
        return cls(
            left=len(case.cant),
            missed=[a.missed if a else 0 for a in alone],
            late=[a.late if a else 0 for a in alone],
            ends=[a.end - case.start if a and chain.tasks else 0 for a, chain in zip(alone, case.chains, strict=True)],
        )

    def copy(self) -> "Tally":
        """Give another one that is equal."""
        return Tally(self.left, self.missed[:], self.late[:], self.ends[:])

    @property
    def score(self) -> Score:
        """What it costs at the least."""
        return self.left, sum(self.missed), sum(self.late), max(self.ends, default=0), sum(self.ends)

    def placed(self, case: Case, c: int, line: Line, starts: Sequence[int]) -> None:
        """Enter where the first tasks of a piece lie."""
        self.missed[c] = line.missed
        if len(starts) == len(line.tasks):
            self.ends[c] = line.end(starts) - case.start if starts else 0
            self.late[c] = case.late(line, starts)
        elif starts:
            self.ends[c] = max(self.ends[c], starts[-1] + line.lengths[len(starts) - 1] - case.start)

    def lost(self, c: int) -> None:
        """Enter that a piece found no place."""
        self.left += 1
        self.missed[c] = self.late[c] = self.ends[c] = 0
