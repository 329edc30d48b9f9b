"""What the page of the card library shows: the lines of the list, the card in hand, what is amiss, who uses it."""

import re
from collections.abc import Iterable, Sequence
from typing import NamedTuple

from benchtool.job.cards import Card, Chemistry, OriginKind
from benchtool.session.carddiff import LayerUse, OtherCopy, users_of
from benchtool.session.cardfaultwords import fault_told
from benchtool.session.cardorigins import page_words
from benchtool.session.cardvalues import Group, card_values, named, origin_told
from benchtool.session.library import Shelf
from benchtool.session.session import Session
from benchtool.trade.durations import write_span
from benchtool.trade.numbers import shorten
from benchtool.trade.saying import say, say_n

MOST_FAULTS = 2
MOST_TITLE = 60
LONGEST_WORD = 24
SHOWN_NAME = 40


def soft(text: str) -> str:
    """Let a word that no line has room for be broken anywhere, and nothing be read that is no text."""
    plain = "".join(c if c.isprintable() or c == "\n" else " " for c in text)
    return re.sub(rf"\S{{{LONGEST_WORD},}}", lambda found: "\u200b".join(found[0]), plain)


def short_name(card: Card, most: int = SHOWN_NAME) -> str:
    """Name a card in a sentence or on a button."""
    return soft(shorten(card.name, most))


def kind_words(card: Card) -> str:
    """Say what kind of product it is: `two-part epoxy primer`."""
    parts = say("two-part") if card.two_part else say("one-part")
    chemistry = card.chemistry
    film = named(chemistry) if chemistry is not None and chemistry is not Chemistry.OTHER else ""
    return " ".join(x for x in (parts, film, named(card.duty)) if x)


def row_words(card: Card) -> str:
    """Say in a line the kind of product and the times that matter."""
    words = [kind_words(card)]
    if card.flash is not None:
        words.append(say("flash {time}", time=write_span(card.flash)))
    if card.pot_life is not None:
        words.append(say("pot life {time}", time=write_span(card.pot_life)))
    if card.recoat_opens is not None and card.recoat_closes is not None:
        opens, closes = write_span(card.recoat_opens), write_span(card.recoat_closes)
        words.append(say("recoat {opens} to {closes}", opens=opens, closes=closes))
    elif card.recoat_opens is not None:
        words.append(say("recoat after {time}", time=write_span(card.recoat_opens)))
    return ", ".join(words)


# --- the card in hand --------------------------------------------------------------------------------


class Line(NamedTuple):
    """One value of the card: its label, itself, where it comes from if that is said of it alone, if it is a guess."""

    label: str
    words: str
    origin: str = ""
    guess: bool = False


class Block(NamedTuple):
    """Lines that belong together, under their heading."""

    title: str
    lines: tuple[Line, ...]


def _titles() -> dict[Group, str]:
    return {
        Group.PRODUCT: say("The product"),
        Group.MIX: say("Mixing"),
        Group.TIMES: say("Times"),
        Group.FILM: say("Coats and film"),
        Group.AIR: say("Air and heat"),
        Group.CAN: say("In the can"),
        Group.REST: say("Besides"),
    }


def detail(card: Card) -> tuple[Block, ...]:
    """Give all that the card says, in blocks, each value with where it comes from."""
    blocks: dict[Group, list[Line]] = {}
    for value in card_values(card):
        if value.key == "maker" or (value.key == "name" and len(card.name) <= MOST_TITLE):
            continue  # they stand over it
        place = next((p for p in (value.key, value.key.partition(".")[0]) if p in card.origins), None)
        own = card.origin_of(place) if place is not None else card.origin_of("*")
        guess = own is not None and own.kind is OriginKind.GUESS
        origin = origin_told(own) if place is not None else ""
        blocks.setdefault(value.group, []).append(Line(value.label, value.words, origin, guess))
    titles = _titles()
    return tuple(Block(titles[group], tuple(blocks[group])) for group in Group if group in blocks)


