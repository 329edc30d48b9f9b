"""What the row of pieces says of a trial: what its strips ask for next, in a few words."""

from collections.abc import Iterator
from datetime import datetime, timedelta

from benchtool.job.state import State
from benchtool.job.trials import TrialState
from benchtool.job.window import FOR_GOOD, Window
from benchtool.trade.numbers import shorten, span_words
from benchtool.trade.saying import say, say_n
from benchtool.trade.windows import Phase, WindowKind

_WAITS = frozenset({
    WindowKind.STAND, WindowKind.FLASH, WindowKind.RECOAT, WindowKind.DWELL, WindowKind.TAPE_ON, WindowKind.AGEING,
})  # fmt: skip


def trial_chip(
    state: State, windows: tuple[Window, ...], trial: TrialState, now: datetime
) -> tuple[str, bool, datetime]:
    """Give the words, whether hands are needed, and until when both hold if nothing is done.

    The time left is said to the minute, so that it holds for a while.
    """
    mine = list(_of(trial, windows))
    until = min((w.next_edge(now) for w in mine), default=FOR_GOOD)
    ready = {w.piece for w in mine if w.phase(now) is not Phase.WAITING and w.needed}
    pieces = [state.pieces[s.piece] for s in trial.plan.strips if s.piece in state.pieces]
    spraying = [p for p in pieces if any(x.open_coat is not None for x in p.layers)]
    if spraying:
        return say_n("{n} strip being sprayed", "{n} strips being sprayed", len(spraying)), True, until
    if ready:
        return say_n("{n} strip is ready", "{n} strips are ready", len(ready)), True, until
    waiting = [w.span.opens_at for w in mine if w.phase(now) is Phase.WAITING and not w.span.never]
    if waiting:
        first = min(waiting)
        left_s = (first - now).total_seconds()
        left = say("Wait {time}", time=shorten(span_words(left_s), 20))
        minute = 60.0 if left_s > 60 else 1.0
        return left, False, min(until, now + timedelta(seconds=min(minute, max(left_s, 1.0))))
    if any(not p.layers or not p.layers[-1].finished for p in pieces):
        return say("Strips to paint"), True, until
    return say("Compare them"), True, until


def _of(trial: TrialState, windows: tuple[Window, ...]) -> Iterator[Window]:
    strips = {s.piece for s in trial.plan.strips}
    return (w for w in windows if w.piece in strips and w.kind in _WAITS)
