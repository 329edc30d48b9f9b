"""One key or foot pedal for hands that are full: "done, next".

It does what the far view says that it will do next, and nothing else. One press does one thing: where a call is up, the
press only hears it, and says what the next press will do, so that a foot that silences an alarm starts no coat. A call
that came up under the foot doesn't count yet: the press does what was written when the foot went down.
A coat that is being sprayed comes first, then the piece in hand; another piece is only taken for a coat that the very
next press can start, so that no two pieces send the key to and fro.
With a strip of a trial in hand it does what all strips do that ask for the same; on the page that runs a trial it does
what stands large there, as Enter does.
A stop is never waived by it, and what the hands must have done first (pouring, cleaning, scuffing) is never logged
blindly: it says so instead. All that it writes is an act like any other, taken back by one undo.
"""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta
from functools import partial
from typing import TYPE_CHECKING

from benchtool.job.nextstep import Act, CupAct, NextStep, cup_step
from benchtool.job.state import LayerState, PieceState
from benchtool.rules.preparing import step_of
from benchtool.session import acts, cupacts
from benchtool.session.due import clock_time, due_now
from benchtool.session.session import Document, NotNow, Session
from benchtool.trade.saying import say

if TYPE_CHECKING:
    from benchtool.session.trialrun import NextAct

BOUNCE = timedelta(seconds=1.5)
"""A foot that presses again within so long has bounced (judgement, no source)."""

SEEN = timedelta(seconds=1.5)
"""A call that has been up for less was not seen yet when the foot went down (judgement, no source)."""

HEARD = "heard"
"""What the key does where something calls, in one word."""


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


def _none_aside(_trial: str) -> frozenset[str]:
    return frozenset()


@dataclass(frozen=True, slots=True)
class Place:
    """Where the painter is, and which strips are set `aside`.

    `running` is the page that runs a trial: `act` is what stands large there, and `go` goes to where that is done (the
    cup, the grades) where it is done elsewhere.
    """

    aside: Callable[[str], frozenset[str]] = _none_aside
    running: bool = False
    act: "NextAct | None" = None
    go: Callable[[], None] | None = None


AT_THE_BENCH = Place()


def next_act(session: Session, now: datetime, at: Place = AT_THE_BENCH) -> HandsFree:
    """Say what the hands-free key does at `now`. Nothing is changed until `do` is called."""
    up, summary = session.alarms.up(), session.alarms.summary
    if any(now - alarm.since >= SEEN for alarm in up) or (not up and summary is not None and now - summary.at >= SEEN):
        return HandsFree(HEARD, partial(_hear, session, at), HEARD)
    document, piece = session.current, session.piece
    if document is None:
        return HandsFree("No job is open: open one at the bench.", short="No job is open")
    if document.read_only:
        return HandsFree(document.read_only, short="Read-only")
    if at.running:
        return _running(session, document, at, now)
    if piece is None:
        return HandsFree("Add a piece first, at the bench.", short="Add a piece")
    if _sprayed(piece) is not None:
        return _step(session, document, piece, now, at)
    for owner, other in _pieces_beside(session):
        if _sprayed(other) is not None:
            return _take(session, owner, other, at)
    mine = _step(session, document, piece, now, at)
    if mine.do is None:
        ready = next((x for x in _in_watch_order(session, now) if _may_go_on(session, *x, now)), None)
        if ready is not None:
            return _take(session, *ready, at)
        if step_of(document.state, piece, session.tables, now).act in (Act.WAIT, Act.DONE):
            return _called_for(session, now, at) or mine
    return mine


def _called_for(session: Session, now: datetime, at: Place) -> HandsFree | None:
    """Say what a piece that the watch calls for asks for at the bench: that can't be done by foot, but it is told."""
    for line in due_now(session, now):
        piece = line.document.state.pieces.get(line.window.piece)
        if line.hands and piece is not None and piece is not session.piece:
            told = _step(session, line.document, piece, now, at)
            if told.do is None:
                return told
    return None


