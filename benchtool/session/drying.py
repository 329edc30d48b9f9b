"""Heat on a piece and a film that was measured, as typed: what is wrong with it, and what follows from it."""

import re
from collections.abc import Mapping
from dataclasses import dataclass
from functools import partial

from benchtool.job import events as ev
from benchtool.job.cardpaces import LEAST_FORCED_DEGC, CardTime
from benchtool.job.cards import Card, recipe
from benchtool.job.drying import film_words
from benchtool.job.state import LayerState, PieceState, State, recipe_parts
from benchtool.session.cardfields import Wrong
from benchtool.session.session import Draft
from benchtool.trade.durations import write_span
from benchtool.trade.film import THICKEST_DRY_UM, NotACoat, mixed_solids
from benchtool.trade.mixing import NotAShare, Part, PartKind, fractions
from benchtool.trade.numbers import NotANumber, figure, read_number
from benchtool.trade.quantities import Measures, NotAnAmount

HEAT_CAUTION = (
    "Let the solvent flash off before heat, heat only with what is made for paint, and use no flame. "
    "The product's safety data sheet, local rules and licensed practice decide."
)
"""29 CFR 1910.107(j), drying apparatus (from memory): ventilated, and no source of ignition in the vapour."""

HOTTEST_DEGC = 200.0
"""No card's heat is hotter (degC): the record holds no more."""

LIKELY_DEGC = 100.0
"""A bare number above this is asked about: few pieces stand it, and as °F it is an ordinary bake (judgement)."""

LIKELY_UM = 3.0
"""A bare number below this is asked about: no coat is so thin, and as mil it is a usual one (judgement)."""

_OFF = re.compile(r"(heat\s+)?(off|out|none|no)", re.IGNORECASE)
_WET = re.compile(r"\bwet\b", re.IGNORECASE)
_WORDS = re.compile(r"\b(wet|dry|film|comb)\b", re.IGNORECASE)
_NAMED = {
    CardTime.FLASH: "flash",
    CardTime.RECOAT_OPENS: "next layer",
    CardTime.TAPE: "tape",
    CardTime.CURE: "cure",
}


@dataclass(frozen=True, slots=True)
class Taken:
    """What was typed as understood: the events of one act still to be stamped, and what to say of it."""

    drafts: tuple[Draft, ...]
    words: str


# --- heat -------------------------------------------------------------------------------------------------


def read_heat(measures: Measures, typed: Mapping[str, str], piece: PieceState) -> Taken:
    """Read the field `heat`: a temperature of the surface (bare numbers are °C), or `off`.

    Empty turns off what is on. Another temperature takes the place of the one that is on.

    Raises:
        Wrong: with the field at fault.
    """
    text, on = typed.get("heat", "").strip(), piece.heat.on
    if not text or _OFF.fullmatch(text):
        if on is None:
            raise Wrong([("heat", "No heat is on: write how warm the surface is held, such as 60 °C.")])
        return Taken((partial(ev.HeatEnded, piece=piece.id),), f"Heat off {piece.piece.name}. The air counts again.")
    degC = _warmth(measures, text)
    start = partial(ev.HeatStarted, piece=piece.id, degC=degC)
    drafts = (start,) if on is None else (partial(ev.HeatEnded, piece=piece.id), start)
    told = f"{degC:.4g} °C on {piece.piece.name}. {heat_says(piece, degC)}"
    if degC > LIKELY_DEGC and not read_number(text)[1]:
        told += f" If {degC:g} was °F, undo it (U) and type {figure((degC - 32) / 1.8)} °C."
    return Taken(drafts, f"{told} {HEAT_CAUTION}")


def _warmth(measures: Measures, text: str) -> float:
    try:
        degC = measures.temperature_degC(text, unit="degC")
    except NotAnAmount as wrong:
        raise Wrong([("heat", str(wrong))]) from None
    if degC < LEAST_FORCED_DEGC:
        raise Wrong([("heat", f"{figure(degC)} °C is no heat: it begins at {LEAST_FORCED_DEGC:g} °C on the surface.")])
    if degC > HOTTEST_DEGC:
        meant = (degC - 32) / 1.8
        offer = f": if that was {degC:g} °F, it is {figure(meant)} °C" if meant <= HOTTEST_DEGC else ""
        raise Wrong([("heat", f"No paint is held at {figure(degC)} °C{offer}.")])
    return degC


