"""One key or foot pedal for hands that are full: "done, next".

It does what the far view says that it will do next, and nothing else. One press does one thing: where a call is up, the
press only hears it, and says what the next press will do, so that a foot that silences an alarm starts no coat. A call
that came up under the foot doesn't count yet: the press does what was written when the foot went down.
A stop is never waived by it, and what the hands must have done first (pouring, cleaning, scuffing) is never logged
blindly: it says so instead. All that it writes is an act like any other, taken back by one undo.
"""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta
from functools import partial

from benchtool.job.nextstep import Act, CupAct, NextStep, cup_step, next_step
from benchtool.job.state import LayerState, PieceState
from benchtool.session import acts, cupacts
from benchtool.session.due import HANDS, due_now
from benchtool.session.session import Document, NotNow, Session
from benchtool.trade.windows import Phase

BOUNCE = timedelta(seconds=1.5)
"""A foot that presses again within so long has bounced (judgement, no source)."""

SEEN = timedelta(seconds=1.5)
"""A call that has been up for less was not seen yet when the foot went down (judgement, no source)."""

HEARD = "heard"
"""What the key does where something calls, in one word."""

MOST_TRIED = 3
"""So many pieces besides the one in hand are tried for a coat that may go on: trying one asks every rule."""


@dataclass(frozen=True, slots=True)
class HandsFree:
    """What the next press does (`do`, which gives the answer in words), or why it does nothing (`do` is None).

    `words` say it in full, `short` in the few words of the far view ("" where it says the same anyway), `place` names
    the piece that it is about.
    """

    words: str
    do: Callable[[], str] | None = None
    short: str = ""
    place: str = ""


def next_act(session: Session, now: datetime) -> HandsFree:
    """Say what the hands-free key does at `now`. Nothing is changed until `do` is called."""
    up, summary = session.alarms.up(), session.alarms.summary
    if any(now - alarm.since >= SEEN for alarm in up) or (not up and summary is not None and now - summary.at >= SEEN):
        return HandsFree(HEARD, partial(_hear, session), HEARD)
    document, piece = session.current, session.piece
    if document is None:
        return HandsFree("No job is open: open one at the bench.", short="No job is open")
    if document.read_only:
        return HandsFree(document.read_only, short="Read-only")
    if piece is None:
        return HandsFree("Add a piece first, at the bench.", short="Add a piece")
    if _sprayed(piece) is not None:
        return _step(session, document, piece, now)
    for owner, other in _pieces_beside(session):
        if _sprayed(other) is not None:
            return _take(session, owner, other)
    waiting = _called_for(session, now)
    if waiting is not None and waiting[1] is not piece:
        return _take(session, *waiting)
    mine = _step(session, document, piece, now)
    if mine.do is None and next_step(document.state, piece, now).act in (Act.WAIT, Act.DONE):
        return _beside(session, document, piece, now) or mine
    return mine


def unseen(session: Session, now: datetime) -> bool:
    """Whether something calls that only began to: it is still sounding, and nobody can have seen it."""
    up, summary = session.alarms.up(), session.alarms.summary
    begun = [alarm.since for alarm in up] + ([summary.at] if summary is not None else [])
    return any(timedelta(0) <= now - at < SEEN for at in begun)


class Pedal:
    """The key itself: it lets no bounce through and answers every press in words."""

    def __init__(self, session: Session) -> None:
        self._session = session
        self._pressed: datetime | None = None

    def press(self, now: datetime, *, repeat: bool = False) -> str:
        """Do what the key does at `now`; gives the answer, "" for a bounce or a `repeat` of a key that is held down."""
        if repeat:
            return ""
        before, self._pressed = self._pressed, now
        if before is not None and timedelta(0) <= now - before < BOUNCE:
            return ""
        act = next_act(self._session, now)
        if act.do is None:
            return act.words
        try:
            return act.do()
        except NotNow as no:
            return str(no)


def _hear(session: Session) -> str:
    session.alarms.heard()
    follows = next_act(session, session.now())
    return "Heard. " + (f"Press again: {follows.words}." if follows.do is not None else follows.words)


def _sprayed(piece: PieceState) -> LayerState | None:
    return next((x for x in piece.layers if x.open_coat is not None), None)


def _pieces_beside(session: Session) -> Iterator[tuple[Document, PieceState]]:
    """Give every piece but the one in hand, those of the job in hand first; jobs that can't be written are left out."""
    for document in sorted(session.documents, key=lambda d: d is not session.current):
        if not document.read_only:
            yield from ((document, x) for x in document.state.pieces.values() if x is not session.piece)


