"""Cards that go from one shop to another: out as one plain file or as text, in from files, folders and pasted text.

What comes in never takes the place of a card that is here unless the painter says so, card by card.
"""

from collections.abc import Generator, Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from enum import StrEnum
from pathlib import Path
from typing import cast

from msgspec.structs import replace

from benchtool.job.cards import Card
from benchtool.session.carddiff import Difference, differences, differing
from benchtool.session.cardfaultwords import fault_told
from benchtool.session.cardfields import LONGEST_NAME, free_slug
from benchtool.session.library import CardLibrary, NotKept, Progress
from benchtool.store import atomic
from benchtool.store.cardfiles import (
    Brought,
    CardFault,
    card_files,
    dump,
    dump_set,
    finished,
    load_any,
    loading_any,
    read_any,
    why,
)
from benchtool.trade.saying import say, say_n

__all__ = [
    "PASTED", "Brought", "Choice", "Clash", "Incoming", "Work", "cards_text", "export", "file_name", "held_against",
    "looks_like_cards", "pasted", "sources", "take_in", "taking_in",
]  # fmt: skip

Work = Iterator[Brought | Progress]
"""Reading files one after the other, a card at a time."""
PASTED = Path("pasted text")
"""What pasted text is called where something in it is wrong."""


# --- out ---------------------------------------------------------------------------------------------


def cards_text(cards: Sequence[Card]) -> str:
    """Write cards as the text of a file: one card as its own file has it, more as a set."""
    return (dump(cards[0]) if len(cards) == 1 else dump_set(cards)).decode("utf-8")


def file_name(cards: Sequence[Card]) -> str:
    """Suggest a name for the file that these go into."""
    return f"{cards[0].id}.json" if len(cards) == 1 else "cards.json"


def export(cards: Sequence[Card], path: Path) -> str:
    """Write cards into a new file; gives what to say.

    Raises:
        NotKept: there is nothing to write, a file of this name, or the disk does not take it.
    """
    if not cards:
        raise NotKept(say("There is no card to write: search for others, or for nothing."))
    try:
        if not path.parent.is_dir():
            raise NotKept(say("There is no folder {folder}: choose another one.", folder=path.parent))
        if path.exists():
            raise NotKept(say("{name} is there already: choose another name.", name=path.name))
        atomic.write(path, cards_text(cards).encode("utf-8"), keep=0)
    except (OSError, ValueError) as fault:
        raise NotKept(say("{name} could not be written ({why}).", name=path.name, why=why(fault))) from None
    return say_n("{n} card is in {path}.", "{n} cards are in {path}.", len(cards), path=path)


# --- in ----------------------------------------------------------------------------------------------


class Choice(StrEnum):
    """What becomes of a card that is here already and differs."""

    BOTH = "keep both"
    NEW = "take the new"
    MINE = "keep mine"


@dataclass
class Clash:
    """A card that is here already and differs: the painter's own, the one that comes, and what is chosen."""

    mine: Card
    new: Card
    choice: Choice | None = None
    found: tuple[Difference, ...] = field(init=False)

    def __post_init__(self) -> None:
        self.found = differences(self.mine, self.new)


@dataclass
class Incoming:
    """What one file brings, held against the library: what is new, what is here just so, and what clashes."""

    name: str
    fresh: tuple[Card, ...] = ()
    same: tuple[Card, ...] = ()
    clashes: tuple[Clash, ...] = ()
    broken: tuple[str, ...] = ()

    @property
    def undecided(self) -> Clash | None:
        """The first card that the painter has still to decide on."""
        return next((c for c in self.clashes if c.choice is None), None)

    def choose(self, choice: Choice, *, all_left: bool = False) -> None:
        """Decide on the first card that is undecided, or on all of them."""
        for clash in self.clashes:
            if clash.choice is None:
                clash.choice = choice
                if not all_left:
                    return


def sources(paths: Iterable[Path]) -> Work:
    """Read each of these files, and each of these folders as if it was one file, a card at a time."""
    for path in paths:
        try:
            files = list(card_files(path))
        except OSError as fault:
            yield Brought(path, (), (_unreadable(path, fault),))
            continue
        if files == [path]:
            yield (yield from _of_file(path))
        else:
            yield (yield from _of_folder(path, files))


