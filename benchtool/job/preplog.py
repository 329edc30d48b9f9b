"""What was logged of preparing one face, and what of it still stands: some steps undo others."""

from collections.abc import Iterable

from benchtool.job.events import Prep
from benchtool.job.stack import Step

SCRATCHED = frozenset({Prep.ABRADE, Prep.SCUFF})


class PrepLog:
    """The steps logged on one face, oldest first."""

    def __init__(self, steps: Iterable[Step]) -> None:
        self.steps = tuple(steps)

    def _since(self, undone: Iterable[Prep]) -> tuple[Step, ...]:
        gone = frozenset(undone)
        last = max((i for i, s in enumerate(self.steps) if s.step in gone), default=-1)
        return self.steps[last + 1 :]

    def first(self, kinds: Iterable[Prep], undone: Iterable[Prep] = ()) -> Step | None:
        """Give the first step of these kinds that nothing has undone since."""
        wanted = frozenset(kinds)
        return next((s for s in self._since(undone) if s.step in wanted), None)

    def after(self, kinds: Iterable[Prep], undone: Iterable[Prep] = ()) -> Step | None:
        """Give the last step of these kinds, where nothing has undone it since."""
        wanted = frozenset(kinds)
        return next((s for s in reversed(self._since(undone)) if s.step in wanted), None)

    def masked(self) -> Step | None:
        """Give the masking that is still on."""
        return self.after({Prep.MASK}, {Prep.UNMASK})

    def water(self) -> Step | None:
        """Give the last water-break test since the face was last worked."""
        return self.after({Prep.WATER_BREAK}, {*SCRATCHED, Prep.STRIP})

    def clean_since(self, *, tells: bool) -> Step | None:
        """Give the last degreasing since the face was worked, and since water broke on it where that tells."""
        clean = self.after({Prep.DEGREASE}, {*SCRATCHED, Prep.STRIP})
        water = self.water()
        broke = tells and water is not None and water.passed is False
        if clean is None or water is None or not broke:
            return clean
        return clean if self.steps.index(clean) > self.steps.index(water) else None
