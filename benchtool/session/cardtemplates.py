"""Kinds of product: what goes without saying of each, and which questions of the card matter."""

from collections.abc import Mapping
from dataclasses import replace
from functools import cache
from pathlib import Path
from typing import Annotated

import msgspec
from msgspec import Meta, Struct

from benchtool.job.cards import Card, Carrier, Chemistry, Duty, Hazard, Id, Name, Text, Trait
from benchtool.session.cardtext import CardText
from benchtool.session.resources import resource
from benchtool.session.strictfile import TableFault
from benchtool.trade.saying import say

FOLDABLE = (
    "duty", "parts", "maker", "chemistry", "carrier", "traits", "only_over", "additives", "reducing",
    "film_most", "stand", "stand_reduced", "pot_life", "flash_most", "dust_free", "recoat_closes", "tape", "cure",
)  # fmt: skip
"""The questions that a template may leave to “more”; all others are asked of every product."""


class Template(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """A kind of product. What is None has to be asked; `asks` are the questions that matter, `all` asks every one.

    The `example` is a name such as may stand on the can.
    """

    id: Id
    name: Name
    detail: Name
    source: Name
    example: Name
    asks: Annotated[tuple[str, ...], Meta(max_length=len(FOLDABLE))]
    duty: Duty | None = None
    chemistry: Chemistry | None = None
    carrier: Carrier | None = None
    two_part: bool | None = None
    traits: tuple[Trait, ...] = ()
    hazards: tuple[Hazard, ...] = ()
    all: bool = False


class _Templates(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    about: dict[str, Text]
    templates: tuple[Template, ...]


def read_templates(path: Path) -> dict[str, Template]:
    """Read the kinds of product, by id, in the order they are offered.

    Raises:
        TableFault: the file is not of the right shape, an id stands there twice, or a question is none.
        OSError: the file can't be read.
    """
    try:
        rows = msgspec.json.decode(path.read_bytes(), type=_Templates).templates
    except (msgspec.DecodeError, UnicodeDecodeError) as fault:
        raise TableFault(f"{path.name}: {fault}") from None
    found: dict[str, Template] = {}
    for i, row in enumerate(rows):
        strange = [ask for ask in row.asks if ask not in FOLDABLE]
        if row.id in found:
            raise TableFault(f"{path.name}: “{row.id}” stands there twice - at `$.templates[{i}].id`")
        if strange:
            raise TableFault(f"{path.name}: “{strange[0]}” is no question - at `$.templates[{i}].asks`")
        found[row.id] = row
    return found


@cache
def templates() -> Mapping[str, Template]:
    """Give the kinds of product, by id, read once.

    Raises:
        TableFault: the table can't be used.
        OSError: the file is missing or can't be read.
    """
    return read_templates(resource("templates.json"))


def asks(template: Template | None, question: str) -> bool:
    """Say whether this question matters for such a product; without a template all do."""
    return template is None or template.all or question not in FOLDABLE or question in template.asks


def start_from(text: CardText, template: Template, before: Template | None, card: Card | None = None) -> CardText:
    """Take another kind of product: what the painter typed and chose stays, what the kind before chose makes room.

    The dangers and traits that stand on the `card` in hand are no choice of a kind: they stay.
    """
    blank = Template(id="none", name="-", detail="-", source="-", example="-", asks=())
    was = before if before is not None else blank
    own_traits, own_hazards = (card.traits, card.hazards) if card is not None else ((), ())
    traits = (text.traits - frozenset(was.traits).difference(own_traits)) | frozenset(template.traits)
    hazards = (text.hazards - frozenset(was.hazards).difference(own_hazards)) | frozenset(template.hazards)
    return replace(
        text,
        kind=template.id,
        duty=template.duty if text.duty in (None, was.duty) else text.duty,
        chemistry=template.chemistry if text.chemistry in (None, was.chemistry) else text.chemistry,
        carrier=template.carrier if text.carrier in (None, was.carrier) else text.carrier,
        two_part=template.two_part if text.two_part in (None, was.two_part) else text.two_part,
        traits=traits,
        hazards=hazards,
    )


def template_of(card: Card) -> Template | None:
    """Find the kind of product a card is of; None where it says too little, or is like none of them."""
    if card.chemistry is None:
        return None
    fitting = [
        (sum(value is not None for value in (t.duty, t.carrier, t.two_part)), t)
        for t in templates().values()
        if t.chemistry is card.chemistry
        and t.duty in (None, card.duty)
        and t.carrier in (None, card.carrier)
        and t.two_part in (None, card.two_part)
    ]
    return max(fitting, key=lambda pair: pair[0])[1] if fitting else None


def template_words(template: Template) -> str:
    """Say what a kind chose by itself: `Epoxy primer: two-part, solvent leaves it.` and how it can hurt."""
    if template.all:
        return say("{kind}: every question is asked.", kind=template.name)
    chosen = []
    if template.two_part is not None:
        chosen.append(say("two-part") if template.two_part else say("one-part"))
    if template.duty is not None:
        chosen.append(template.duty.value)
    if template.chemistry is not None:
        chosen.append(template.chemistry.value)
    match template.carrier:
        case Carrier.SOLVENT:
            chosen.append(say("solvent leaves it"))
        case Carrier.WATER:
            chosen.append(say("water leaves it"))
        case Carrier.NONE:
            chosen.append(say("nothing leaves it"))
        case None:
            pass
    chosen += [trait.value for trait in template.traits]
    said = f"{template.name}: {', '.join(chosen)}." if chosen else f"{template.name}."
    hazards = ", ".join(hazard.value for hazard in template.hazards)
    return (
        f"{said} {say('It can hurt by {hazards}; its safety data sheet decides.', hazards=hazards)}"
        if hazards
        else said
    )
