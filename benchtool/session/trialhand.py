"""The strip of a trial in hand: what it and those that go with it ask for, wherever in the window the painter is."""

from collections.abc import Callable, Sequence
from datetime import datetime

from benchtool.job import events as ev
from benchtool.job.state import PieceState, State
from benchtool.job.trialnumbers import strip_numbers
from benchtool.job.trials import TrialState
from benchtool.session.session import Document, Session
from benchtool.session.trialrun import NextAct, next_acts
from benchtool.session.trialwords import strips_words

Aside = Callable[[str], frozenset[str]]
"""Gives the strips of a trial that the painter has set aside."""


def none_aside(_trial: str) -> frozenset[str]:
    """Give no strip: where nobody has set any aside."""
    return frozenset()


def open_trial(document: Document | None, piece: PieceState | None) -> TrialState | None:
    """Give the trial that a piece is a strip of; None for any other piece, and once the trial is put away."""
    of = piece.piece.strip_of if piece is not None else None
    trial = document.state.trials.get(of) if document is not None and of is not None else None
    return trial if trial is not None and trial.ended_at is None else None


def act_of(
    session: Session, document: Document, piece: PieceState, now: datetime, aside: Aside = none_aside
) -> NextAct | None:
    """Give what a strip asks for next, with the others that ask for the same; None where it is none, or is done."""
    trial = open_trial(document, piece)
    if trial is None:
        return None
    acts = next_acts(session, document, trial, now, aside(trial.id))
    return next((act for act in acts if piece.id in act.strips), None)


def act_in_hand(session: Session, now: datetime, aside: Aside = none_aside) -> NextAct | None:
    """Give the same for the piece in hand."""
    document, piece = session.current, session.piece
    return act_of(session, document, piece, now, aside) if document is not None and piece is not None else None


def layer_agrees(session: Session, act: NextAct) -> bool:
    """Whether the layer in hand is the one that the act is about, on its strip: another may have been taken in hand."""
    document, piece, layer = session.current, session.piece, session.layer
    if document is None or piece is None or layer is None:
        return False
    about = document.state.layers.get(act.layer or "")
    if about is None:
        return True
    others = document.state.piece_of(about).layers
    return [x.id for x in others].index(about.id) == [x.id for x in piece.layers].index(layer.id)


def strips_told(state: State, act: Sequence[ev.Event]) -> str:
    """Name the strips that an act was about; "" where it was about none, or set a trial up."""
    pieces: dict[str, None] = {}
    for event in act:
        if isinstance(event, ev.TrialPlanned | ev.TrialReplanned | ev.SystemChosen):
            return ""
        if isinstance(event, ev.Graded | ev.TapePressed):
            pieces[event.strip] = None
        elif isinstance(event, ev.AgeingBegun | ev.AgeingOver):
            pieces |= dict.fromkeys(event.strips)
        elif isinstance(event, ev.PrepDone):
            pieces[event.piece] = None
        elif isinstance(event, ev.CoatStarted | ev.CoatDone) and event.layer in state.layers:
            pieces[state.piece_of(state.layers[event.layer]).id] = None
    of = next((state.trial_of(p) for p in pieces if p in state.pieces), None)
    numbers = strip_numbers(of) if of is not None else {}
    return strips_words([numbers[p] for p in pieces]) if pieces and all(p in numbers for p in pieces) else ""
