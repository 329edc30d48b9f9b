"""What is done at a cup: begin it, log a pour as typed, stir, share, empty."""

from datetime import datetime
from functools import partial
from typing import NamedTuple

from benchtool.job import events as ev
from benchtool.job.nextstep import CupAct, CupStep, cup_step
from benchtool.job.state import LayerState, Mix
from benchtool.session import acts
from benchtool.session.amounts import read_make, read_pour
from benchtool.session.owned import only_can, shop_of
from benchtool.session.session import Draft, NotNow, Session
from benchtool.trade.numbers import pour_figure
from benchtool.trade.quantities import NotAnAmount
from benchtool.trade.saying import say
from benchtool.trade.units import volume_words


class Act(NamedTuple):
    """One act: the event still to be stamped, what to say once it is written, and what comes before it."""

    draft: Draft
    words: str
    before: tuple[Draft, ...] = ()


def step_of(layer: LayerState, mix: Mix, session: Session, now: datetime) -> CupStep:
    """Say what the cup of this layer asks for."""
    document = session.current
    card = mix.card or (document.state.card_of(layer) if document is not None else None)
    if card is None:
        raise NotNow("This layer has no product card: choose one first.")
    return cup_step(card, mix, now)


def begin(session: Session, layer: LayerState, typed: str) -> Act:
    """Begin a cup of the amount typed.

    Raises:
        NotAnAmount, NotAShare: it can't be read, or the card is no mix.
        NotNow: the activator is not chosen, or the job is read-only.
    """
    make_mL = read_make(session, layer, typed)
    return Act(
        acts.begin_mix(session, layer, make_mL), f"A cup of {volume_words(make_mL, shop_of(session).unit)} begun."
    )


def pour(session: Session, mix: Mix, part: str, typed: str, asked_mL: float) -> Act | None:
    """Log a pour: what was typed, else the amount asked for. None where there is nothing to log.

    Raises:
        NotAnAmount: what was typed is none.
    """
    if not typed.strip():
        if asked_mL <= 0:
            return None
        words = volume_words(asked_mL, shop_of(session).unit)
        return _from_the_can(session, mix, part, asked_mL, "", f"{words} {part} logged.")
    read = read_pour(session, mix, part, typed)
    guess = " That dropper is not calibrated: a guess." if read.guess else ""
    mL = f"{pour_figure(read.mL)} mL"
    amount = mL if read.typed == mL else f"{read.typed}, which is {mL},"
    said = f"{amount} of {part} logged.{guess}"
    return _from_the_can(session, mix, part, read.mL, read.typed, said, guess=read.guess)


def _from_the_can(
    session: Session, mix: Mix, part: str, mL: float, typed: str, words: str, *, guess: bool = False
) -> Act:
    """Log a pour; the only can of its part that is owned is taken in hand with it where none is."""
    lot = only_can(session, mix.made.card, part)
    draft = acts.pour(session, mix, part, mL, typed, guess=guess, lot=lot)
    if lot is None:
        return Act(draft, words)
    told = say("{poured} {can} is your only can of it: it is in hand.", poured=words, can=lot.words)
    return Act(draft, told, (acts.take_lot(session, lot),))


def stir(mix: Mix, step: CupStep, *, counts: bool) -> Act | None:
    """Log the stirring that the cup asks for; `counts` says that a stand time runs from it."""
    if step.act is not CupAct.STIR or step.stir is None:
        return None
    told = "Stirred. The stand time counts from now." if counts else "Stirred."
    return Act(partial(ev.MixStirred, mix=mix.id, what=step.stir), told)


def empty(session: Session, mix: Mix, typed: str) -> Act:
    """Log that the cup was emptied, with how much was left in it where that is typed.

    Raises:
        NotAnAmount: what is typed is no amount, or more than was ever in the cup.
    """
    left: float | None = None
    if typed.strip():
        left = session.measures.volume(typed, unit=shop_of(session).unit.value).mL
        if left > mix.total_mL * (1 + 1e-9):
            held = volume_words(mix.total_mL, shop_of(session).unit)
            raise NotAnAmount(f"“{typed.strip()}” is more than went into this cup ({held}).")
    words = "Cup emptied." if left is None else f"Cup emptied, {pour_figure(left)} mL left over."
    return Act(partial(ev.CupEmptied, mix=mix.id, left_mL=left), words)
