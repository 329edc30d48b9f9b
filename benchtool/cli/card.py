"""`benchtool card`: whether the values of product cards agree with each other."""

import argparse
from pathlib import Path
from typing import TYPE_CHECKING

from benchtool.cli.common import FINE, TROUBLE, UNUSABLE, Answer, Commands, Means, Parser, Unusable, printable, short
from benchtool.trade.saying import say, say_n

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from benchtool.job.cards import Card
    from benchtool.job.cardsaid import CardCheck
    from benchtool.store.cardfiles import CardFault

_Checked = tuple[Path, "Card", "Sequence[CardCheck]"]


def add(commands: Commands) -> Parser:
    """Say what the command takes."""
    card: Parser = commands.add_parser(
        "card",
        help="check whether the values of product cards agree with each other",
        description="Check whether the values of product cards agree with each other.",
        epilog=(
            "examples:\n"
            "  benchtool card clear.json\n"
            "  benchtool card ~/cards/*.json --json\n\n"
            "FILE is a card, a set of cards, or a folder of them. One that can't be read is named with the place, and\n"
            "the rest is checked all the same. A note is odd; “look again” means that a value must be wrong.\n"
            "Exit status: 0 fine or notes only, 1 look again, 2 a file can't be read."
        ),
    )
    card.add_argument("files", metavar="FILE", nargs="+", help="a card, a set of cards, or a folder of them")
    return card


def answer(args: argparse.Namespace, means: Means) -> Answer:  # noqa: ARG001 - cards need no tables and no clock
    """Check the cards."""
    from benchtool.job.cardchecks import card_checks, only_over_cycles

    cards, faults = _read(args.files)
    if not cards and len(faults) == 1:
        raise Unusable(printable(str(faults[0])) + ".")
    checked = [(path, card, tuple(card_checks(card))) for path, card in cards]
    rings = only_over_cycles(card for _, card in cards)
    names = {card.id: card.name for _, card in cards}
    ringed = [(ring, _ring_words([names[card_id] for card_id in ring])) for ring in rings if len(ring) > 1]
    severe = any(check.severe for _, _, checks in checked for check in checks) or bool(ringed)
    status = UNUSABLE if faults else TROUBLE if severe else FINE
    return Answer(status, _values(checked, faults, ringed), lambda: "\n".join(_lines(checked, faults, ringed)) + "\n")


def _read(names: "Sequence[str]") -> "tuple[list[tuple[Path, Card]], list[CardFault]]":
    from benchtool.store.cardfiles import card_files, load_any

    cards: list[tuple[Path, Card]] = []
    faults: list[CardFault] = []
    for name in names:
        try:
            files = list(card_files(Path(name)))
        except (OSError, ValueError) as fault:
            raise Unusable(f"“{short(name)}” can't be looked into: {fault}.") from None
        if not files:
            raise Unusable(f"“{short(name)}” holds no card files.")
        for path in files:
            brought = load_any(path)
            cards += [(path, card) for card in brought.cards]
            faults += brought.faults
    return cards, faults


def _ring_words(names: "Sequence[str]") -> str:
    if len(names) == 2:
        return say("{one} may go only over {other}, and {other} only over {one}.", one=names[0], other=names[1])
    return say(
        "Each of these may go only over the next, and the last only over the first: {names}.", names=", ".join(names)
    )


def _values(
    checked: "Sequence[_Checked]",
    faults: "Sequence[CardFault]",
    ringed: "Sequence[tuple[tuple[str, ...], str]]",
) -> dict[str, object]:
    every = [check for _, _, checks in checked for check in checks]
    return {
        "cards": [
            {
                "file": str(path),
                "id": card.id,
                "name": card.name,
                "checks": [{"place": f"$.card{c.path}", "message": c.message, "severe": c.severe} for c in checks],
            }
            for path, card, checks in checked
        ],
        "unreadable": [{"file": str(f.path), "place": f.place or "$", "message": f.message} for f in faults],
        "cycles": [{"cards": list(ring), "message": words} for ring, words in ringed],
        "severe": sum(check.severe for check in every) + len(ringed),
        "notes": sum(not check.severe for check in every),
    }


def _lines(
    checked: "Sequence[_Checked]",
    faults: "Sequence[CardFault]",
    ringed: "Sequence[tuple[tuple[str, ...], str]]",
) -> "Iterator[str]":
    for fault in faults:
        yield printable(say("Can't be read: {fault}.", fault=fault))
    for _, words in ringed:
        yield printable(say("Look again: {words} Neither can ever be begun.", words=words))
    fine = 0
    for path, card, checks in checked:
        fine += not checks
        for check in sorted(checks, key=lambda c: not c.severe):
            place = check.path.removeprefix(".")
            told = say("Look again") if check.severe else say("Note")
            yield printable(f"{told}: {card.name} ({path.name}), {place}: {check.message}")
    if fine:
        yield say_n("{n} card agrees with itself.", "{n} cards agree with themselves.", fine)
