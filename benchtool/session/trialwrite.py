"""Writing a trial into the job: one act for all its strips, their layers and the plan."""

from collections.abc import Iterator, Sequence
from dataclasses import replace
from functools import partial

import msgspec

from benchtool.job import events as ev
from benchtool.job.cards import Card
from benchtool.job.state import LayerState, State
from benchtool.job.trialnumbers import first_free
from benchtool.job.trials import TrialState
from benchtool.session.cardreading import Wrong
from benchtool.session.planning import copy_card
from benchtool.session.session import Draft, NotNow, Session
from benchtool.session.stackbuilding import Row
from benchtool.session.trialchecks import read
from benchtool.session.trialkinds import Setup, stand_in, titles
from benchtool.trade.saying import say, say_n


def drafts(session: Session, setup: Setup) -> tuple[Draft, ...]:
    """Write the trial as one act: cards copied, a piece for each strip, their layers, the plan.

    A trial that is changed keeps the pieces of its strips, and with them the steps done on them; strips that are no
    more are taken back. Empty where nothing is different.

    Raises:
        NotNow: no job is open, it is read-only, or the trial is gone.
        Wrong: something is wrong or missing yet.
    """
    document = session.writable()
    state = document.state
    values = read(session, setup)
    if values.faults:
        raise Wrong(values.faults)
    before = state.trials.get(setup.trial or "")
    if setup.trial is not None and (before is None or before.ended_at is not None):
        raise NotNow(say("This trial is gone, or its strips were put away."))
    if before is not None and (setup.begun or touched(state, before)):
        return _replanned(before.plan, setup, session)
    if setup.piece is not None and setup.piece not in state.pieces:
        raise NotNow(say("The piece of this trial is gone from the job."))
    return tuple(_written(session, setup, before))


def _plan(session: Session, setup: Setup, trial: str, strips: tuple[ev.Strip, ...]) -> ev.Trial:
    values, names = read(session, setup), titles(setup)
    return ev.Trial(
        id=trial,
        name=values.name,
        systems=tuple(
            ev.System(id=c.key, name=names[c.key], control=c.control, colour=c.colour) for c in setup.systems
        ),
        strips=strips,
        methods=tuple(m for m in ev.Method if m in setup.methods),
        ageing=values.ageing,
        rest=values.rest,
        tape_stays=values.tape_stays,
        piece=setup.piece,
        strip_width_mm=values.width_mm,
        strip_length_mm=values.length_mm,
        randomised=setup.randomised,
        note=values.note,
    )


def _replanned(plan: ev.Trial, setup: Setup, session: Session) -> tuple[Draft, ...]:
    """Change what can be changed of a trial whose strips have paint on."""
    new = _plan(session, setup, plan.id, plan.strips)
    changed = msgspec.structs.replace(
        plan, name=new.name, methods=new.methods, rest=new.rest, ageing=new.ageing, note=new.note
    )
    return () if changed == plan else (partial(ev.TrialReplanned, trial=changed),)


def _written(session: Session, setup: Setup, before: TrialState | None) -> Iterator[Draft]:
    document = session.writable()
    state = document.state
    trial = before.id if before is not None else next(_free(session, "t"))
    if before is None:  # the job may have got strips since the set-up was begun
        setup = replace(setup, first=first_free(state))
    spots = setup.numbered()
    old = [p for s in _lying(before) if (p := state.pieces.get(s.piece)) is not None]
    surplus = {p.id for p in old[len(spots) :]}
    if surplus:  # first of the act, so that one undo brings them back
        yield partial(ev.Withdrawn, events=_events_of(session, surplus))
    copied: dict[str, Card] = {}
    for row in (r for c in setup.systems for r in c.rows):
        if state.cards.get(row.card.id) != row.card and copied.get(row.card.id) != row.card:
            copied[row.card.id] = row.card
            yield copy_card(row.card)
    pieces, layers = _free(session, "p"), _free(session, "l")
    material = _material(session, setup)
    strips = []
    for i, (number, spot) in enumerate(spots):
        name = say("Strip {number}", number=number)
        was = old[i] if i < len(old) else None
        made = msgspec.structs.replace(
            material, id=was.id if was is not None else next(pieces), name=name, strip_of=trial
        )
        strips.append(
            ev.Strip(piece=made.id, system=spot.key, replicate=spot.replicate, panel=spot.panel, place=spot.place)
        )
        system = setup.system(spot.key)
        rows = system.rows if system is not None else ()
        if was is None:
            yield partial(ev.PieceAdded, piece=made)
        elif made != was.piece:
            yield partial(ev.PieceChanged, piece=made)
        yield from _stacked(made.id, rows, was.layers if was is not None else (), layers)
    plan = _plan(session, setup, trial, tuple(strips))
    if before is None:
        yield partial(ev.TrialPlanned, trial=plan)
    elif plan != before.plan:
        yield partial(ev.TrialReplanned, trial=plan)