def heat_says(piece: PieceState, degC: float) -> str:
    """Say in a sentence which waits of the newest paint on this piece go by this heat, by its card."""
    top = piece.top
    card = next((c.card for c in reversed(top.coats) if c.card is not None), None) if top is not None else None
    if card is None:
        return "Nothing is on it yet: heat counts from a coat done."
    given = {time: dry for time, dry in card.forced.items() if time in _NAMED}
    counting = [f"{_NAMED[t]} {write_span(dry.wait)}" for t, dry in given.items() if degC >= dry.degC]
    if counting:
        return f"In heat by the card of {card.name}: {', '.join(counting)}."
    if given:
        least = min(dry.degC for dry in given.values())
        return f"The card of {card.name} counts heat from {least:g} °C on: its waits go by the air."
    return f"The card of {card.name} gives no time in heat: its waits go by the air."


# --- film -------------------------------------------------------------------------------------------------


def read_film(measures: Measures, typed: Mapping[str, str], state: State, layer: LayerState) -> Taken:
    """Read the field `film`: the film of one coat (bare numbers are µm), dry, or with `wet` as a comb shows it.

    A wet film is turned to dry by the volume solids of what was sprayed: the recipe of the newest coat's cup, else of
    the layer as planned.

    Raises:
        Wrong: with the field at fault.
    """
    text = typed.get("film", "").strip()
    bare = " ".join(_WORDS.sub(" ", text).split())
    try:
        um = measures.length_um(bare, unit="um")
    except NotAnAmount as wrong:
        raise Wrong([("film", str(wrong))]) from None
    if not um > 0:
        raise Wrong([("film", "A film is above zero: write it in µm or mil, such as 40 µm or 100 µm wet.")])
    wet = bool(_WET.search(text))
    percent = _solids(state, layer) if wet else 100.0
    dry = um * percent / 100
    if not 0 < dry <= THICKEST_DRY_UM:
        raise Wrong([("film", f"No coat dries to {figure(dry)} µm: write its film in µm or mil.")])
    told = f"Dry film of {figure(dry)} µm a coat noted"
    told += f": {figure(um)} µm wet at {figure(percent)} % solids as sprayed." if wet else "."
    if dry < LIKELY_UM and not wet and _is_bare(bare):
        told += f" If {um:g} was mil, undo it (U) and type {um:g} mil."
    draft = partial(ev.FilmMeasured, layer=layer.id, um=dry, wet_um=um if wet else None)
    return Taken((draft,), f"{told} {film_says(state, layer, dry)}")


def _is_bare(text: str) -> bool:
    try:
        return not read_number(text)[1]
    except NotANumber:
        return False


def film_says(state: State, layer: LayerState, um: float) -> str:
    """Say in a sentence what a film of so many um does to the waits of this layer, by its card."""
    card = _card(state, layer)
    if card is None or not card.films:
        return "The card says nothing of thicker films, so it changes no wait."
    words = film_words(card.films, um)
    return f"{words}." if words else "That is as thick as the card's times are for."


def _card(state: State, layer: LayerState) -> Card | None:
    newest = layer.coats[-1].card if layer.coats else None
    return newest or state.card_of(layer)


def _solids(state: State, layer: LayerState) -> float:
    """Give the volume solids (%) of what this layer is sprayed with."""
    card = _card(state, layer)
    if card is None:
        raise Wrong([("film", "This layer has no product card: write its dry film.")])
    mix = state.mixes.get(layer.coats[-1].mix or "") if layer.coats else state.mix_for(layer)
    activator = card.activator(mix.made.activator if mix is not None else layer.plan.activator)
    try:
        made = mix.made.parts if mix is not None else None
        parts = recipe_parts(made or recipe(card, activator, layer.plan.gun, layer.plan.additives))
        shares = fractions(parts)
    except NotAShare as wrong:
        raise Wrong([("film", f"{wrong} Write the dry film.")]) from None
    known: list[tuple[float, float]] = []
    for part, share in zip(parts, shares, strict=True):
        solids = _part_solids(card, part, activator.solids_percent if activator is not None else None)
        if solids is None:
            raise Wrong([("film", f"{card.name} gives no volume solids of {part.name}: write the dry film.")])
        known.append((share, solids))
    try:
        return mixed_solids(known)
    except NotACoat as wrong:
        raise Wrong([("film", str(wrong))]) from None


def _part_solids(card: Card, part: Part, of_activator: float | None) -> float | None:
    known = {PartKind.BASE: card.solids_percent, PartKind.ACTIVATOR: of_activator, PartKind.REDUCER: 0.0}
    return known.get(part.kind)
