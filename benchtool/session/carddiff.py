"""A card changed later: what is different, which open jobs use another copy, and taking the new one into a job."""

from collections.abc import Callable, Iterable, Sequence
from datetime import datetime
from functools import partial
from typing import NamedTuple

from msgspec.structs import replace

from benchtool.job import events as ev
from benchtool.job.cards import Card, Origin, OriginKind
from benchtool.job.record import standing
from benchtool.job.stack import LayerState
from benchtool.session.cardvalues import card_values, origin_told
from benchtool.session.document import Document
from benchtool.session.library import Shelf
from benchtool.session.session import Session
from benchtool.trade.numbers import shorten
from benchtool.trade.saying import say, say_n

LONGEST_TOLD = 200
"""Letters of one difference that are shown: a note may be pages."""
_OF_NO_MATTER = ("name", "note", "origins")
"""What changes no sum, no time and no finding."""


class Difference(NamedTuple):
    """One value that is different: its place on the card, its label, what it was and is; empty where not given.

    It `matters` where a sum, a time or a finding may come out otherwise.
    """

    key: str
    label: str
    was: str
    now: str
    matters: bool

    @property
    def words(self) -> str:
        """Say it, as in `Flash: 15 min, was 10 min`, as a sentence."""
        was, now = self.was.rstrip("."), self.now.rstrip(".")
        if not self.was:
            return say("{label}: {now}, was not given.", label=self.label, now=now)
        if not self.now:
            return say("{label}: not given any more, was {was}.", label=self.label, was=was)
        return say("{label}: {now}, was {was}.", label=self.label, now=now, was=was)

    @property
    def compared(self) -> str:
        """Say it of two cards of which one is the painter's own and the other comes in, each by its side."""
        was, now = self.was.rstrip("."), self.now.rstrip(".")
        if not self.was:
            return say("{label}: yours says nothing, the new one {now}.", label=self.label, now=now)
        if not self.now:
            return say("{label}: yours {was}, the new one says nothing.", label=self.label, was=was)
        return say("{label}: yours {was}, the new one {now}.", label=self.label, was=was, now=now)


def differences(old: Card, new: Card) -> tuple[Difference, ...]:
    """Say in what `new` is different from `old`, in the order of the card, what matters first; nothing of their ids."""
    was, now = ({v.key: v for v in card_values(card)} for card in (old, new))
    found = []
    for key in dict.fromkeys([*now, *was]):
        before, after = was.get(key), now.get(key)
        if before is None or after is None or before.words != after.words:
            label = (after or before or next(iter(now.values()))).label
            told = (before.words if before is not None else "", after.words if after is not None else "")
            found.append(Difference(key, label, *told, key.partition(".")[0] not in _OF_NO_MATTER))
    found.sort(key=lambda d: not d.matters)
    found += _origins(old, new)
    if not found and replace(old, id=new.id) != new:
        otherwise, here = say("otherwise"), say("as here")
        found.append(Difference("order", say("How it is written"), otherwise, here, matters=False))
    return tuple(found)


def _origins(old: Card, new: Card) -> list[Difference]:
    labels = {v.key: v.label for card in (old, new) for v in card_values(card)}
    found = []
    for key in dict.fromkeys([*new.origins, *old.origins]):
        before, after = (card.origins.get(key) for card in (old, new))
        if before != after and _as_origin(before) != _as_origin(after):
            name = labels.get(key, key.replace("_", " "))
            label = say("Where it is from") if key == "*" else say("{value}, where from", value=name)
            told = (origin_told(_as_origin(before)), origin_told(_as_origin(after)))
            found.append(Difference(f"origins.{key}", label, *told, matters=False))
    return found


def _as_origin(said: str | Origin | None) -> Origin | None:
    if isinstance(said, str):
        return Origin(kind=OriginKind.SHEET, words=said) if said else None
    return said


def differences_words(
    found: Sequence[Difference],
    most: int = 3,
    between: str = " ",
    told: Callable[[str], str] = str,
    *,
    compared: bool = False,
) -> str:
    """Say the first few differences, each made fit by `told` and no longer than a few lines, and how many more.

    Either as what was and is, or `compared`: what the painter's own says and what comes in.
    """
    said = (d.compared if compared else d.words for d in found[:most])
    shown = between.join(told(shorten(words, LONGEST_TOLD)) for words in said)
    rest = len(found) - most
    if rest <= 0:
        return shown
    more = say_n("One more value is different.", "{n} more values are different.", rest)
    return f"{shown}{between}{more}"


# --- open jobs ---------------------------------------------------------------------------------------


class LayerUse(NamedTuple):
    """A layer of a job that is of the card: its name, its piece's, and whether a coat was begun."""

    layer: str
    piece: str
    begun: bool


class OtherCopy(NamedTuple):
    """An open job whose own copy of a card is not the library's: `older` where the library's was written later."""

    document: Document
    copy: Card
    card: Card
    older: bool
    found: tuple[Difference, ...]
    layers: tuple[LayerUse, ...]

    @property
    def words(self) -> str:
        """Say which job it is and what it uses the copy for."""
        title = self.document.title
        used = say_n("{n} layer of it", "{n} layers of it", len(self.layers)) if self.layers else say("no layer of it")
        on = sum(x.begun for x in self.layers)
        begun = say_n("{n} begun", "{n} begun", on) if on else say("none begun")
        told = f"{used}, {begun}" if self.layers else used
        if self.older:
            return say("{title} uses an older copy ({used}).", title=title, used=told)
        return say("{title} uses a copy of its own that is newer ({used}).", title=title, used=told)


