"""What the record offers to a card, in the library or in the job in hand: taken only when the painter says so."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from enum import StrEnum
from functools import partial
from typing import Any

from msgspec.structs import replace

from benchtool.job import events as ev
from benchtool.job.cards import Card, CardTime, Origin, OriginKind
from benchtool.session.document import Document, NotNow
from benchtool.session.learning import Product
from benchtool.session.learningsums import FEW, OwnWait, learned_waits
from benchtool.session.library import NotKept
from benchtool.session.session import Session
from benchtool.sheets.sheetwords import waited
from benchtool.trade.numbers import shorten
from benchtool.trade.saying import say


class Into(StrEnum):
    """Which card an offer would change."""

    LIBRARY = "library"
    JOB = "job"


@dataclass(frozen=True, slots=True)
class Offer:
    """One wait that may be noted on one card. Nothing is changed by it until it is taken."""

    card: Card
    own: OwnWait
    into: Into
    document: Document | None = None

    @property
    def key(self) -> str:
        """What tells this offer from the others."""
        return f"{self.into.value}|{self.card.id}|{self.own.field}"

    @property
    def words(self) -> str:
        """Ask whether to note it."""
        told = {
            "own": waited(self.own.value),
            "n": self.own.cases,
            "card": waited(self.own.by_card),
            "where": self.where,
        }
        match self.own.time:
            case CardTime.FLASH:
                return say(
                    "You waited {own} between coats (median of {n}) where the card {where} says {card}: "
                    "note {own} as your own flash?",
                    **told,
                )
            case CardTime.RECOAT_OPENS:
                return say(
                    "You waited {own} before the next layer (median of {n}) where the card {where} says {card}: "
                    "note {own} as your own recoat time?",
                    **told,
                )
            case CardTime.TAPE:
                return say(
                    "Tape went on after {own} (median of {n}) where the card {where} says {card}: "
                    "note {own} as your own time before tape?",
                    **told,
                )
            case CardTime.CURE:
                return say(
                    "You left it {own} (median of {n}) where the card {where} says {card}: "
                    "note {own} as your own cure time?",
                    **told,
                )
            case _:
                return say(
                    "You let it stand {own} (median of {n}) where the card {where} says {card}: "
                    "note {own} as your own stand time?",
                    **told,
                )

    @property
    def where(self) -> str:
        """Name the card's place."""
        return say("in your library") if self.into is Into.LIBRARY else say("of the open job")

    @property
    def changes(self) -> str:
        """Say exactly what taking it changes."""
        told = {"field": field_words(self.own.time), "was": waited(self.own.by_card), "now": waited(self.own.value)}
        if self.into is Into.LIBRARY or self.document is None:
            return say(
                "{field} of {name} in your library goes from {was} to {now}, from your own measurement. "
                "Jobs that are begun keep their copy.",
                name=shorten(self.card.name),
                **told,
            )
        return say(
            "{field} of {name} in {job} goes from {was} to {now}, from your own measurement. "
            "Your library and coats already on stay as they are.",
            name=shorten(self.card.name),
            job=shorten(self.document.title),
            **told,
        )


def changed_words(offer: Offer) -> str:
    """Say what was changed when it was taken."""
    return say(
        "{field} of {name} {where} is {now} now, it was {was}.",
        field=field_words(offer.own.time),
        name=shorten(offer.card.name),
        where=offer.where,
        now=waited(offer.own.value),
        was=waited(offer.own.by_card),
    )


def field_words(time: CardTime) -> str:
    """Name a time as it stands on a card."""
    match time:
        case CardTime.STAND:
            return say("Stand time")
        case CardTime.STAND_REDUCED:
            return say("Stand time, reduced")
        case CardTime.POT_LIFE:
            return say("Pot life")
        case CardTime.FLASH:
            return say("Flash")
        case CardTime.RECOAT_OPENS:
            return say("Recoat")
        case CardTime.TAPE:
            return say("Before tape")
        case _:
            return say("Cure")


def offers_for(session: Session, product: Product, *, demo: bool = False) -> tuple[Offer, ...]:
    """Give what this product's record offers to its card in the library, and to the copy of the job in hand.

    Test strips and the demo teach the library nothing, and fewer than five cases teach nothing at all.
    """
    return () if product.strips or not product.card else tuple(_offers(session, product, demo=demo))


def _offers(session: Session, product: Product, *, demo: bool) -> Iterator[Offer]:
    waits = [c.of for t in product.times for c in t.cases]
    kept = None if demo else in_library(session, product.card)
    if kept is not None:
        yield from (Offer(kept, own, Into.LIBRARY) for own in learned_waits(kept, waits, least=FEW))
    document = session.current
    copy = document.state.cards.get(product.card) if document is not None else None
    if document is not None and copy is not None and not document.read_only and document.job.demo is demo:
        yield from (Offer(copy, own, Into.JOB, document) for own in learned_waits(copy, waits, least=FEW))


def in_library(session: Session, card_id: str) -> Card | None:
    """Find a card in the library."""
    if session.library is None:
        return None
    return next((c for c in session.library.look().cards if c.id.lower() == card_id.lower()), None)


# --- taking it ---------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Taken:
    """An offer that was taken, and what takes it back: the card as it was, or the events of the job."""

    offer: Offer
    before: Card
    after: Card
    events: tuple[str, ...] = ()


def with_own(card: Card, own: OwnWait, day: date) -> Card:
    """Give the card with this wait as the painter's own, and where it is from."""
    words = say("from my own record, median of {n}", n=own.cases)
    origin = Origin(kind=OriginKind.MEASURED, words=words, day=day.isoformat())
    changed: dict[str, Any] = {own.field: own.value, "origins": {**card.origins, own.field: origin}}
    return replace(card, **changed)


def take(session: Session, offer: Offer) -> Taken:
    """Change the card as the offer says, and nothing else.

    Raises:
        NotNow: the card is gone, was changed meanwhile, or can't be written.
    """
    now = _card_of(session, offer)
    if now is None:
        raise NotNow(say("{name} is gone: nothing is changed.", name=shorten(offer.card.name)))
    if getattr(now, offer.own.field) != offer.own.by_card:
        raise NotNow(say("{name} was changed meanwhile: look at it again.", name=shorten(now.name)))
    after = with_own(now, offer.own, session.now().astimezone().date())
    return Taken(offer, now, after, _write(session, offer, after))


def take_back(session: Session, taken: Taken) -> None:
    """Put back what an offer changed.

    Raises:
        NotNow: the card is gone, was changed since, or can't be written.
    """
    offer = taken.offer
    if _card_of(session, offer) != taken.after:
        raise NotNow(say("{name} was changed since: nothing is put back.", name=shorten(offer.card.name)))
    if offer.document is not None:
        session.apply_to(offer.document, partial(ev.Withdrawn, events=taken.events))
    else:
        _write(session, offer, taken.before)


def _card_of(session: Session, offer: Offer) -> Card | None:
    if offer.document is None:
        return in_library(session, offer.card.id)
    return offer.document.state.cards.get(offer.card.id) if offer.document in session.documents else None


def _write(session: Session, offer: Offer, card: Card) -> tuple[str, ...]:
    if offer.document is not None:
        return tuple(e.id for e in session.apply_to(offer.document, partial(ev.CardCopied, card=card)))
    if session.library is None:
        raise NotNow(say("There is no library here."))
    try:
        session.library.keep(card)
    except NotKept as fault:
        raise NotNow(str(fault)) from None
    return ()
