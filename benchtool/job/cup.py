"""One cup of paint as its record shows it: its recipe, what was poured, and when it was stirred."""

from dataclasses import dataclass, field
from datetime import datetime
from functools import cached_property, lru_cache

from benchtool.job import events as ev
from benchtool.job.airhistory import AirHistory
from benchtool.job.cards import Card, RecipePart
from benchtool.trade.mixing import Part, PartKind, PourCheck, check_pours, fractions


@dataclass
class Mix:
    """One cup: its recipe, what was poured, and when it was stirred; `card` is its card as it was when begun.

    `air` is that of the whole job.
    """

    made: ev.Mixed
    place: int
    pours: list[ev.Poured] = field(default_factory=list)
    stirred: dict[ev.Stirred, datetime] = field(default_factory=dict)
    emptied_at: datetime | None = None
    left_mL: float | None = None
    first_stirred: dict[ev.Stirred, datetime] = field(default_factory=dict)
    card: Card | None = None
    air: AirHistory = field(default_factory=AirHistory, compare=False, repr=False)

    @property
    def id(self) -> str:
        """The mix's id."""
        return self.made.mix

    def forget(self) -> None:
        """Work out anew what hangs on pours and stirrings: one was added."""
        for name in ("poured_mL", "checks", "activated_at", "stood_from"):
            self.__dict__.pop(name, None)

    @cached_property
    def parts(self) -> tuple[Part, ...]:
        """The recipe in pour order."""
        return recipe_parts(self.made.parts)

    @cached_property
    def poured_mL(self) -> dict[str, float]:
        """How much of each part is in the cup, by name."""
        sums: dict[str, float] = {}
        for pour in self.pours:
            sums[pour.part] = sums.get(pour.part, 0.0) + pour.mL
        return sums

    @cached_property
    def checks(self) -> tuple[PourCheck, ...]:
        """Each part as poured against the recipe."""
        return check_pours(self.parts, self.poured_mL)

    @property
    def total_mL(self) -> float:
        """All that is in the cup."""
        return sum(self.poured_mL.values())

    def has(self, kind: PartKind) -> bool:
        """Say whether the recipe has a part of this kind."""
        return any(p.kind is kind for p in self.parts)

    @cached_property
    def activated_at(self) -> datetime | None:
        """When the pot life began: the first activator poured, or stirred in where no pour is logged.

        Stirring once more, or the base alone, moves nothing.
        """
        times = self._activator_poured()
        if self.has(PartKind.ACTIVATOR):
            stirs = {**self.stirred, **self.first_stirred}
            times += [at for what, at in stirs.items() if what is not ev.Stirred.BASE]
        return min(times, default=None)

    @cached_property
    def stood_from(self) -> datetime | None:
        """From when the activated mix stands: its last stirring before it was reduced.

        Where none is logged, the first stirring that held the activator counts, though it was reduced by then.
        None where the recipe has no activator, or nothing but the base was stirred.
        """
        if not self.has(PartKind.ACTIVATOR):
            return None
        poured = min(self._activator_poured(), default=None)
        reduced = ev.Stirred.REDUCED
        stirs = [self.stirred.get(ev.Stirred.ACTIVATED), self.first_stirred.get(reduced), self.stirred.get(reduced)]
        logged = [at for at in stirs if at is not None]
        if not logged:
            return None
        held = (at for at in logged if poured is None or at >= poured)
        # An activator that is logged after every stirring can't have stood before it was in the cup.
        return next(held, poured)

    def _activator_poured(self) -> list[datetime]:
        names = {p.name for p in self.parts if p.kind is PartKind.ACTIVATOR}
        return [p.at for p in self.pours if p.part in names and p.mL > 0]


@lru_cache(maxsize=512)
def recipe_parts(parts: tuple[RecipePart, ...]) -> tuple[Part, ...]:
    """Turn the recipe kept in the record into what the ratios are reckoned with.

    Raises:
        NotAShare: the recipe is no mix.
    """
    read = tuple(p.part() for p in parts)
    fractions(read)
    return read
