"""The waits that nothing follows: tape on the last layer, and the cure of every layer, for what is covered cures too.

As the care sheet has it: a piece is ready when the last of its layers is cured, and where the outermost has no cure
time nobody knows when that is.
"""

from collections.abc import Sequence
from datetime import datetime

from benchtool.job.cards import CardTime
from benchtool.job.care import cured_at
from benchtool.job.state import LayerState
from benchtool.plan.stepspiece import PieceSteps
from benchtool.plan.stepswaits import Bound, holds, on_piece
from benchtool.trade.saying import say
from benchtool.trade.windows import Span, WindowKind

TAIL = (WindowKind.TAPE, WindowKind.CURE)


def add_tail(steps: PieceSteps) -> None:
    """Add what still runs on a piece with all its coats on, or what will after the last coats of its layers."""
    layers = steps.piece.layers
    if not layers:
        return
    if steps.piece.current is None:
        for window in steps.windows:
            if window.kind in TAIL and window.span.opens_at > steps.now:
                steps.run(window.span, None, window.kind, tail_words(window.kind, window.layer_name))
    else:
        _tape(steps, layers[-1])
    _cures(steps, layers)


def ready_known(steps: PieceSteps) -> bool:
    """Say whether the outermost layer tells when the piece is cured; a test strip is not asked."""
    top = steps.piece.layers[-1] if steps.piece.layers else None
    if top is None or steps.state.is_strip(steps.piece):
        return True
    card = steps.state.card_of(top)
    done = top.last_done
    return any(c is not None and c.cure is not None for c in (card, done.card if done is not None else None))


def doubt_of_cure(steps: PieceSteps) -> None:
    """Say that nobody knows when the piece is ready, where its outermost layer has no cure time."""
    layer = steps.piece.layers[-1]
    words = say(
        "{piece}: {layer} gives no cure time: when it is ready is not known.",
        piece=steps.piece.piece.name, layer=steps.state.layer_name(layer),
    )  # fmt: skip
    steps.doubts.append(steps.doubt(layer.id, words))


def _tape(steps: PieceSteps, layer: LayerState) -> None:
    card, last = steps.state.card_of(layer), steps.lasts.get(layer.id)
    if card is None or card.tape is None or last is None:
        return
    fixed = holds(layer, card, (CardTime.TAPE,), steps.now)
    bound = Bound(on_piece(layer, card.tape, card, CardTime.TAPE), constant=fixed)
    words = tail_words(WindowKind.TAPE, steps.state.layer_name(layer))
    steps.link(bound, last, None, WindowKind.TAPE, words)


def _cures(steps: PieceSteps, layers: Sequence[LayerState]) -> None:
    """Add the cure of each layer that may be the last to end: all but those that one over them surely outlasts."""
    told: list[Bound] = []
    shown = {w.layer for w in steps.windows if w.kind is WindowKind.CURE} if steps.piece.current is None else set()
    for layer in reversed(layers):
        words = tail_words(WindowKind.CURE, steps.state.layer_name(layer))
        last, card = steps.lasts.get(layer.id), steps.state.card_of(layer)
        if last is None:
            _running(steps, layer, words, shown)
        elif card is not None and card.cure is not None:
            fixed = holds(layer, card, (CardTime.CURE,), steps.now)
            bound = Bound(on_piece(layer, card.cure, card, CardTime.CURE), constant=fixed)
            if not any(_outlasts(over, bound, steps.now) for over in told):
                steps.link(bound, last, None, WindowKind.CURE, words)
                told.append(bound)


def _outlasts(over: Bound, under: Bound, now: datetime) -> bool:
    return over.constant and under.constant and over.opens(now) >= under.opens(now)


def _running(steps: PieceSteps, layer: LayerState, words: str, shown: set[str]) -> None:
    """Add the cure of a layer whose coats are on, where it ends after all that is told already."""
    ends = cured_at(steps.state, layer)
    done = layer.last_done
    if ends is None or done is None or done.done_at is None or layer.id in shown or ends <= steps.now:
        return
    before = [x.opens(steps.now) for x in steps.links if x.kind is WindowKind.CURE and x.then is None]
    if all(ends > at for at in before):
        steps.run(Span(done.done_at, ends), None, WindowKind.CURE, words)


def tail_words(kind: WindowKind, name: str) -> str:
    """Say what a wait is that nothing follows."""
    return say("No tape on {layer}", layer=name) if kind is WindowKind.TAPE else say("{layer} cures", layer=name)
