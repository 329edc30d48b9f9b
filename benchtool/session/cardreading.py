"""A product card as typed from its data sheet: text to card, card to text, and what is wrong with which field."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import timedelta
from typing import Any, TypeVar

from msgspec.structs import replace

from benchtool.job.cards import BASE_NAME, Card, Care, Duty, Hazard, Trait
from benchtool.job.validate import card_faults
from benchtool.session.cardair import air_spot, read_air, write_air
from benchtool.session.cardfields import DENSITY, LONGEST_NAME, Wrong, as_it_was, clean, figure_of, free_slug
from benchtool.session.cardmore import (
    read_over,
    read_shelf_lives,
    read_voc,
    write_flow,
    write_over,
    write_shelf,
    write_voc,
)
from benchtool.session.cardorigins import general_words, read_origins, write_origins
from benchtool.session.cardparts import PartsReader, has_odd_activators, share_told, unmixable
from benchtool.session.cardtext import TIMES, ActivatorText, AdditiveText, CardText, TimeField, care_key
from benchtool.trade.durations import NotASpan, read_span, write_span

__all__ = [
    "LONGEST_NAME",
    "TIMES",
    "ActivatorText",
    "AdditiveText",
    "CardText",
    "Reading",
    "TimeField",
    "Wrong",
    "care_told",
    "clean",
    "free_slug",
    "has_odd_activators",
    "read_all",
    "read_card",
    "share_told",
    "time_told",
    "unmixable",
    "write_card",
]

NO_CARDS: Mapping[str, str] = {}


@dataclass(frozen=True, slots=True)
class Reading:
    """What was made of a text: the card as far as it goes, what is wrong by field, the id of each part by its row.

    The `clashes` are those of the faults that are of values which are right by themselves and can't be true together.
    """

    card: Card
    faults: tuple[tuple[str, str], ...]
    parts: Mapping[str, str]
    clashes: tuple[tuple[str, str], ...] = ()


def write_card(card: Card, names: Mapping[str, str] = NO_CARDS) -> CardText:
    """Write a card as it would be typed; `read_card` makes the same card of it. `names` are other cards' by id."""
    return CardText(
        name=card.name,
        duty=card.duty,
        two_part=card.two_part,
        origin=general_words(card),
        origins=write_origins(card),
        maker=clean(card.maker),
        chemistry=card.chemistry,
        carrier=card.carrier,
        traits=frozenset(card.traits),
        only_over=write_over(card.only_over, names),
        additives=tuple(
            AdditiveText(name=a.name, share=a.share, suits=a.suits, density=figure_of(a.density_g_mL), id=a.id)
            for a in card.additives
        ),
        activators=tuple(
            ActivatorText(
                name=a.name,
                share=a.share,
                suits=a.suits,
                density=figure_of(a.density_g_mL),
                solids=figure_of(a.solids_percent),
                voc=write_voc(a.voc),
                keeps=_written_shelf(a.keeps),
                keeps_opened=_written_shelf(a.keeps_opened),
                tolerance=figure_of(a.tolerance_percent),
                maker=clean(a.maker),
                id=a.id,
            )
            for a in card.activators
        ),
        reducer=card.reducer,
        reductions={r.gun: (r.least, r.usual, r.most) for r in reversed(card.reductions)},
        coats_least=str(card.coats_least),
        coats_most=str(card.coats_most),
        film=figure_of(card.film_um),
        film_most=figure_of(card.film_most_um),
        density=figure_of(card.density_g_mL),
        reducer_density=figure_of(card.reducer_density_g_mL),
        solids=figure_of(card.solids_percent),
        voc=write_voc(card.voc),
        reducer_voc=write_voc(card.reducer_voc),
        keeps=_written_shelf(card.keeps),
        keeps_opened=_written_shelf(card.keeps_opened),
        reducer_keeps=_written_shelf(card.reducer_keeps),
        reducer_keeps_opened=_written_shelf(card.reducer_keeps_opened),
        tolerance=figure_of(card.tolerance_percent),
        flows={r.gun: write_flow(r) for r in reversed(card.reductions) if r.flow_cup or r.flow_s},
        times={key: write_span(value) for key in TIMES if (value := getattr(card, key)) is not None},
        care={care: write_span(wait) for care, wait in card.care.items()},
        hazards=frozenset(card.hazards),
        air=write_air(card),
    )


