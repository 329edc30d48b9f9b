"""Using what a trial found: the chosen system becomes the stack of a piece, in one act."""

from dataclasses import dataclass, replace
from functools import partial

import msgspec

from benchtool.job import events as ev
from benchtool.job.cards import Duty
from benchtool.job.state import LayerState, PieceState, State
from benchtool.job.trialproof import Proof, goes_on, proof_of, proved
from benchtool.job.trials import TrialState
from benchtool.session import stackbuilding
from benchtool.session.session import Draft, NotNow, Session
from benchtool.session.stackbuilding import Build, Row
from benchtool.trade.saying import say, say_n

UNDERCOATS = frozenset({Duty.PROMOTER, Duty.PRIMER, Duty.FILLER, Duty.SEALER})
"""What the system takes the place of, where the piece had another."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Choice:
    """A system chosen for a piece: the events of the one act, and what it does in sentences."""

    drafts: tuple[Draft, ...]
    words: str


def choose(session: Session, trial: str, system: str, piece: str) -> tuple[Draft, ...]:
    """Write the act alone, as `choice`."""
    return choice(session, trial, system, piece).drafts


def choice(session: Session, trial: str, system: str, piece: str) -> Choice:
    """Let a system of a trial (by their ids) become the stack of a piece.

    Its layers take the place of those planned, with the coats, activators, guns and additives that the strips had; a
    layer of the same product keeps its colour and its name. What the piece had planned over the last product that both
    have stays on top; where they have none in common, all but its promoters and undercoats does. The lot of the
    material is taken over where the trial is for this piece and the piece has none.

    Raises:
        NotNow: no job is open, it is read-only, something of it is gone, or the piece has paint on or a cup ready.
        Wrong: the shares of a card make no mix.
    """
    state = session.writable().state
    found, target = state.trials.get(trial), state.pieces.get(piece)
    chosen = found.system(system) if found is not None else None
    if found is None or chosen is None or target is None:
        raise NotNow(say("This trial, its system or the piece is gone from the job."))
    if state.is_strip(target):
        raise NotNow(say("{piece} is a test strip: choose the system for a piece.", piece=target.piece.name))
    if target.top is not None:
        raise NotNow(say("{piece} has paint on: its stack stays as it is.", piece=target.piece.name))
    layers = stack_of(state, found, system)
    if not layers:
        raise NotNow(say("The strips of {system} have no layers.", system=chosen.name))
    build = stackbuilding.begin(session, target)
    staying = _staying(build, layers)
    rows = _rows(state, build, layers)
    _spare_cups(state, build, (*rows, *staying))
    drafts: list[Draft] = [
        *_lot(found, target, _lot_of(state, found, system)),
        *stackbuilding.drafts(session, replace(build, rows=(*rows, *staying), by_hand=True)),
        partial(ev.SystemChosen, trial=trial, system=system, piece=piece),
    ]
    words = _words(chosen, target, rows, staying)
    return Choice(drafts=tuple(drafts), words=words)


def stack_of(state: State, trial: TrialState, system: str) -> list[LayerState]:
    """Give what a system is: the layers of its first strip that has paint on, else of its first."""
    strips = [p for s in trial.strips_of(system) if (p := state.pieces.get(s.piece)) is not None and p.layers]
    painted = next((p for p in strips if p.top is not None), None)
    strip = painted or (strips[0] if strips else None)
    return goes_on(strip) if strip is not None else []


def _lot_of(state: State, trial: TrialState, system: str) -> str:
    lots = [p.piece.batch for s in trial.strips_of(system) if (p := state.pieces.get(s.piece)) is not None]
    return next((lot for lot in lots if lot.strip()), "")


def _lot(trial: TrialState, piece: PieceState, lot: str) -> list[Draft]:
    if trial.plan.piece != piece.id or piece.piece.batch.strip() or not lot:
        return []
    return [partial(ev.PieceChanged, piece=msgspec.structs.replace(piece.piece, batch=lot))]


def _rows(state: State, build: Build, layers: list[LayerState]) -> tuple[Row, ...]:
    """Put the system into rows: a layer of the piece that is of the same product becomes that of the system."""
    left, rows = list(build.rows), []
    for i, layer in enumerate(layers, 1):
        card = state.cards[layer.plan.card]
        same = next((r for r in left if r.card.id == card.id), None)
        if same is None:
            rows.append(Row(key=f"+{i}", card=card, plan=layer.plan))
            continue
        left.remove(same)
        plan = msgspec.structs.replace(
            layer.plan, id=same.plan.id, name=same.plan.name, colour=same.plan.colour or layer.plan.colour
        )
        rows.append(replace(same, card=card, plan=plan))
    return tuple(rows)


def _staying(build: Build, layers: list[LayerState]) -> tuple[Row, ...]:
    """Give the rows of the piece that stay over the system."""
    counted: dict[str, int] = {}
    for layer in layers:
        counted[layer.plan.card] = counted.get(layer.plan.card, 0) + 1
    shared = -1
    for i, row in enumerate(build.rows):
        if counted.get(row.card.id, 0) > 0:
            counted[row.card.id] -= 1
            shared = i
    over = build.rows[shared + 1 :]
    return over if shared >= 0 else tuple(r for r in over if r.card.duty not in UNDERCOATS)


def _spare_cups(state: State, build: Build, rows: tuple[Row, ...]) -> None:
    """Refuse to take out a layer whose cup stands ready."""
    going = {r.key for r in build.rows} - {r.key for r in rows}
    for row in build.rows:
        if row.key in going and row.was is not None and state.mix_for(row.was) is not None:
            name = state.layer_name(row.was)
            raise NotNow(say("A cup of {layer} stands ready for this piece: empty it first.", layer=name))


def _words(system: ev.System, piece: PieceState, rows: tuple[Row, ...], staying: tuple[Row, ...]) -> str:
    named = {"system": system.name, "piece": piece.piece.name}
    words = say_n(
        "{system} is now the stack of {piece}: {n} layer as on the strips.",
        "{system} is now the stack of {piece}: {n} layers as on the strips.",
        len(rows),
        **named,
    )
    if staying:
        names = ", ".join(r.plan.name or r.card.name for r in staying)
        words += " " + say("What was planned over it stays on top: {layers}.", layers=names)
    return words


# --- what it proves now ------------------------------------------------------------------------------


def proof_words(session: Session, piece: str) -> str:
    """Say what the trial of the system chosen for a piece proves of it now; "" where none was chosen."""
    document = session.current
    state = document.state if document is not None else None
    found = state.pieces.get(piece) if state is not None else None
    proof = proof_of(state, found, session.tables.cleaners) if state is not None and found is not None else None
    return said_of(found, proof) if found is not None and proof is not None else ""


def said_of(piece: PieceState, proof: Proof) -> str:
    """Say what a trial proves of a piece, or why it does not."""
    named = {"piece": piece.piece.name, "system": proof.system.name}
    if not proof.decides(piece):
        held = say("it held") if proved(piece, proof) else say("it did not hold")
        return say("A strip was logged for {piece} after the trial, and {held}: that counts.", held=held, **named)
    if not proof.holds:
        against = " ".join(proof.against)
        return say("The trial does not speak for {piece}.", **named) + f" {against}"
    words = say("The trial speaks for {piece}, for this lot of the material and this prep.", **named)
    if len(proof.to_do) > 1:
        first = say("Before paint it still takes the prep that the strips had: the findings say which.")
        return f"{words} {first}"
    return " ".join((words, *proof.to_do))