def general_origin(card: Card) -> str:
    """Say where the values come from that have no origin of their own."""
    origin = card.origin_of("*")
    if origin is None:
        return say("Nobody wrote down where its values come from.")
    words = " ".join(origin.words.split()).rstrip(".")
    told = ", ".join(part for part in (words, page_words(origin.page), origin.day) if part)
    match origin.kind:
        case OriginKind.SHEET if not told:
            return say("The values are from a data sheet.")
        case OriginKind.SHEET if words and "sheet" not in words.casefold():
            return say("The values are from the data sheet: {which}.", which=told)
        case OriginKind.SHEET:
            return say("The values are from: {which}.", which=told)
        case OriginKind.MEASURED:
            return say("The values were measured: {how}.", how=told) if told else say("The values were measured.")
        case OriginKind.TOLD:
            return say("The values are as told: {who}.", who=told) if told else say("Somebody told the values.")
        case OriginKind.PRACTICE:
            practice = say("The values are common practice")
            return say("{practice}: {more}.", practice=practice, more=told) if told else f"{practice}."
        case OriginKind.GUESS:
            guess = say("The values are a guess")
            return say("{guess}: {more}.", guess=guess, more=told) if told else f"{guess}."


def check_words(card: Card) -> tuple[str, ...]:
    """Say what of the card does not agree with the rest of it, what must be wrong first."""
    from benchtool.job.cardchecks import card_checks  # not before a card is looked at

    found = sorted(card_checks(card), key=lambda check: not check.severe)
    return tuple(check.message for check in found)


def use_words(session: Session, card: Card) -> tuple[str, ...]:
    """Say in which open jobs the card is used, and for what."""
    return tuple(_used(document.title, layers) for document, layers in users_of(session, card))


def _used(title: str, layers: Sequence[LayerUse]) -> str:
    if not layers:
        return say("{job}: in the job, on no layer.", job=title)
    told = [_layer(x) for x in layers]
    return say("{job}: {layers}.", job=title, layers="; ".join(told))


def _layer(use: LayerUse) -> str:
    if use.begun:
        return say("{layer} on {piece}, begun", layer=use.layer, piece=use.piece)
    return say("{layer} on {piece}, not begun", layer=use.layer, piece=use.piece)


def copies_mark(copies: Sequence[OtherCopy]) -> str:
    """Say in a few words, beside a card of the list, which open jobs use another copy of it."""
    older = [copy for copy in copies if copy.older]
    if len(older) > 1:
        return say_n("older copy in {n} job", "older copy in {n} jobs", len(older))
    if older:
        return say("older copy in {job}", job=older[0].document.title)
    return say("newer copy in {job}", job=copies[0].document.title) if copies else ""


# --- the whole library -------------------------------------------------------------------------------


def fault_words(shelf: Shelf) -> str:
    """Say which files hold no card, the first ones with their place; nothing where all do."""
    if not shelf.faults:
        return ""
    told = " ".join(f"{fault_told(fault)}." for fault in shelf.faults[:MOST_FAULTS])
    n = len(shelf.faults)
    head = say_n("{n} file here holds no card:", "{n} files here hold no card:", n)
    rest = n - MOST_FAULTS
    more = say_n("`benchtool cards` names the other.", "`benchtool cards` names the other {n}.", rest)
    return f"{head} {told} {more if rest > 0 else ''}".rstrip()


def ring_words(cards: Iterable[Card]) -> str:
    """Say which cards wait for each other, so that none of them can be begun; nothing where none do."""
    every = list(cards)
    if not any(card.only_over for card in every):
        return ""
    from benchtool.job.cardchecks import only_over_cycles

    names = {card.id: card.name for card in every}
    told = [" → ".join(names.get(x, x) for x in (*ring, ring[0])) for ring in only_over_cycles(every)]
    return " ".join(say("{ring}: each may go only over the next, so none can be begun.", ring=ring) for ring in told)


def count_words(shown: int, of: int) -> str:
    """Say how many cards are shown of how many."""
    if shown == of:
        return say_n("{n:,} card", "{n:,} cards", of)
    return say("{n:,} of {of:,} cards", n=shown, of=of)
