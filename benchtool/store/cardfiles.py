"""What a file of cards holds: one card, or a set of them that goes from one shop to another."""

from collections.abc import Generator, Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import timedelta
from pathlib import Path
from typing import Annotated, Any, TypeVar, cast

import msgspec
from msgspec import DecodeError, Meta, Struct, ValidationError

from benchtool.job.cards import Card
from benchtool.job.validate import card_faults
from benchtool.store.faults import Unreadable, malformed, misshapen
from benchtool.store.files import NotOrdinary, TooLarge, one_line, read_file
from benchtool.store.jobfile import iso_duration, iso_nested, require_single_keys

FORMAT = "bench card"
SET_FORMAT = "bench cards"
SCHEMA = 5
"""An older card says less and opens as it stands: 1 had no contents, shelf life or spray viscosity, 2 no forced dry
and no films, 3 no chemistry, no additives and no origins with their page, 4 not when a piece may be used. A set has
the schema of its cards."""
LARGEST = 1024 * 1024
"""Bytes that no card reaches: a full one is some 2 kB (judgement, no source)."""
LARGEST_SET = 64 * 1024 * 1024
"""Bytes that no set reaches: ten thousand cards are some 25 MB (judgement, no source)."""
_BOM = b"\xef\xbb\xbf"


class _CardFile(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    format: Annotated[str, Meta(pattern=f"^{FORMAT}$")]
    schema: Annotated[int, Meta(ge=1, le=SCHEMA)]
    card: Card


class _SetFile(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    format: Annotated[str, Meta(pattern=f"^{SET_FORMAT}$")]
    schema: Annotated[int, Meta(ge=1, le=SCHEMA)]
    cards: list[msgspec.Raw]


class _Head(Struct):
    format: Any = None
    schema: Any = None


_files = msgspec.json.Decoder(_CardFile)
_sets = msgspec.json.Decoder(_SetFile)
_cards = msgspec.json.Decoder(Card)
_heads = msgspec.json.Decoder(_Head)


@dataclass(frozen=True, slots=True)
class CardFault:
    """A card file, or a card in a set, that can't be used: the path, what is wrong in plain words, and the place."""

    path: Path
    message: str
    place: str = ""

    def __str__(self) -> str:
        where = f" (at {self.place})" if self.place else ""
        return f"{one_line(self.path.name)}: {self.message}{where}"


@dataclass(frozen=True, slots=True)
class Brought:
    """The cards of one file, in its order, and what in it is none."""

    path: Path
    cards: tuple[Card, ...] = ()
    faults: tuple[CardFault, ...] = ()


# --- reading -----------------------------------------------------------------------------------------


def load(path: Path) -> Card | CardFault:
    """Read one card file, or say what is wrong with it and where."""
    try:
        return parse(_content(path, LARGEST, "a card"))
    except Unreadable as wrong:
        return _fault(path, wrong)


def load_any(path: Path) -> Brought:
    """Read a file of one card or of a set. A card of a set that can't be read is told; the rest is there."""
    return finished(loading_any(path))


def loading_any(path: Path) -> Generator[tuple[int, int], None, Brought]:
    """Do the same a card at a time; gives how many of how many were read, and comes to what was."""
    try:
        data = _content(path, LARGEST_SET, "a set of cards")
    except Unreadable as wrong:
        return Brought(path, (), (_fault(path, wrong),))
    return (yield from reading_any(path, data))


Result = TypeVar("Result")


def finished(work: Generator[Any, None, Result]) -> Result:
    """Do all of some work that comes in steps; gives what it comes to."""
    while True:
        try:
            next(work)
        except StopIteration as end:
            return cast("Result", end.value)


def read_any(path: Path, data: bytes) -> Brought:
    """Read the content of such a file, or the same pasted; `path` is what the faults call it."""
    return finished(reading_any(path, data))


def reading_any(path: Path, data: bytes) -> Generator[tuple[int, int], None, Brought]:
    """Do the same a card at a time; gives how many of how many were read, and comes to what was."""
    data = data.removeprefix(_BOM)
    try:
        if _head(data, (FORMAT, SET_FORMAT)) == FORMAT:
            return Brought(path, (parse(data),))
        raws = _decoded(data, _sets).cards
    except Unreadable as wrong:
        return Brought(path, (), (_fault(path, wrong),))
    cards: dict[str, Card] = {}
    faults = []
    for i, raw in enumerate(raws):
        place = f"$.cards[{i}]"
        yield i, len(raws)
        try:
            card = _one(bytes(raw), place)
        except Unreadable as wrong:
            faults.append(_fault(path, wrong))
            continue
        if cards.setdefault(card.id.lower(), card) != card:
            faults.append(CardFault(path, f"there is another card of the id “{card.id}” in it already", f"{place}.id"))
    return Brought(path, tuple(cards.values()), tuple(faults))


def _content(path: Path, most: int, what: str) -> bytes:
    try:
        return read_file(path, most).removeprefix(_BOM)
    except TooLarge:
        raise Unreadable(f"It is far too large for {what}") from None
    except (NotOrdinary, IsADirectoryError):
        raise Unreadable("It is no ordinary file") from None
    except (OSError, ValueError) as fault:
        raise Unreadable(f"It can't be read from the disk ({why(fault)})") from None


def _fault(path: Path, wrong: Unreadable) -> CardFault:
    return CardFault(path, wrong.wrong[:1].lower() + wrong.wrong[1:], wrong.place)


def parse(data: bytes) -> Card:
    """Read the content of a card file.

    Raises:
        Unreadable: it is none; says what is wrong and where.
    """
    _head(data, (FORMAT,))
    card: Card = _decoded(data, _files).card
    return _sound(card, "$.card")


def _head(data: bytes, formats: Sequence[str]) -> str:
    if not data.strip():
        raise Unreadable("The file is empty")
    head = _decoded(data, _heads)
    if head.format not in formats:
        raise Unreadable(f"This is not a card file (its “format” is not “{formats[0]}”)", "$.format")
    if type(head.schema) is int and head.schema > SCHEMA:
        raise Unreadable("It was made by a newer version of this tool", "$.schema")
    return str(head.format)


def _one(data: bytes, place: str) -> Card:
    return _sound(_decoded(data, _cards, place), place)


def _sound(card: Card, place: str) -> Card:
    fault = next(card_faults(card), None)
    if fault is not None:
        raise Unreadable(one_line(fault[1]), f"{place}{fault[0]}")
    return card


def _decoded(data: bytes, decoder: "msgspec.json.Decoder[Any]", place: str = "$") -> Any:
    try:
        read = decoder.decode(data)
        if decoder is not _heads and decoder is not _sets:
            require_single_keys(data, place)
    except ValidationError as wrong:
        raise misshapen(_with_key(data, decoder, str(wrong)), place) from None
    except DecodeError as wrong:
        raise malformed(data, str(wrong)) from None
    except UnicodeDecodeError:
        raise Unreadable("This is no UTF-8 text") from None
    except (RecursionError, OverflowError):
        raise Unreadable("This is not a card file") from None
    return read


_ANY_KEY = "[...]"


def _with_key(data: bytes, decoder: "msgspec.json.Decoder[Any]", message: str) -> str:
    """Name the key of a table in which the reader found something wrong, for it only says `[...]` there."""
    if _ANY_KEY not in message:
        return message
    try:
        plain = msgspec.json.decode(data)
    except (DecodeError, UnicodeDecodeError):
        return message
    steps = message.partition(" - at `$")[2].partition(_ANY_KEY)[0].strip(".").split(".")
    table = plain
    for step in steps:
        table = table.get(step) if isinstance(table, dict) else None
    if not isinstance(table, dict):
        return message
    whole = dict(table)
    for key in whole:
        table.clear()
        table[key] = whole[key]
        try:
            decoder.decode(msgspec.json.encode(plain))
        except ValidationError as wrong:
            if str(wrong) == message:
                return message.replace(_ANY_KEY, f'["{one_line(key, 60)}"]', 1)
    return message


# --- writing -----------------------------------------------------------------------------------------


def dump(card: Card) -> bytes:
    """Write a card as it stands in its file: UTF-8, indented, times as its sheet has them (`PT15M`).

    Raises:
        ValueError: the card holds what no file can: half of a character.
    """
    return _document({"format": FORMAT, "schema": SCHEMA, "card": _plain(card)})


def dump_set(cards: Iterable[Card]) -> bytes:
    """Write a set of cards, each as in a file of its own.

    Raises:
        ValueError: a card holds what no file can: half of a character.
    """
    return _document({"format": SET_FORMAT, "schema": SCHEMA, "cards": [_plain(card) for card in cards]})


def _document(told: dict[str, Any]) -> bytes:
    return msgspec.json.format(msgspec.json.encode(told), indent=2) + b"\n"


def _plain(card: Card) -> dict[str, Any]:
    plain: dict[str, Any] = msgspec.to_builtins(card, builtin_types=(timedelta,), order="deterministic")
    told = {k: iso_duration(v) if isinstance(v, timedelta) else v for k, v in plain.items()}
    return told | iso_nested(plain)


def why(fault: OSError | ValueError) -> str:
    """Say in a few words why the disk did not do it."""
    told = fault.strerror if isinstance(fault, OSError) else str(fault)
    return one_line(told or type(fault).__name__)


# --- finding the files -------------------------------------------------------------------------------


def card_files(path: Path) -> Iterator[Path]:
    """Give the file itself, or of a folder the JSON files in it by name.

    Raises:
        OSError: the folder can't be looked into.
    """
    if not path.is_dir():
        yield path
        return
    names = sorted(p.name for p in path.iterdir() if p.suffix.lower() == ".json" and not p.name.startswith("."))
    yield from (path / name for name in names)