def _written_shelf(span: timedelta | None) -> str:
    return "" if span is None else write_shelf(span)


def read_card(text: CardText, card_id: str, before: Card | None = None, names: Mapping[str, str] = NO_CARDS) -> Card:
    """Make a card of what was typed. Of the card `before` it keeps what the form does not ask for.

    Raises:
        Wrong: with every field at fault.
    """
    reading = read_all(text, card_id, before, names)
    if reading.faults:
        raise Wrong(reading.faults)
    return reading.card


def read_all(text: CardText, card_id: str, before: Card | None = None, names: Mapping[str, str] = NO_CARDS) -> Reading:
    """Make what can be made of what was typed, half typed as it may be, and say what is wrong with the rest."""
    faults: list[tuple[str, str]] = []
    reader = PartsReader(faults)
    name = reader.name("name", text.name, "Give it the name on the can.")
    if text.duty is None:
        faults.append(("duty", "Say what it does in the stack."))
    if text.two_part is None:
        faults.append(("parts", "Say whether it is one-part or two-part."))
    values: dict[str, Any] = {
        "id": card_id,
        "name": name or "?",
        "duty": text.duty or Duty.BASE,
        "two_part": bool(text.two_part),
        "maker": as_it_was(text.maker, before.maker if before is not None else ""),
        "chemistry": text.chemistry,
        "carrier": text.carrier,
        "traits": _chosen(text.traits, Trait, before.traits if before is not None else ()),
        "hazards": _chosen(text.hazards, Hazard, before.hazards if before is not None else ()),
        "only_over": read_over(reader, text.only_over, names, before.only_over if before is not None else ()),
        "activators": reader.activators(text, before) if text.two_part or has_odd_activators(before) else (),
        "additives": reader.additives(text),
    }
    values |= _amounts(reader, text, before)
    times = {key: reader.time(key, text.times.get(key, ""), TIMES[key].bare) for key in TIMES}
    faults += _missing(times)
    values |= times
    values["care"] = _care(reader, text, before)
    if text.air is not None:
        values |= read_air(reader, text.air, before)
    blank = Card(id=card_id, name="?", duty=Duty.BASE, origins={})
    card = replace(before if before is not None else blank, **values)
    card = replace(card, origins=read_origins(reader, text.origin, text.origins, reader.ids, card, before))
    clashes = (*reader.clashes, *_disagreements(card, {key for key, _ in faults}))
    faults += [clash for clash in clashes if clash not in faults]
    return Reading(card, tuple(faults), reader.ids, clashes)


def _amounts(reader: PartsReader, text: CardText, before: Card | None) -> dict[str, Any]:
    reducer = clean(text.reducer) or "Reducer"
    order = [r.gun for r in before.reductions] if before is not None else []
    reductions = tuple(sorted(reader.reductions(text), key=lambda r: order.index(r.gun) if r.gun in order else 99))
    least = reader.count("coats_least", text.coats_least)
    most = reader.count("coats_most", text.coats_most)
    density = reader.number("density", text.density, "g/mL", *DENSITY)
    reducer_density = reader.number("reducer_density", text.reducer_density, "g/mL", *DENSITY)
    keeps, keeps_opened = read_shelf_lives(reader, "", text.keeps, text.keeps_opened)
    reducer_keeps, reducer_keeps_opened = read_shelf_lives(
        reader, "reducer_", text.reducer_keeps, text.reducer_keeps_opened
    )
    return {
        "reducer": reducer[:LONGEST_NAME],
        "reductions": reductions,
        "coats_least": least or 1,
        "coats_most": most or max(least or 1, 1),
        "film_um": reader.number("film", text.film, "µm", 0, 10_000),
        "film_most_um": reader.number("film_most", text.film_most, "µm", 0, 10_000),
        "density_g_mL": density,
        "reducer_density_g_mL": reducer_density,
        "solids_percent": reader.number("solids", text.solids, "%", 0, 100),
        "voc": read_voc(reader, "", BASE_NAME, text.voc, density),
        "reducer_voc": read_voc(reader, "reducer_", reducer, text.reducer_voc, reducer_density),
        "tolerance_percent": reader.number("tolerance", text.tolerance, "%", 0, 50),
        "keeps": keeps,
        "keeps_opened": keeps_opened,
        "reducer_keeps": reducer_keeps,
        "reducer_keeps_opened": reducer_keeps_opened,
    }