def unseen(session: Session, now: datetime) -> bool:
    """Whether something calls that only began to: it is still sounding, and nobody can have seen it."""
    up, summary = session.alarms.up(), session.alarms.summary
    begun = [alarm.since for alarm in up] + ([summary.at] if summary is not None else [])
    return any(timedelta(0) <= now - at < SEEN for at in begun)


class Pedal:
    """The key itself: it lets no bounce through and answers every press in words."""

    def __init__(self, session: Session, place: Callable[[], Place] = lambda: AT_THE_BENCH) -> None:
        self._session, self._place = session, place
        self._pressed: datetime | None = None

    def press(self, now: datetime, *, repeat: bool = False) -> str:
        """Do what the key does at `now`; gives the answer, "" for a bounce or a `repeat` of a key that is held down."""
        if repeat:
            return ""
        before, self._pressed = self._pressed, now
        if before is not None and timedelta(0) <= now - before < BOUNCE:
            return ""
        act = next_act(self._session, now, self._place())
        if act.do is None:
            return act.words
        try:
            return act.do()
        except NotNow as no:
            return str(no)


def _hear(session: Session, at: Place) -> str:
    session.alarms.heard()
    follows = next_act(session, session.now(), at)
    return "Heard. " + (f"Press again: {follows.words}." if follows.do is not None else follows.words)


def _sprayed(piece: PieceState) -> LayerState | None:
    return next((x for x in piece.layers if x.open_coat is not None), None)


def _pieces_beside(session: Session) -> Iterator[tuple[Document, PieceState]]:
    """Give every piece but the one in hand, the next one of its job first; jobs that can't be written are left out."""
    for document in sorted(session.documents, key=lambda d: d is not session.current):
        pieces = list(document.state.pieces.values())
        at = next((i for i, x in enumerate(pieces) if x is session.piece), len(pieces))
        if not document.read_only:
            yield from ((document, x) for x in (*pieces[at + 1 :], *pieces[:at]))


def _in_watch_order(session: Session, now: datetime) -> list[tuple[Document, PieceState]]:
    """Give every piece but the one in hand as the watch has them, what no window runs on last."""
    lines = due_now(session, now)
    first = {(id(x.document), x.window.piece): i for i, x in reversed(list(enumerate(lines)))}
    return sorted(_pieces_beside(session), key=lambda x: first.get((id(x[0]), x[1].id), len(lines)))


def _may_go_on(session: Session, document: Document, piece: PieceState, now: datetime) -> bool:
    """Whether the key could start the next coat of this piece of any open job now: by its time, its cup and its job.

    The coat is tried as it is for the job in hand: a piece that is then refused would only be left again.
    """
    state, step = document.state, step_of(document.state, piece, session.tables, now)
    layer = state.layers.get(step.layer or "")
    mix = state.mix_for(layer) if layer is not None else None
    card = (mix.card or state.card_of(layer)) if mix is not None and layer is not None else None
    if step.act is not Act.COAT or layer is None or mix is None or card is None:
        return False
    if cup_step(card, mix, now).act is not CupAct.READY:
        return False
    return not session.hindrances(layer, document)


def _take(session: Session, document: Document, piece: PieceState, at: Place) -> HandsFree:
    name = piece.piece.name

    def take() -> str:
        session.pick_document(document)
        session.pick(piece.id)
        follows = next_act(session, session.now(), at)
        mine = follows.do is not None and follows.place in (name, "")  # what is for several strips names them itself
        return f"{name} is in hand. " + (f"Press again: {follows.words}." if mine else follows.words)

    return HandsFree(f"take {name} in hand", take, f"take {name}")


