"""The exact figures of a trial, counted so that the window never waits: at once what is quick, the rest in a thread."""

import logging
from collections.abc import Sequence
from threading import Lock, Thread

from benchtool.trade.exactcount import MOST_STEPS
from benchtool.trade.ranking import Graded, Ranking, System, rank

log = logging.getLogger("benchtool")

QUICK_STEPS = 10_000
"""So much is counted while the window waits: about a tenth of a second on a small laptop."""

Asked = tuple[tuple[System, ...], tuple[Graded, ...]]


class Ranker:
    """Ranks as `trade.ranking.rank` does; what was asked last counts. `turns` goes up when there is more to show."""

    def __init__(self, quick_steps: int = QUICK_STEPS, most_steps: int = MOST_STEPS) -> None:
        self.quick_steps, self.most_steps = quick_steps, most_steps
        self.turns = 0
        self._asked: Asked | None = None
        self._ranking: Ranking | None = None
        self._counting: Asked | None = None
        self._thread: Thread | None = None
        self._lock = Lock()

    def __call__(self, systems: Sequence[System], tests: Sequence[Graded]) -> Ranking:
        """Give the ranking as far as it is counted; the order in it never waits."""
        asked = (tuple(systems), tuple(tests))
        with self._lock:
            if asked == self._asked and self._ranking is not None:
                return self._ranking
        quick = rank(*asked, self.quick_steps)
        with self._lock:
            self._asked, self._ranking = asked, quick
            self._counting = asked if _lacks(quick) else None
            start = self._counting is not None and self._thread is None
            if start:
                self._thread = Thread(target=self._count, name="trial-figures", daemon=True)
        if start and self._thread is not None:
            self._thread.start()
        return quick

    @property
    def counting(self) -> bool:
        """Whether figures of what was asked last are still being counted."""
        return self._counting is not None

    def wait(self) -> None:
        """Wait until all is counted."""
        thread = self._thread
        if thread is not None:
            thread.join()

    def _count(self) -> None:
        while True:
            with self._lock:
                asked = self._counting
                if asked is None:
                    self._thread = None
                    return
            full = None
            try:
                full = rank(*asked, self.most_steps)
            except Exception:  # such as no memory left: what is counted quickly stays
                log.exception("the exact figures of a trial could not be counted")
            with self._lock:
                if self._counting is asked:
                    self._ranking, self._counting = full or self._ranking, None
                    self.turns += 1


def _lacks(ranking: Ranking) -> bool:
    tests = any(t.p is None and len(t.sizes) > 1 for t in ranking.tests)
    return tests or any(pair.p is None for pair in ranking.pair_tests)