def _of_file(path: Path) -> Generator[Progress, None, Brought]:
    work = loading_any(path)
    while True:
        try:
            yield Progress(*next(work))
        except StopIteration as end:
            return cast("Brought", end.value)


def _of_folder(folder: Path, files: Sequence[Path]) -> Generator[Progress, None, Brought]:
    cards: dict[str, Card] = {}
    faults: list[CardFault] = []
    for i, file in enumerate(files, 1):
        yield Progress(i, len(files))
        brought = load_any(file)
        faults += brought.faults
        for card in brought.cards:
            if cards.setdefault(card.id.lower(), card) != card:
                message = say("another card of the id “{id}” came before it", id=card.id)
                faults.append(CardFault(file, message))
    return Brought(folder, tuple(cards.values()), tuple(faults))


def _unreadable(path: Path, fault: OSError) -> CardFault:
    return CardFault(path, say("this folder can't be looked into ({why})", why=why(fault)))


def pasted(text: str) -> Brought:
    """Read pasted text as a file is read; half a character in it is told."""
    try:
        return read_any(PASTED, text.encode("utf-8"))
    except UnicodeEncodeError:
        return Brought(PASTED, (), (CardFault(PASTED, say("a text holds half a character")),))


def looks_like_cards(text: str) -> bool:
    """Whether pasted text may be cards and not words to search for."""
    return text.lstrip("\ufeff \t\r\n").startswith("{")


def held_against(library: CardLibrary, brought: Brought) -> Incoming:
    """Hold what a file brings against what is in the library now."""
    mine = {card.id.lower(): card for card in library.look().cards}
    incoming = Incoming(brought.path.name, broken=tuple(fault_told(f) for f in brought.faults))
    for card in brought.cards:
        own = mine.get(card.id.lower())
        if own is None:
            incoming.fresh += (card,)
        elif differing(own, card):
            incoming.clashes += (Clash(own, card),)
        else:
            incoming.same += (card,)
    return incoming


def take_in(library: CardLibrary, incoming: Incoming) -> str:
    """Write what one file brings, all of it or nothing; gives what to say. What is undecided stays as it is here.

    Raises:
        NotKept: nothing was written.
    """
    return finished(taking_in(library, incoming))


def taking_in(library: CardLibrary, incoming: Incoming) -> Generator[Progress, None, str]:
    """Do the same a card at a time; it comes to what to say.

    Raises:
        NotKept: nothing was written.
    """
    taken = {card.id.lower() for card in (*library.look().cards, *incoming.fresh)}
    names = {card.name for card in library.look().cards}
    wanted = list(incoming.fresh)
    counts = dict.fromkeys(Choice, 0)
    for clash in incoming.clashes:
        choice = clash.choice or Choice.MINE
        counts[choice] += 1
        if choice is Choice.NEW:
            wanted.append(replace(clash.new, id=clash.mine.id))
        elif choice is Choice.BOTH:
            card = _second(clash.new, taken, names)
            taken.add(card.id.lower())
            names.add(card.name)
            wanted.append(card)
    yield from library.keeping_all(wanted)
    return _words(incoming, counts)


def _second(card: Card, taken: Iterable[str], names: Iterable[str]) -> Card:
    """Give a card an id and a name that no other has, so that both can be told apart."""
    number, name = 2, card.name
    while name in names:
        mark = f" ({number})"
        name = card.name[: LONGEST_NAME - len(mark)] + mark
        number += 1
    return replace(card, id=free_slug(card.id, taken), name=name)


def _words(incoming: Incoming, counts: dict[Choice, int]) -> str:
    fresh = len(incoming.fresh) + counts[Choice.BOTH]
    parts = [say_n("{n} card came in", "{n} cards came in", fresh)] if fresh else []
    if counts[Choice.NEW]:
        parts.append(say_n("{n} took the place of yours", "{n} took the place of yours", counts[Choice.NEW]))
    if counts[Choice.MINE]:
        parts.append(say_n("{n} of yours stayed", "{n} of yours stayed", counts[Choice.MINE]))
    if incoming.same:
        parts.append(say_n("{n} is here just so", "{n} are here just so", len(incoming.same)))
    if incoming.broken:
        parts.append(say_n("{n} could not be read", "{n} could not be read", len(incoming.broken)))
    told = ", ".join(parts) or say("there is no card in it")
    return say("{name}: {told}.", name=incoming.name, told=told)
