"""A product card as typed from its data sheet: text to card, card to text, and what is wrong with which field."""

import re
from collections.abc import Iterator, Mapping
from datetime import timedelta
from typing import Any

from msgspec.structs import replace

from benchtool.job.cards import BASE_NAME, Activator, Card, Duty, Gun, Hazard, Reduction, recipe
from benchtool.job.state import recipe_parts
from benchtool.job.validate import card_faults
from benchtool.session.cardair import AIR_FIELDS, air_spot, read_air, write_air
from benchtool.session.cardfields import DENSITY, LONGEST_NAME, Reader, Wrong, clean, figure_of, free_slug
from benchtool.session.cardmore import read_flow, read_shelf_lives, read_voc, write_flow, write_shelf, write_voc
from benchtool.session.cardtext import TIMES, ActivatorText, CardText, TimeField
from benchtool.trade.durations import NotASpan, read_span, write_span
from benchtool.trade.mixing import NotAShare, Of, Share, parse_share
from benchtool.trade.substrates import Suits

__all__ = [
    "LONGEST_NAME",
    "TIMES",
    "ActivatorText",
    "CardText",
    "TimeField",
    "Wrong",
    "clean",
    "free_slug",
    "has_odd_activators",
    "read_card",
    "share_told",
    "time_told",
    "unmixable",
    "write_card",
]


def write_card(card: Card) -> CardText:
    """Write a card as it would be typed; `read_card` makes the same card of it."""
    return CardText(
        name=card.name,
        duty=card.duty,
        two_part=card.two_part,
        origin=_origin(card),
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
                id=a.id,
            )
            for a in card.activators
        ),
        reducer=card.reducer,
        reductions={r.gun: (r.least, r.usual, r.most) for r in reversed(card.reductions)},
        coats_least=str(card.coats_least),
        coats_most=str(card.coats_most),
        film=figure_of(card.film_um),
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
        hazards=frozenset(card.hazards),
        air=write_air(card),
    )


def _written_shelf(span: timedelta | None) -> str:
    return "" if span is None else write_shelf(span)


def _origin(card: Card) -> str:
    said = card.origins.get("*") or "; ".join(dict.fromkeys(v for v in card.origins.values() if v))
    return " ".join(said.split())