def layers_of(document: Document, card_id: str) -> tuple[LayerUse, ...]:
    """Give the layers of a job that are of this card."""
    state = document.state
    return tuple(
        LayerUse(state.layer_name(layer), piece.piece.name, layer.started)
        for piece in state.pieces.values()
        for layer in piece.layers
        if layer.plan.card.lower() == card_id.lower()
    )


def users_of(session: Session, card: Card) -> tuple[tuple[Document, tuple[LayerUse, ...]], ...]:
    """Give the open jobs that hold a copy of this card, with their layers of it."""
    return tuple((d, layers_of(d, card.id)) for d in session.documents if _copy(d, card) is not None)


def _copy(document: Document, card: Card) -> Card | None:
    own = document.state.cards.get(card.id)
    return own or next((c for c in document.state.cards.values() if c.id.lower() == card.id.lower()), None)


def other_copies(session: Session, cards: Iterable[Card] | None = None) -> tuple[OtherCopy, ...]:
    """Give the open jobs that use another copy of these cards of the library, or of all of them."""
    if session.library is None:
        return ()
    shelf = session.library.look().cards if cards is None else tuple(cards)
    held = {c.id.lower() for d in session.documents for c in d.state.cards.values()}
    found = []
    for card in shelf:
        if card.id.lower() not in held:
            continue
        changed_at = session.library.changed_at(card.id)
        for document in session.documents:
            copy = _copy(document, card)
            if copy is not None and differing(copy, card):
                copied_at = _copied_at(document, copy)
                older = changed_at is None or copied_at is None or changed_at >= copied_at
                layers = layers_of(document, card.id)
                found.append(OtherCopy(document, copy, card, older, differences(copy, card), layers))
    return tuple(found)


def older_copies(session: Session, cards: Iterable[Card] | None = None) -> tuple[OtherCopy, ...]:
    """Give the open jobs that use an older copy of these cards of the library, or of all of them."""
    return tuple(copy for copy in other_copies(session, cards) if copy.older)


class OlderCopies:
    """How many cards of a job are older than the library's: asked at any moment, worked out when something changed.

    The disk is not asked: what the library does not know yet counts for nothing until somebody has looked at it.
    """

    def __init__(self, session: Session) -> None:
        self._session = session
        self._kept: dict[int, tuple[Shelf, tuple[Card, ...], int]] = {}

    def count(self, document: Document) -> int:
        """Give how many cards of this job have an older copy in it."""
        library = self._session.library
        shelf = library.known() if library is not None else None
        if shelf is None:
            return 0
        own = tuple(document.state.cards.values())
        kept = self._kept.get(id(document))
        if kept is None or kept[0] is not shelf or kept[1] != own:
            ids = {card.id.lower() for card in own}
            cards = [card for card in shelf.cards if card.id.lower() in ids]
            older = sum(copy.document is document for copy in older_copies(self._session, cards))
            kept = (shelf, own, older)
            here = {id(d) for d in self._session.documents}
            self._kept = {key: value for key, value in self._kept.items() if key in here} | {id(document): kept}
        return kept[2]

    def words(self, document: Document) -> str:
        """Say it in a few words; nothing where none is older."""
        n = self.count(document)
        return say_n("{n} card is newer in your library: V", "{n} cards are newer in your library: V", n) if n else ""


def differing(copy: Card, card: Card) -> bool:
    """Whether two cards of one id say something different."""
    return replace(copy, id=card.id) != card


def _copied_at(document: Document, copy: Card) -> datetime | None:
    times = [e.at for _, e in standing(document.job.events) if isinstance(e, ev.CardCopied) and e.card.id == copy.id]
    return times[-1] if times else None


def copies_words(session: Session, card: Card) -> str:
    """Say, after a card was kept in the library, how many open jobs use an older copy; nothing where none does."""
    n = len({id(copy.document) for copy in older_copies(session, (card,))})
    if not n:
        return ""
    return say_n(
        "{n} open job uses the older copy: press V to see what is different.",
        "{n} open jobs use the older copy: press V to see what is different.",
        n,
    )


def take_new(session: Session, copy: OtherCopy) -> str:
    """Take the library's card into the job, as one act; gives what to say. Coats that are on keep their card.

    Raises:
        NotNow: the job is read-only.
    """
    card = replace(copy.card, id=copy.copy.id)
    session.apply_to(copy.document, partial(ev.CardCopied, card=card))
    begun = any(x.begun for x in copy.layers)
    said = say("{title} uses the new card of {name} from now on.", title=copy.document.title, name=shorten(card.name))
    if begun:
        said += " " + say("Coats already on and cups already mixed keep the old one.")
    gone = _gone(copy, card)
    if gone:
        said += " " + say("{names} of its layers is not on the new card: choose another.", names=", ".join(gone))
    return said


def _gone(copy: OtherCopy, card: Card) -> list[str]:
    """Give the activators and additives, by name, that a layer of the job plans and the new card has no more."""
    names: dict[str, None] = {}
    layers: Iterable[LayerState] = copy.document.state.layers.values()
    for layer in layers:
        if layer.plan.card != copy.copy.id:
            continue
        lost = copy.copy.activator(layer.plan.activator)
        if lost is not None and card.activator(lost.id) is None:
            names[lost.name] = None
        for additive in (copy.copy.additive(x) for x in layer.plan.additives):
            if additive is not None and card.additive(additive.id) is None:
                names[additive.name] = None
    return list(names)