def _called_for(session: Session, now: datetime) -> tuple[Document, PieceState] | None:
    """Give the piece of the first line of the watch that a coat, or the reducer, may go on now."""
    for line in due_now(session, now):
        window, document = line.window, line.document
        if not line.hands or window.kind not in HANDS or line.phase not in (Phase.OPEN, Phase.CLOSING):
            continue
        piece = document.state.pieces.get(window.piece)
        if piece is None or document.read_only:
            continue
        mine = piece is session.piece
        if mine or document is not session.current or _step(session, document, piece, now).do is not None:
            return document, piece
    return None


def _beside(session: Session, document: Document, piece: PieceState, now: datetime) -> HandsFree | None:
    """While the piece in hand waits: take the next one of its job whose coat may go on."""
    pieces = list(document.state.pieces.values())
    after = pieces.index(piece) + 1
    tried = 0
    for other in (*pieces[after:], *pieces[: after - 1]):
        if next_step(document.state, other, now).act is Act.COAT and tried < MOST_TRIED:
            tried += 1
            if _step(session, document, other, now).do is not None:
                return _take(session, document, other)
    return None


def _take(session: Session, document: Document, piece: PieceState) -> HandsFree:
    name = piece.piece.name

    def take() -> str:
        session.pick_document(document)
        session.pick(piece.id)
        follows = next_act(session, session.now())
        return f"{name} is in hand. " + (
            f"Press again: {follows.words}." if follows.do is not None and follows.place == name else follows.words
        )

    return HandsFree(f"take {name} in hand", take, f"take {name}")


def _step(session: Session, document: Document, piece: PieceState, now: datetime) -> HandsFree:
    """Say what the key does for this piece of the job in hand."""
    step, name = next_step(document.state, piece, now), piece.piece.name
    layer = document.state.layers.get(step.layer or "")
    sprayed = _sprayed(piece)
    if sprayed is not None:
        n = len(sprayed.coats)
        return HandsFree(f"coat {n} done", partial(_finish, session, piece, sprayed), f"coat {n} done", name)
    if step.act is Act.COAT and layer is not None:
        return _coat(session, piece, layer)
    if step.act is Act.MIX and layer is not None:
        return _cup(session, document, piece, layer, step, now)
    if step.act is Act.PREP:
        return HandsFree(f"{name}: {_lower(step.words)}, then log it at the bench (P).", short=step.short, place=name)
    if step.act is Act.PLAN:
        return HandsFree(f"{name}: plan its layers at the bench (L).", short="Plan its layers", place=name)
    return HandsFree(f"{name}: {_lower(step.words)}.", place=name)


def _finish(session: Session, piece: PieceState, layer: LayerState) -> str:
    n = len(layer.coats)
    session.pick(piece.id, layer.id)
    session.apply(acts.finish_coat(layer))
    return f"{piece.piece.name}: coat {n} done. Its waits count from now."


def _coat(session: Session, piece: PieceState, layer: LayerState) -> HandsFree:
    found, name, n = session.hindrances(layer), piece.piece.name, len(layer.coats) + 1
    if found:
        short = f"Stop before coat {n}"
        return HandsFree(f"{name}: stop. {found[0].message} {found[0].remedy}", short=short, place=name)

    def start() -> str:
        session.pick(piece.id, layer.id)
        session.apply(acts.start_coat(session, layer))
        return f"{name}: coat {n} started. Press again when it is on."

    return HandsFree(f"start coat {n}", start, f"start coat {n}", name)


def _cup(
    session: Session, document: Document, piece: PieceState, layer: LayerState, step: NextStep, now: datetime
) -> HandsFree:
    name, mix = piece.piece.name, document.state.mix_for(layer)
    card = (mix.card or document.state.card_of(layer)) if mix is not None else None
    if mix is not None and card is not None:
        cup = cup_step(card, mix, now)
        act = cupacts.stir(mix, cup, counts=card.stand is not None) if cup.act is CupAct.STIR else None
        if act is not None:
            return HandsFree("stirred", partial(_stir, session, piece, layer, act), "stirred", name)
    return HandsFree(f"{name}: {_lower(step.words)}, at the bench.", short=step.short or step.words, place=name)


def _stir(session: Session, piece: PieceState, layer: LayerState, act: cupacts.Act) -> str:
    session.pick(piece.id, layer.id)
    session.apply(act.draft)
    return f"{piece.piece.name}: {_lower(act.words)}"


def _lower(text: str) -> str:
    return text[:1].lower() + text[1:]