def _lying(trial: TrialState | None) -> list[ev.Strip]:
    return sorted(trial.plan.strips, key=lambda s: (s.panel, s.place)) if trial is not None else []


def _stacked(piece: str, rows: Sequence[Row], there: Sequence[LayerState], free: Iterator[str]) -> Iterator[Draft]:
    """Put a stack on a strip, in place of the one planned on it where that is another."""
    wanted = [r.plan for r in rows]
    if [msgspec.structs.replace(x.plan, id="new") for x in there] == wanted:
        return
    for layer in there:
        yield partial(ev.LayerRemoved, layer=layer.id)
    for plan in wanted:
        yield partial(ev.LayerAdded, piece=piece, layer=msgspec.structs.replace(plan, id=next(free)))


def _material(session: Session, setup: Setup) -> ev.Piece:
    """Describe what the strips are of, as far as a strip has it: no shape, nothing joined."""
    document, m = session.writable(), setup.material
    like = document.state.pieces.get(setup.piece or "")
    batch = read(session, setup).batch
    if like is not None:
        p = like.piece
        return ev.Piece(
            id=p.id, name=p.name, substrate=p.substrate, known=p.known, flex=p.flex, face=p.face,
            mark=p.mark, clues=p.clues, batch=batch,
        )  # fmt: skip
    substrate = session.tables.substrates[m.substrate or "unknown"]
    known = m.known or ev.Known.UNKNOWN
    made = stand_in(setup)
    return msgspec.structs.replace(
        made, known=known if substrate.known else ev.Known.UNKNOWN, mark=m.mark, clues=m.clues, batch=batch
    )


def _events_of(session: Session, pieces: set[str]) -> tuple[str, ...]:
    """Find the events that made these strips and what was done on them, so that they can be taken back."""
    document = session.writable()
    layers = {x.id for p in pieces for x in document.state.pieces[p].layers}
    found = []
    for event in document.job.events:
        match event:
            case ev.PieceAdded(piece=piece) | ev.PieceChanged(piece=piece):
                of_it = piece.id in pieces
            case ev.LayerAdded(piece=piece_id):
                of_it = piece_id in pieces
                layers |= {event.layer.id} if of_it else set()
            case ev.LayerChanged(layer=layer):
                of_it = layer.id in layers
            case ev.LayerRemoved(layer=layer_id) | ev.FilmMeasured(layer=layer_id):
                of_it = layer_id in layers
            case ev.PrepDone() | ev.TrialRecorded() | ev.HeatStarted() | ev.HeatEnded():
                of_it = event.piece in pieces
            case _:
                of_it = False
        if of_it:
            found.append(event.id)
    return tuple(found)


def _free(session: Session, letter: str) -> Iterator[str]:
    """Give ids that the job never used, those of what was undone included."""
    used = set()
    for event in session.writable().job.events:
        match event:
            case ev.PieceAdded(piece=piece):
                used.add(piece.id)
            case ev.LayerAdded(layer=layer):
                used.add(layer.id)
            case ev.TrialPlanned(trial=trial):
                used.add(trial.id)
            case _:
                pass
    return (x for n in range(1, len(used) + 10_000) if (x := f"{letter}{n}") not in used)


def touched(state: State, trial: TrialState) -> bool:
    """Say whether any strip has paint on, a cup begun for it, or a test: then strips and systems stay as they are."""
    if trial.grades or trial.tapes or trial.ageings or trial.chosen:
        return True
    layers = (x for s in trial.plan.strips if (p := state.pieces.get(s.piece)) is not None for x in p.layers)
    return any(x.coats or x.mixes for x in layers)


def done_words(setup: Setup, done: bool) -> str:
    """Say what was done when a trial was written."""
    if not done:
        return say("Nothing was changed.")
    if setup.trial is not None:
        return say("{trial} is changed. One undo takes it back.", trial=" ".join(setup.name.split()))
    return say_n(
        "{n} strip is set up. One undo takes it back.",
        "{n} strips are set up. One undo takes them all back.",
        setup.strips,
    )
