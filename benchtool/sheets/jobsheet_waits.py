"""The waits of a job as they were kept: before a coat, and in a cup. Each in a few words, none judged by the rules."""

from datetime import datetime, timedelta

from benchtool.job import events as ev
from benchtool.job.cards import Card, CardTime
from benchtool.job.state import Coat, LayerState, Mix, PieceState
from benchtool.job.windows import coats_within, pot_life_span, stand_span
from benchtool.sheets.sheetwords import needed, reaches, waited
from benchtool.trade.mixing import PartKind
from benchtool.trade.saying import say


def before_coat(piece: PieceState, layer: LayerState, coat: Coat) -> str:
    """Say how long a coat waited for the one under it, and whether that was within its window; "" for the first one."""
    if coat.number > 1:
        last = layer.coats[coat.number - 2]
        return _flash(piece, layer, last, coat) if last.done_at is not None else _never_ended()
    under = _under(piece, layer, coat.started_at)
    if under is None:
        return ""
    below, last = under
    return _recoat(piece, below, last, coat) if last.done_at is not None else _never_ended()


def _never_ended() -> str:
    return say("the end of the coat under it is not logged")


def _under(piece: PieceState, layer: LayerState, start: datetime) -> tuple[LayerState, Coat] | None:
    """Give the coat that a layer's first one went on: the newest of the layer right below that had any by then."""
    for below in reversed(piece.layers[: piece.place(layer)]):
        coats = [coat for coat in below.coats if coat.started_at <= start]
        if coats:
            return below, coats[-1]
    return None


def _flash(piece: PieceState, layer: LayerState, last: Coat, coat: Coat) -> str:
    card, done = last.card, last.done_at
    if done is None:
        return ""
    told = _since(coat.started_at - done, say("coat {n}", n=last.number))
    if card is None or card.flash is None:
        return f"{told}; {say('the card gives no flash')}"
    opens = layer.ends(done, card.flash, card, CardTime.FLASH, last)
    most, time = coats_within(card) or (None, CardTime.FLASH_CLOSES)
    closes = _closes(layer, last, done, card, most, time)
    said = _kept(coat.started_at, done, opens, closes, card.flash, most)
    if time is CardTime.RECOAT_CLOSES and closes is not None and coat.started_at >= closes:
        said += _scuffed_words(piece, layer, closes, coat.started_at)
    return f"{told}: {said}"


def _recoat(piece: PieceState, below: LayerState, last: Coat, coat: Coat) -> str:
    card, done = last.card, last.done_at
    if done is None:
        return ""
    told = _since(coat.started_at - done, say("the layer under it"))
    if card is None or (card.recoat_opens is None and card.flash is None):
        return f"{told}; {say('its card gives no recoat time')}"
    if card.recoat_opens is not None:
        wait, time = card.recoat_opens, CardTime.RECOAT_OPENS
    else:
        wait, time = card.flash or timedelta(0), CardTime.FLASH
    opens = below.ends(done, wait, card, time, last)
    closes = _closes(below, last, done, card, card.recoat_closes, CardTime.RECOAT_CLOSES)
    said = _kept(coat.started_at, done, opens, closes, wait, card.recoat_closes)
    if closes is not None and coat.started_at >= closes:
        said += _scuffed_words(piece, below, closes, coat.started_at)
    return f"{told}: {said}"


def _scuffed_words(piece: PieceState, layer: LayerState, closed: datetime, start: datetime) -> str:
    scuffed = _scuffed(piece, layer, closed, start)
    return "; " + (say("scuffed first") if scuffed else say("no scuff logged since"))


def _since(wait: timedelta, what: str) -> str:
    if wait < timedelta(0):
        return say("begun {wait} before {what} was done", wait=needed(-wait), what=what)
    return say("{wait} after {what}", wait=waited(wait), what=what)