def read_card(text: CardText, card_id: str, before: Card | None = None) -> Card:
    """Make a card of what was typed. Of the card `before` it keeps what the form does not ask for.

    Raises:
        Wrong: with every field at fault.
    """
    faults: list[tuple[str, str]] = []
    reader = _Reader(faults)
    name = reader.name("name", text.name, "Give it the name on the can.")
    if text.duty is None:
        faults.append(("duty", "Say what it does in the stack."))
    if text.two_part is None:
        faults.append(("parts", "Say whether it is one-part or two-part."))
    missing = "Say where the values come from: a sheet and its page, your own measurement, a guess."
    origin = reader.text("origin", text.origin, missing)
    activators = reader.activators(text) if text.two_part or has_odd_activators(before) else ()
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
    more = {
        "film_um": reader.number("film", text.film, "µm", 0, 10_000),
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
    times = {key: reader.time(key, text.times.get(key, ""), TIMES[key].bare) for key in TIMES}
    faults += _missing(times)
    card = Card(
        id=card_id,
        name=name or "?",
        duty=text.duty or Duty.BASE,
        origins=_origins(origin, before),
        two_part=bool(text.two_part),
        activators=activators,
        reducer=reducer[:LONGEST_NAME],
        reductions=reductions,
        coats_least=least or 1,
        coats_most=most or max(least or 1, 1),
        hazards=_hazards(text.hazards, before),
        note=before.note if before is not None else "",
    )
    air = read_air(reader, text.air, before) if text.air is not None else _unasked(before)
    card = replace(card, **more, **times, **air)
    faults += _disagreements(card, {key for key, _ in faults})
    if faults:
        raise Wrong(faults)
    return _with_true_origins(card, before)


def _unasked(before: Card | None) -> dict[str, Any]:
    """What the card said of air, heat and film where that is not asked for: it stays as it was."""
    return {key: getattr(before, key) for key in AIR_FIELDS} if before is not None else {}


def has_odd_activators(card: Card | None) -> bool:
    """Whether a card file gives activators to a one-part product; the form then shows them all the same."""
    return card is not None and not card.two_part and bool(card.activators)


_THINNED_HOW = "Its spray viscosity is given: say the usual reduction too, 0 % of base where none goes in."


class _Reader(Reader):
    """Reads what a card has several of."""

    def activators(self, text: CardText) -> tuple[Activator, ...]:
        made: list[Activator] = []
        taken = {row.id for row in text.activators if row.id}
        for i, row in enumerate(text.activators):
            if row.empty:
                continue
            name = self.name(f"activator-{i}-name", row.name, "Give this activator its name.")
            share = clean(row.share)[:LONGEST_NAME]
            if not share:
                self.faults.append((f"activator-{i}-share", "Say how much of it goes in, such as 2 % of base."))
            else:
                self.share(f"activator-{i}-share", share)
            if row.suits is None:
                self.faults.append((f"activator-{i}-suits", "Say what it suits: rigid parts, flexible ones or any."))
            activator_id = row.id or free_slug(name or "activator", taken)
            taken.add(activator_id)
            density = self.number(f"activator-{i}-density", row.density, "g/mL", *DENSITY)
            keeps, keeps_opened = read_shelf_lives(self, f"activator-{i}-", row.keeps, row.keeps_opened)
            made.append(
                Activator(
                    id=activator_id,
                    name=name or "?",
                    suits=row.suits or Suits.ANY,
                    share=share or "0",
                    density_g_mL=density,
                    solids_percent=self.number(f"activator-{i}-solids", row.solids, "%", 0, 100),
                    voc=read_voc(self, f"activator-{i}-", name or "?", row.voc, density),
                    keeps=keeps,
                    keeps_opened=keeps_opened,
                    tolerance_percent=self.number(f"activator-{i}-tolerance", row.tolerance, "%", 0, 50),
                )
            )
        if text.two_part and not made:
            self.faults.append(("activator-0-name", "A two-part product needs an activator: name at least one."))
        return tuple(made)

    def reductions(self, text: CardText) -> Iterator[Reduction]:
        for gun in Gun:
            typed = [clean(t)[:LONGEST_NAME] for t in text.reductions.get(gun, ("", "", ""))]
            flow_s, flow_cup = read_flow(self, f"flow-{gun.value}-", text.flows.get(gun, ("", "")))
            if not any(typed):
                if flow_s is not None and flow_cup is not None:
                    self.faults.append((f"reduction-{gun.value}-usual", _THINNED_HOW))
                continue
            least, usual, most = typed
            if not usual:
                self.faults.append((f"reduction-{gun.value}-usual", "Say the usual one; least and most are extra."))
                continue
            read = []
            for name, share in (("least", least), ("usual", usual), ("most", most)):
                read.append(self.share(f"reduction-{gun.value}-{name}", share) if share else None)
            for (name, low), high in zip((("usual", read[0]), ("most", read[1])), read[1:], strict=True):
                if low is not None and high is not None and _less(high, low):
                    self.faults.append((f"reduction-{gun.value}-{name}", "It is less than the one before it."))
            yield Reduction(
                gun=gun, least=least or usual, usual=usual, most=most or usual, flow_cup=flow_cup, flow_s=flow_s
            )


def _less(a: Share, b: Share) -> bool:
    same = a.of is b.of and a.named.lower() == b.named.lower()
    return same and a.of is not Of.PARTS and a.value < b.value


def _missing(times: Mapping[str, timedelta | None]) -> Iterator[tuple[str, str]]:
    """A limit whose start is not given would never be watched."""
    if times["flash_most"] is not None and times["flash"] is None:
        yield "flash", "There is a most and no flash: say that too, 0 min if it may follow at once."
    if times["recoat_closes"] is not None and times["recoat_opens"] is None:
        yield "recoat_opens", "It closes and never opens: say when it opens, 0 min if at once."


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
    for i, activator in enumerate(card.activators):
        if activator.name.casefold() in names:
            yield f"activator-{i}-name", "Another part of this mix has that name."
            return
        names.add(activator.name.casefold())
    if card.reducer.casefold() in names:
        yield "reducer", "Another part of this mix has that name."
    elif not any(key.startswith(("activator", "reduction")) for key in at_fault):
        yield from unmixable(card)


def unmixable(card: Card) -> Iterator[tuple[str, str]]:
    """Find the shares of a card that do not make a mix together, by the field they stand in."""
    bare = replace(card, reductions=())
    choices: tuple[Activator | None, ...] = card.activators or (None,)
    for i, activator in enumerate(card.activators):
        try:
            recipe_parts(recipe(bare, activator, Gun.AIRBRUSH))
        except NotAShare as wrong:
            yield f"activator-{i}-share", str(wrong)
            return
    for reduction in card.reductions:
        for name in ("usual", "least", "most"):
            tried = replace(card, reductions=(replace(reduction, usual=getattr(reduction, name)),))
            try:
                for choice in choices:
                    recipe_parts(recipe(tried, choice, reduction.gun))
            except NotAShare as wrong:
                yield f"reduction-{reduction.gun.value}-{name}", str(wrong)
                return


def _hazards(chosen: frozenset[Hazard], before: Card | None) -> tuple[Hazard, ...]:
    if before is not None and frozenset(before.hazards) == chosen:
        return before.hazards
    return tuple(h for h in Hazard if h in chosen)


def _origins(typed: str, before: Card | None) -> dict[str, str]:
    if before is not None and typed == _origin(before):
        return dict(before.origins)
    kept = {k: v for k, v in before.origins.items() if k != "*"} if before is not None else {}
    return {**kept, "*": typed}


def _with_true_origins(card: Card, before: Card | None) -> Card:
    """A value that was changed does not come any more from where the old one came."""
    if before is None:
        return card
    fields = {k: re.split(r"[.\[]", k)[0] for k in card.origins}  # `paces.flash` is of `paces`
    kept = {
        k: v
        for k, v in card.origins.items()
        if k == "*" or getattr(card, fields[k], None) == getattr(before, fields[k], None)
    }
    if not kept:
        kept = {"*": _origin(before)}
    return replace(card, origins=kept)


def time_told(key: str, typed: str) -> str:
    """Say how a time was understood, or nothing where it can't be read."""
    try:
        return write_span(read_span(typed, TIMES[key].bare))
    except NotASpan:
        return ""


def share_told(typed: str) -> str:
    """Say how a share was understood, or nothing where it can't be read."""
    try:
        return parse_share(typed, plain=False).words()
    except NotAShare:
        return ""