def _step(session: Session, document: Document, piece: PieceState, now: datetime, at: Place) -> HandsFree:
    """Say what the key does for this piece of the job in hand; a strip goes with those that ask for the same."""
    if piece.piece.strip_of is not None:
        from benchtool.session.trialhand import act_of

        together = act_of(session, document, piece, now, at.aside)
        if together is not None:
            return _together(session, together, now, Place())
    step, name = step_of(document.state, piece, session.tables, now), piece.piece.name
    layer = document.state.layers.get(step.layer or "")
    sprayed = _sprayed(piece)
    if sprayed is not None:
        n = len(sprayed.coats)
        return HandsFree(f"coat {n} done", partial(_finish, session, piece, sprayed), f"coat {n} done", name)
    if step.act is Act.COAT and layer is not None:
        return _coat(session, document, piece, layer, now)
    if step.act is Act.MIX and layer is not None:
        return _cup(session, document, piece, layer, step, now)
    if step.act is Act.PREP:
        return HandsFree(f"{name}: {_lower(step.words)}, then log it at the bench (P).", short=step.short, place=name)
    if step.act is Act.PLAN:
        return HandsFree(f"{name}: plan its layers at the bench (L).", short="Plan its layers", place=name)
    if step.act is Act.WAIT and step.due_at is not None:  # an answer stands still: a countdown in it would be wrong
        return HandsFree(f"{name}: wait until {clock_time(step.due_at, now, up=True)}.", place=name)
    return HandsFree(f"{name}: {_lower(step.words)}.", place=name)


def _running(session: Session, document: Document, at: Place, now: datetime) -> HandsFree:
    """Say what the key does on the page that runs a trial."""
    if at.act is None or at.act.document is not document:
        return HandsFree(say("Nothing on the strips waits for a hand here."))
    return _together(session, at.act, now, at)


def _together(session: Session, act: "NextAct", now: datetime, at: Place) -> HandsFree:
    """Say what the key does for several strips: on their own page all that Enter does, elsewhere the coats alone."""
    from benchtool.session.trialrun import Kind
    from benchtool.session.trialwords import upper

    group, who, sprays = act.act, upper(act.who), act.kind in (Kind.COAT, Kind.FINISH)
    if act.waits(now) and (act.kind is not Kind.MIX or at.go is None):
        if act.never or act.due_at is None:
            return HandsFree(f"{who}: {act.why}", short=act.what)
        until = clock_time(act.due_at, now, up=True)
        return HandsFree(say("{strips}: wait until {time}.", strips=who, time=until))
    if group is None and at.go is not None:
        return HandsFree(_lower(act.what), partial(_go, at.go, act.words), act.what)
    if group is None or (not at.running and not sprays and act.kind is not Kind.MIX):
        return HandsFree(say("{words} That is done at the bench.", words=act.words), short=act.what)
    found = group.find()
    if found:
        message, remedy = group.tell(found)
        return HandsFree(" ".join(filter(None, (message, remedy))), short=say("Stop: {what}", what=_lower(act.what)))
    return HandsFree(_lower(group.title), partial(_do_together, session, act), _lower(group.title))


def _go(go: Callable[[], None], words: str) -> str:
    go()
    return words


def _do_together(session: Session, act: "NextAct") -> str:
    from benchtool.session.trialrun import Kind

    group, layer = act.act, act.document.state.layers.get(act.layer or "")
    if group is None:
        return act.words
    session.apply_to(act.document, *group.make())
    if act.kind is Kind.COAT and layer is not None:
        n = len(layer.coats) + 1
        return say("Coat {n} on {strips} begun. Press again when it is on.", n=n, strips=act.who)
    return group.done_words


def _finish(session: Session, piece: PieceState, layer: LayerState) -> str:
    n = len(layer.coats)
    session.pick(piece.id, layer.id)
    session.apply(acts.finish_coat(layer))
    return f"{piece.piece.name}: coat {n} done. Its waits count from now."


def _coat(session: Session, document: Document, piece: PieceState, layer: LayerState, now: datetime) -> HandsFree:
    found, name, n = session.hindrances(layer, document), piece.piece.name, len(layer.coats) + 1
    if found:
        short, clears = f"Stop before coat {n}", found[0].clears_at
        why = f"Wait until {clock_time(clears, now, up=True)}." if clears is not None else found[0].message
        return HandsFree(f"{name}: stop. {why} {found[0].remedy}", short=short, place=name)

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