def _closes(
    layer: LayerState, last: Coat, done: datetime, card: Card, most: timedelta | None, time: CardTime
) -> datetime | None:
    return None if most is None else layer.ends(done, most, card, time, last)


def _kept(
    start: datetime, done: datetime, opens: datetime, closes: datetime | None, least: timedelta, most: timedelta | None
) -> str:
    """Hold a wait against its window."""
    card = say("card {least}", least=needed(least))
    if most is not None:
        card = say("card {least} to {most}", least=needed(least), most=needed(most))
    if not reaches(opens):
        return say("too soon, in that air it does not dry ({card})", card=card)
    if opens - done > least + timedelta(seconds=59):
        card = say("{card}, here {wait}", card=card, wait=needed(opens - done))
    elif opens < done + least:
        card = say("{card}, in heat or warm air {wait}", card=card, wait=needed(opens - done))
    if start < opens:
        return say("{wait} too soon ({card})", wait=needed(opens - start), card=card)
    if start == closes:
        return say("just as it closed ({card})", card=card)
    if closes is not None and start > closes:
        return say("{wait} after it had closed ({card})", wait=waited(start - closes), card=card)
    return say("kept ({card})", card=card)


def _scuffed(piece: PieceState, layer: LayerState, closed: datetime, start: datetime) -> bool:
    by = (ev.Prep.SCUFF, ev.Prep.ABRADE)
    return any(s.step in by and s.on_layer == layer.id and closed <= s.at <= start for s in piece.steps)


# --- in the cup ------------------------------------------------------------------------------------------


def stand_words(mix: Mix, first: datetime | None) -> str:
    """Say how long a cup stood before its first coat (at `first`, None for none), and whether that was long enough."""
    card = mix.card
    if card is None or (card.stand is None and card.stand_reduced is None):
        return say("the card gives none")
    found = stand_span(card, mix)
    if found is None:
        return say("not logged: no stirring that it counts from")
    span, _ = found
    asked = say("card {wait}", wait=needed(_stand_of(card, mix)))
    if first is None:
        return say("not sprayed ({card})", card=asked)
    if span.started_at > first:
        return say("stirred again after its first coat ({card})", card=asked)
    stood = waited(first - span.started_at)
    if first < span.opens_at:
        if span.never:
            return say("{stood}: too short in that air ({card})", stood=stood, card=asked)
        return say("{stood}: {wait} too short ({card})", stood=stood, wait=needed(span.opens_at - first), card=asked)
    return say("{stood}: kept ({card})", stood=stood, card=asked)


def _stand_of(card: Card, mix: Mix) -> timedelta:
    """Give the stand time that ends last, as `stand_span` finds it."""
    reduced, activated = mix.stirred.get(ev.Stirred.REDUCED), mix.stood_from
    ends = []
    if reduced is not None and card.stand_reduced is not None:
        ends.append((mix.air.ends(reduced, card.stand_reduced, card, CardTime.STAND_REDUCED), card.stand_reduced))
    if activated is not None and card.stand is not None:
        ends.append((mix.air.ends(activated, card.stand, card, CardTime.STAND), card.stand))
    return max(ends, key=lambda e: e[0])[1] if ends else timedelta(0)


def life_words(mix: Mix, last: datetime | None) -> str:
    """Say whether a cup was sprayed within its pot life, by its last coat's start (None for no coat)."""
    if not mix.has(PartKind.ACTIVATOR):
        return say("has no activator")
    if mix.card is None or mix.card.pot_life is None:
        return say("the card gives none")
    span = pot_life_span(mix.card, mix)
    if span is None or span.closes_at is None:
        return say("not logged: no activator poured or stirred in")
    asked = say("card {wait}", wait=waited(mix.card.pot_life))
    if last is None:
        return say("not sprayed ({card})", card=asked)
    if last >= span.closes_at:
        return say("last coat {wait} after it ended ({card})", wait=waited(last - span.closes_at), card=asked)
    return say("kept ({card})", card=asked)
