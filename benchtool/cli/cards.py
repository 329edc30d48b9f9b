"""`benchtool cards`: look through the card library, write cards to a file, bring cards in."""

import argparse
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

from benchtool.cli.common import FINE, TROUBLE, Answer, Commands, Means, Parser, Unusable, printable
from benchtool.trade.saying import say

if TYPE_CHECKING:
    from benchtool.job.cards import Card
    from benchtool.session.cardmoving import Incoming
    from benchtool.session.library import CardLibrary, Shelf

MOST_DIFFERENCES = 8
CHOICES = ("mine", "new", "both")


def add(commands: Commands) -> Parser:
    """Say what the command takes."""
    cards: Parser = commands.add_parser(
        "cards",
        help="look through your card library, write cards to a file, bring cards in",
        description="Look through your card library, write the cards found to a file, bring cards in.",
        epilog=(
            "examples:\n"
            "  benchtool cards\n"
            "  benchtool cards epoxy 'pot life>1h'\n"
            "  benchtool cards 'chemistry:urethane' 'flash<10min' --export urethanes.json\n"
            "  benchtool cards --import from-a-friend.json more-cards/\n\n"
            "Words are looked for in names, makers, uses, chemistries, activators, notes and origins. What a card\n"
            'gives is asked as flash<10min, recoat>=2h, solids>50, chemistry:epoxy, maker:"a name".\n'
            "A card that is in the library already and differs stays as it is and is told; with --keep new the\n"
            "one that comes takes its place, with --keep both it is kept beside it.\n"
            "Exit status: 0 fine, 1 a file holds no card or a card differs from yours, 2 the input can't be used."
        ),
    )
    cards.add_argument("words", nargs="*", metavar="WORDS", help="what to look for")
    cards.add_argument("--export", metavar="FILE", help="write the cards found to a new file")
    cards.add_argument("--import", dest="bring", nargs="+", metavar="FILE", help="bring in cards of files or folders")
    cards.add_argument("--keep", choices=CHOICES, help="which of two cards of one id that differ (mine)")
    return cards


def answer(args: argparse.Namespace, means: Means) -> Answer:
    """Bring in what is to be brought in, look for the words, write what was found."""
    if means.library is None:
        raise Unusable("There is no card library here.")
    if args.keep is not None and args.bring is None:
        raise Unusable("--keep is for cards that come in: give --import FILE too.")
    library = means.library()
    brought = list(_bring(library, args.bring, args.keep)) if args.bring else []
    shelf = library.look()
    found = library.find_among(" ".join(args.words), shelf)
    if found.wrong:
        raise Unusable(found.wrong)
    exported = _export(args.export, found.cards) if args.export is not None else None
    trouble = bool(shelf.faults) or any(incoming.broken or _left(incoming) for incoming, _ in brought)
    values: dict[str, Any] = {
        "shown": len(found.cards),
        "of": len(shelf.cards),
        "cards": [_card(card) for card in found.cards],
        "faults": [{"file": str(f.path), "place": f.place, "message": f.message} for f in shelf.faults],
    }
    if brought:
        values["imported"] = [_incoming(incoming, words) for incoming, words in brought]
    if exported is not None:
        values["exported"] = {"file": args.export, "cards": len(found.cards)}
    return Answer(
        TROUBLE if trouble else FINE, values, lambda: "\n".join(_text(found.cards, shelf, brought, exported)) + "\n"
    )


def _bring(library: "CardLibrary", names: Sequence[str], keep: str | None) -> "Iterator[tuple[Incoming, str]]":
    from benchtool.session.cardmoving import Brought, Choice, held_against, sources, take_in
    from benchtool.session.library import NotKept

    missing = next((name for name in names if not Path(name).exists()), None)
    if missing is not None:
        raise Unusable(f"There is no file or folder “{printable(missing)}”. Nothing was brought in.")
    choice = {"mine": Choice.MINE, "new": Choice.NEW, "both": Choice.BOTH}.get(keep or "")
    for step in sources(map(Path, names)):
        if isinstance(step, Brought):
            incoming = held_against(library, step)
            if choice is not None:
                incoming.choose(choice, all_left=True)
            try:
                yield incoming, take_in(library, incoming)
            except NotKept as no:
                raise Unusable(printable(f"{incoming.name}: {no}")) from None


def _left(incoming: "Incoming") -> bool:
    """Whether a card that differs was left as it is without the painter having said so."""
    return incoming.undecided is not None


def _export(name: str, cards: "Sequence[Card]") -> str:
    from benchtool.session.cardmoving import export
    from benchtool.session.library import NotKept

    try:
        return export(cards, Path(name))
    except NotKept as no:
        raise Unusable(str(no)) from None


def _card(card: "Card") -> dict[str, Any]:
    from benchtool.session.cardvalues import card_values, is_guess, origin_of, origin_told

    told: dict[str, Any] = {"id": card.id, "name": card.name, "use": card.duty.value, "two_part": card.two_part}
    told["values"] = [
        {"value": v.key, "label": v.label, "words": v.words, "from": origin_told(origin_of(card, v.key)),
         "guess": is_guess(card, v.key)}
        for v in card_values(card)
    ]  # fmt: skip
    return told


def _incoming(incoming: "Incoming", words: str) -> dict[str, Any]:
    return {
        "file": incoming.name,
        "words": words,
        "new": [card.id for card in incoming.fresh],
        "same": [card.id for card in incoming.same],
        "differing": [
            {
                "id": clash.mine.id,
                "kept": clash.choice.value if clash.choice is not None else "keep mine",
                "differences": [d.words for d in clash.found],
            }
            for clash in incoming.clashes
        ],
        "broken": list(incoming.broken),
    }


def _text(
    cards: "Sequence[Card]", shelf: "Shelf", brought: "Sequence[tuple[Incoming, str]]", exported: str | None
) -> Iterator[str]:
    from benchtool.session.carddiff import differences_words
    from benchtool.session.librarypage import count_words, row_words

    for incoming, words in brought:
        yield printable(words)
        for clash in incoming.clashes:
            what = differences_words(clash.found, MOST_DIFFERENCES)
            yield f"  {printable(say('{name} differs: {what}', name=clash.mine.name, what=what))}"
        yield from (f"  {printable(broken)}." for broken in incoming.broken)
        if _left(incoming):
            left = say("What differs stayed as it is: --keep new takes the new one, --keep both keeps both.")
            yield f"  {left}"
    if exported is not None:
        yield printable(exported)
    else:
        for card in cards:
            maker = f" ({printable(card.maker)})" if card.maker.strip() else ""
            yield f"{printable(card.name)}{maker}: {row_words(card)}."
        yield f"{count_words(len(cards), len(shelf.cards))}."
    if shelf.faults:
        yield say("Files of your library that hold no card:")
        yield from (f"  {printable(str(fault))}." for fault in shelf.faults)
