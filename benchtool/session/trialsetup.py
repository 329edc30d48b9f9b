"""Setting up a trial: what is taken over from the piece, and what is offered.

The set-up itself and the acts on it are in `trialkinds`, what it still wants in `trialchecks`, and the act that writes
it in `trialwrite`; all is given from here.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum

from benchtool.job import events as ev
from benchtool.job.cards import Card, Duty, Gun
from benchtool.job.state import PieceState, State
from benchtool.job.trialnumbers import first_free, strip_numbers
from benchtool.job.trialplan import MOST_SYSTEMS
from benchtool.job.trials import TrialState
from benchtool.session.planning import PieceText, card_choices, usual_gun, write_piece
from benchtool.session.session import NotNow, Session
from benchtool.session.stackbuilding import Row
from benchtool.session.trialchecks import (
    amount_mL,
    amount_words,
    count_words,
    faults,
    read,
    remarks,
    rest_words,
    strip_words,
    wants_control,
    why_control,
)
from benchtool.session.trialkinds import (
    MOST_REPLICATES,
    AgeText,
    Candidate,
    Setup,
    Spot,
    build_of,
    change,
    double,
    in_order,
    move,
    of_layers,
    put,
    set_control,
    shuffle,
    stack_words,
    stand_in,
    take_out,
    titles,
    with_promoter,
    with_replicates,
    without_control,
    without_hold,
)
from benchtool.session.trialwrite import done_words, drafts, touched
from benchtool.trade.durations import write_span
from benchtool.trade.numbers import figure
from benchtool.trade.saying import say

__all__ = [
    "MOST_REPLICATES", "AgeText", "Candidate", "Offer", "Ready", "Setup", "Spot", "add_like", "add_system",
    "amount_mL", "amount_words", "begin", "begin_from", "begin_like", "build_of", "change", "count_words",
    "done_words", "double", "drafts", "faults", "first_free", "in_order", "move", "offers", "put", "read", "remarks",
    "rest_words", "set_control", "shuffle", "stack_words", "stand_in", "strip_words", "take_out", "titles", "touched",
    "wants_control", "why_control", "with_piece", "with_promoter", "with_replicates", "without_control",
]  # fmt: skip


class Ready(StrEnum):
    """The systems that are offered ready made."""

    AS_PIECE = "as the piece"
    BARE = "no promoter"
    PROMOTER = "another promoter"
    EMPTY = "empty"


@dataclass(frozen=True, slots=True, kw_only=True)
class Offer:
    """A system that can be added at once; `card` is the other promoter."""

    kind: Ready
    words: str
    card: Card | None = None


# --- beginning ---------------------------------------------------------------------------------------


def begin(session: Session, piece: PieceState | None = None) -> Setup:
    """Begin a trial for this piece, or for none: its own stack, and beside it the same without the promoter.

    Raises:
        NotNow: no job is open, or it is read-only.
    """
    document = session.writable()
    if piece is not None and document.state.is_strip(piece):
        trial = document.state.trial_of(piece.id)
        piece = document.state.pieces.get(trial.plan.piece or "") if trial is not None else None
    setup = with_piece(session, Setup(first=first_free(document.state)), piece)
    layers = of_layers(_stack_of(document.state, piece)) if piece is not None else ()
    if layers:
        setup, _ = put(setup, layers)
        bare = without_hold(layers)
        if 0 < len(bare) < len(layers):
            setup, _ = put(setup, bare, control=True)
    return setup


def with_piece(session: Session, setup: Setup, piece: PieceState | None) -> Setup:
    """Have the trial done for this piece, whose material the strips are of; or for none: the material stays chosen."""
    document = session.writable()
    usual = _usual_name(document.state, setup)
    fresh = "" if setup.name in ("", usual) else setup.name
    if piece is None:
        made = replace(setup, piece=None, name=fresh)
    else:
        text = write_piece(session, piece.piece)
        made = replace(
            setup,
            piece=piece.id,
            material=text,
            batch=piece.piece.batch,
            name=fresh,
            gun=usual_gun(session, piece),
        )
    return made if made.name else replace(made, name=_usual_name(document.state, made))


def _usual_name(state: State, setup: Setup) -> str:
    piece = state.pieces.get(setup.piece or "")
    plain = say("Trial for {piece}", piece=piece.piece.name) if piece is not None else say("Trial")
    taken = {t.plan.name for t in state.trials.values() if t.id != setup.trial}
    name, turn = plain[:190], 2
    while name in taken:
        name, turn = f"{plain[:190]} {turn}", turn + 1
    return name


def begin_like(session: Session, piece: PieceState | None, systems: Iterable[tuple[str, bool, Sequence[Row]]]) -> Setup:
    """Begin a trial with these systems (name, control, stack), such as those of an earlier one.

    Raises:
        NotNow: no job is open, or it is read-only.
    """
    setup = replace(begin(session, piece), systems=(), spots=())
    for name, control, rows in list(systems)[:MOST_SYSTEMS]:
        setup, _ = put(setup, rows, control=control, name=name)
    return setup


def add_like(setup: Setup, systems: Iterable[tuple[str, bool, Sequence[Row]]]) -> Setup:
    """Add such systems to a set-up, as far as there is room; a stack that is there already is not added again."""
    for name, control, rows in systems:
        if len(setup.systems) < MOST_SYSTEMS and _cards(rows) not in {_cards(c.rows) for c in setup.systems}:
            setup, _ = put(setup, rows, control=control and not setup.controls, name=name)
    return setup


def begin_from(session: Session, trial: TrialState) -> Setup:
    """Take up a trial for changing it. One that has paint on keeps its strips, their systems and places.

    Raises:
        NotNow: no job is open, it is read-only, or the strips were put away.
    """
    document = session.writable()
    state, plan = document.state, trial.plan
    if trial.ended_at is not None:
        raise NotNow(say("The strips of this trial were put away: nothing of it can be changed."))
    first = next((p for s in plan.strips if (p := state.pieces.get(s.piece)) is not None), None)
    systems = []
    for system in plan.systems:
        strip = next((p for s in trial.strips_of(system.id) if (p := state.pieces.get(s.piece)) is not None), None)
        rows = of_layers(_stack_of(state, strip)) if strip is not None else ()
        control, colour = system.control, system.colour
        systems.append(Candidate(key=system.id, name=system.name, control=control, colour=colour, rows=rows))
    numbers = [int(s.id[1:]) for s in plan.systems if s.id[:1] == "s" and s.id[1:].isdigit()]
    return Setup(
        trial=trial.id,
        begun=touched(state, trial),
        name=plan.name,
        piece=plan.piece,
        material=write_piece(session, first.piece) if first is not None else PieceText(),
        batch=first.piece.batch if first is not None else "",
        systems=tuple(systems),
        replicates=max((len(trial.strips_of(s.id)) for s in plan.systems), default=1),
        methods=frozenset(plan.methods),
        rest=write_span(plan.rest),
        tape_stays=write_span(plan.tape_stays) if plan.tape_stays else "",
        ageing=tuple(_age_text(step) for step in plan.ageing),
        width=figure(plan.strip_width_mm, 6),
        length=figure(plan.strip_length_mm, 6),
        note=plan.note,
        randomised=plan.randomised,
        spots=tuple(
            Spot(key=s.system, replicate=s.replicate, panel=s.panel, place=s.place)
            for s in sorted(plan.strips, key=lambda s: (s.panel, s.place))
        ),
        no_control=not trial.controls,
        gun=usual_gun(session, first) if first is not None else Gun.AIRBRUSH,
        count=max(numbers, default=len(systems)),
        numbers=tuple(strip_numbers(trial).values()),
        taken=frozenset(int(n) for t in state.trials.values() if t is not trial for n in strip_numbers(t).values()),
    )


def _age_text(step: ev.Ageing) -> AgeText:
    return AgeText(
        kind=step.kind,
        lasts=write_span(step.lasts) if step.lasts is not None else "",
        degC=figure(step.degC, 6) if step.degC is not None else "",
        mandrel=figure(step.mandrel_mm, 6) if step.mandrel_mm is not None else "",
        recovers=write_span(step.recovers) if step.recovers else "",
    )


def _stack_of(state: State, piece: PieceState) -> list[tuple[Card, ev.Layer]]:
    return [(card, x.plan) for x in piece.layers if (card := state.card_of(x)) is not None]


# --- what is offered ---------------------------------------------------------------------------------


def offers(session: Session, setup: Setup) -> tuple[Offer, ...]:
    """Give the systems that can be added at once, the commonest first; what is there already is not offered again."""
    if setup.begun or len(setup.systems) >= MOST_SYSTEMS:
        return ()
    like = _like(session, setup)
    have = {_cards(c.rows) for c in setup.systems}
    found = []
    piece = _piece_rows(session, setup)
    if piece and _cards(piece) not in have:
        found.append(Offer(kind=Ready.AS_PIECE, words=say("The stack of the piece")))
    bare = without_hold(like)
    if 0 < len(bare) < len(like) and _cards(bare) not in have:
        found.append(Offer(kind=Ready.BARE, words=say("The same without the promoter: the control")))
    if like:
        for card in _promoters(session):
            if _cards(with_promoter(like, card, stand_in(setup), setup.gun)) not in have:
                words = say("{promoter} under the same paint", promoter=card.name)
                found.append(Offer(kind=Ready.PROMOTER, words=words, card=card))
    found.append(Offer(kind=Ready.EMPTY, words=say("Pick its products one by one")))
    return tuple(found)


def add_system(session: Session, setup: Setup, kind: Ready, card: Card | None = None) -> tuple[Setup, str]:
    """Add one of the systems offered; gives its key too.

    Raises:
        NotNow: there is no stack to take over, or no room for another system.
    """
    like = _like(session, setup)
    match kind:
        case Ready.AS_PIECE:
            rows = _piece_rows(session, setup)
            if not rows:
                raise NotNow(say("This piece has no layers planned: build its stack first, or pick the products here."))
            return put(setup, rows)
        case Ready.BARE:
            bare = without_hold(like)
            if not bare:
                raise NotNow(say("There is no stack yet to leave the promoter out of: add a system first."))
            return put(setup, bare, control=True)
        case Ready.PROMOTER:
            if card is None or not like:
                raise NotNow(say("There is no paint yet to put a promoter under: add a system first."))
            return put(setup, with_promoter(like, card, stand_in(setup), setup.gun))
        case Ready.EMPTY:
            return put(setup, ())


def _like(session: Session, setup: Setup) -> tuple[Row, ...]:
    """Give the stack that the others are made after: the piece's, else the first here that has a promoter."""
    piece = _piece_rows(session, setup)
    stacks = [piece, *(c.rows for c in setup.systems if c.promoters), *(c.rows for c in setup.systems)]
    return next((rows for rows in stacks if rows), ())


def _piece_rows(session: Session, setup: Setup) -> tuple[Row, ...]:
    document = session.current
    piece = document.state.pieces.get(setup.piece or "") if document is not None else None
    return of_layers(_stack_of(document.state, piece)) if document is not None and piece is not None else ()


def _promoters(session: Session) -> list[Card]:
    found: dict[str, Card] = {}
    for choice in card_choices(session):
        if choice.card.duty is Duty.PROMOTER:
            found.setdefault(choice.card.id, choice.card)
    return list(found.values())


def _cards(rows: Sequence[Row]) -> tuple[str, ...]:
    return tuple(r.card.id for r in rows)