def _missing(times: Mapping[str, timedelta | None]) -> Iterator[tuple[str, str]]:
    """A limit whose start is not given would never be watched."""
    if times["flash_most"] is not None and times["flash"] is None:
        yield "flash", "There is a most and no flash: say that too, 0 min if it may follow at once."
    if times["recoat_closes"] is not None and times["recoat_opens"] is None:
        yield "recoat_opens", "It closes and never opens: say when it opens, 0 min if at once."


def _care(reader: PartsReader, text: CardText, before: Card | None) -> dict[Care, timedelta]:
    """Read when the finished piece may be used, in the order of the card before."""
    order = dict.fromkeys([*(before.care if before is not None else ()), *Care])
    read = {care: reader.time(care_key(care), text.care.get(care, ""), None) for care in order}
    return {care: wait for care, wait in read.items() if wait is not None}


_SAID = {
    ".flash_most": ("flash_most", "It is shorter than the flash itself."),
    ".recoat_closes": ("recoat_closes", "It closes before it opens."),
    ".coats_most": ("coats_most", "The most is less than the least."),
}


def _disagreements(card: Card, at_fault: set[str]) -> Iterator[tuple[str, str]]:
    """Find values that are right by themselves and can't be true together."""
    pairs = {"flash_most": "flash", "recoat_closes": "recoat_opens", "coats_most": "coats_least"}
    for path, message in card_faults(card):
        if path in _SAID and not at_fault & {_SAID[path][0], pairs[_SAID[path][0]]}:
            yield _SAID[path]
        elif (spot := air_spot(path, message)) is not None and spot[0] not in at_fault:
            yield spot
    names = {BASE_NAME.casefold()}
    rows = [(f"activator-{i}-name", a.name) for i, a in enumerate(card.activators)]
    rows += [(f"additive-{i}-name", a.name) for i, a in enumerate(card.additives)]
    for key, name in rows:
        if name.casefold() in names:
            yield key, "Another part of this mix has that name."
            return
        names.add(name.casefold())
    if card.reducer.casefold() in names:
        yield "reducer", "Another part of this mix has that name."
    elif not any(key.startswith(("activator", "additive", "reduction")) for key in at_fault):
        yield from unmixable(card)


Kind = TypeVar("Kind", Hazard, Trait)


def _chosen(chosen: frozenset[Kind], every: type[Kind], before: tuple[Kind, ...]) -> tuple[Kind, ...]:
    """Give what was chosen in the order offered; in the order before where nothing is different."""
    return before if frozenset(before) == chosen else tuple(one for one in every if one in chosen)


def time_told(key: str, typed: str) -> str:
    """Say how a time was understood, or nothing where it can't be read."""
    return _told(typed, TIMES[key].bare)


def care_told(typed: str) -> str:
    """Say the same of a time after which a finished piece may be used."""
    return _told(typed, None)


def _told(typed: str, bare: str | None) -> str:
    try:
        return write_span(read_span(typed, bare))
    except NotASpan:
        return ""
