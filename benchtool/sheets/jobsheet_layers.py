"""The layers and the cups of a job sheet: each layer by itself, or all of a piece in tables where the job is long."""

from collections.abc import Iterator, Sequence
from datetime import datetime

from benchtool.job.cards import Card, OriginKind
from benchtool.job.state import Coat, LayerState, Mix, PieceState
from benchtool.sheets.blocks import Block, Facts, Grid, Heading, Words
from benchtool.sheets.jobsheet_told import Told
from benchtool.sheets.jobsheet_waits import before_coat, life_words, stand_words
from benchtool.sheets.sheetwords import from_to, joined, kind_words, moment, not_logged
from benchtool.trade.mixing import NotAShare, PourCheck, amounts_mL
from benchtool.trade.numbers import figure, pour_figure
from benchtool.trade.saying import say

NONE = "–"
"""Stands in a cell of which there is nothing to say."""


# --- layer by layer ----------------------------------------------------------------------------------------


def layers_in_full(told: Told, piece: PieceState, shown: set[str]) -> Iterator[Block]:
    """Write each layer of a piece by itself, the first one on first; `shown` are the cups written already."""
    for number, layer in enumerate(piece.layers, 1):
        yield Heading(say("{n}. {layer}", n=number, layer=told.state.layer_name(layer)), 2)
        yield Facts(tuple(_facts(told, layer)))
        if layer.coats:
            yield Grid(_coat_head(), tuple(_coat_row(told, piece, layer, coat) for coat in layer.coats))
        for mix in told.cups_of(layer):
            if mix.id not in shown:
                shown.add(mix.id)
                yield from _cup(told, mix)


def _facts(told: Told, layer: LayerState) -> Iterator[tuple[str, str]]:
    card = told.state.card_of(layer)
    yield say("Product"), _product(card, layer)
    if card is not None:
        yield say("Card’s values"), origin_line(card)
    yield say("Activator"), _activators(told, layer, card)
    if layer.plan.additives:
        yield say("Additives"), _additives(layer, card)
    yield say("Gun"), layer.plan.gun.value
    yield say("Coats"), _coats(layer)
    if layer.plan.note.strip():
        yield say("Colour"), " ".join(layer.plan.note.split())
    if layer.started or layer.id in told.films:
        yield say("Film"), film_words(told, layer)


def _product(card: Card | None, layer: LayerState) -> str:
    if card is None:
        return say("{id}: its card is not in this job", id=layer.plan.card)
    kind = kind_words(card)
    made = say("of {maker}", maker=card.maker) if card.maker.strip() else ""
    return joined((card.name, made, kind if kind.casefold() not in card.name.casefold() else ""))


def _activators(told: Told, layer: LayerState, card: Card | None) -> str:
    """Name the activators that a layer's cups were begun with; where there is no cup, the planned one."""
    ids = dict.fromkeys([mix.made.activator for mix in told.cups_of(layer)] or [layer.plan.activator])
    names = [a.name for i in ids if card is not None and (a := card.activator(i)) is not None]
    if names:
        return ", ".join(names)
    return say("not chosen") if card is not None and card.two_part else say("none")


def _additives(layer: LayerState, card: Card | None) -> str:
    known = [(i, card.additive(i) if card is not None else None) for i in layer.plan.additives]
    return ", ".join(additive.name if additive is not None else i for i, additive in known)


def _coats(layer: LayerState) -> str:
    planned = say("{n} planned", n=layer.plan.coats)
    if layer.open_coat is not None:
        return say("{planned}, {n} on, one being sprayed", planned=planned, n=layer.coats_done)
    if not layer.coats:
        return say("{planned}, none logged", planned=planned)
    return say("{planned}, {n} on", planned=planned, n=layer.coats_done)


def film_words(told: Told, layer: LayerState) -> str:
    """Say every dry film of a coat that was measured on a layer, oldest first."""
    measured = told.films.get(layer.id, [])
    if not measured:
        return say("not measured")
    return "; ".join(
        say(
            "{um} µm a coat (wet {wet} µm), {when}", um=figure(m.um), wet=figure(m.wet_um), when=moment(m.at, told.zone)
        )
        if m.wet_um is not None
        else say("{um} µm a coat, {when}", um=figure(m.um), when=moment(m.at, told.zone))
        for m in measured
    )


def _coat_head() -> tuple[str, ...]:
    return say("Coat"), say("Begun"), say("Done"), say("Air then"), say("Cup"), say("Wait before it")


def _coat_row(told: Told, piece: PieceState, layer: LayerState, coat: Coat) -> tuple[str, ...]:
    begun, done = from_to(coat.started_at, coat.done_at, told.zone)
    cup = told.cups.get(coat.mix or "")
    return (
        str(coat.number),
        begun,
        done or not_logged(),
        told.air_at(coat.started_at) or not_logged(),
        str(cup) if cup is not None else not_logged(),
        before_coat(piece, layer, coat) or NONE,
    )


# --- a cup ---------------------------------------------------------------------------------------------------


def _cup(told: Told, mix: Mix) -> Iterator[Block]:
    yield Words(say("Cup {n}, begun {facts}:", n=told.cups[mix.id], facts=_begun(told, mix)))
    yield Grid(_pour_head(), tuple(_pour_rows(told, mix)), frozenset({1, 2, 3, 4}))
    first, last = _sprayed(told, mix)
    yield Words(
        say("Stand: {stand}. Pot life: {life}. {emptied}",
            stand=stand_words(mix, first), life=life_words(mix, last), emptied=_emptied(told, mix)),
        small=True,
    )  # fmt: skip


def _begun(told: Told, mix: Mix) -> str:
    when = say("{when} for {n} mL", when=moment(mix.made.at, told.zone), n=pour_figure(mix.made.make_mL))
    layers = told.layers_of(mix)
    shared = say("shared by {n} layers", n=len(layers)) if len(layers) > 1 else ""
    return joined((when, shared, say("in a metal cup") if mix.made.metal_cup else ""))


def _emptied(told: Told, mix: Mix) -> str:
    if mix.emptied_at is None:
        return say("That it was emptied is not logged.")
    when = moment(mix.emptied_at, told.zone)
    if mix.left_mL is None:
        return say("Emptied {when}.", when=when)
    return say("Emptied {when}, {n} mL left over.", when=when, n=pour_figure(mix.left_mL))


def _sprayed(told: Told, mix: Mix) -> tuple[datetime, datetime] | tuple[None, None]:
    begun = [c.started_at for layer in told.layers_of(mix) for c in layer.coats if c.mix == mix.id]
    return (min(begun), max(begun)) if begun else (None, None)


def _pour_head() -> tuple[str, ...]:
    return say("Part"), say("Wanted, mL"), say("Poured, mL"), say("Of the base, %"), say("Off, %"), say("Lot")


def _pour_rows(told: Told, mix: Mix) -> Iterator[tuple[str, ...]]:
    try:
        want = amounts_mL(mix.parts, mix.made.make_mL)
        checks: Sequence[PourCheck] = mix.checks
    except NotAShare:  # a record is checked when it is read; what slips through has no sums
        want, checks = (), ()
    for wanted, check in zip(want, checks, strict=False):
        poured = _poured(mix, check.name)
        of_base = figure(check.percent_of_base) if check.percent_of_base is not None else NONE
        off = f"{check.off_percent:+.1f}" if check.off_percent is not None and poured else NONE
        yield check.name, pour_figure(wanted), poured or not_logged(), of_base, off, _lots(told, mix, check.name)
    for name in mix.poured_mL:
        if name not in {check.name for check in checks}:
            yield name, NONE, _poured(mix, name), NONE, NONE, _lots(told, mix, name)


def _poured(mix: Mix, part: str) -> str:
    pours = [p for p in mix.pours if p.part == part]
    if not pours:
        return ""
    amount = pour_figure(mix.poured_mL.get(part, 0.0))
    return say("{n} (a guess)", n=amount) if any(p.guess for p in pours) else amount


def _lots(told: Told, mix: Mix, part: str) -> str:
    """Name the lots that a part was poured out of; each number stands as it is on the can."""
    names: dict[str, None] = {}
    for pour in (p for p in mix.pours if p.part == part):
        lot = told.state.lots.get(pour.lot or "")
        if pour.lot is None:
            names[not_logged()] = None
        else:
            names[(lot.number if lot is not None else pour.lot) or say("no number on it")] = None
    return ", ".join(names) or not_logged()


# --- in tables -----------------------------------------------------------------------------------------------


def layers_in_tables(told: Told, piece: PieceState) -> Iterator[Block]:
    """Write all layers of a piece as one table, and all of their coats as another."""
    rows = [
        (
            str(number),
            told.state.layer_name(layer),
            _product(told.state.card_of(layer), layer),
            joined((_activators(told, layer, told.state.card_of(layer)), _additives(layer, told.state.card_of(layer)))),
            joined((_coats(layer), layer.plan.gun.value)),
            joined((" ".join(layer.plan.note.split()), film_words(told, layer) if layer.started else "")) or NONE,
        )
        for number, layer in enumerate(piece.layers, 1)
    ]
    if not rows:
        return
    yield Heading(say("Layers, the first one on first"), 2)
    head = "", say("Layer"), say("Product"), say("Activator, additives"), say("Coats, gun"), say("Colour and film")
    yield Grid(head, tuple(rows))
    coats = [
        (f"{number}", *_coat_row(told, piece, layer, coat))
        for number, layer in enumerate(piece.layers, 1)
        for coat in layer.coats
    ]
    if coats:
        yield Heading(say("Coats"), 2)
        yield Grid((say("Layer"), *_coat_head()), tuple(coats))


def cups_in_tables(told: Told, cups: Sequence[Mix]) -> Iterator[Block]:
    """Write many cups as one table of pours and one of how they stood."""
    if not cups:
        return
    yield Heading(say("Cups"))
    pours = tuple((str(told.cups[m.id]), *row) for m in cups for row in _pour_rows(told, m))
    yield Grid((say("Cup"), *_pour_head()), pours, frozenset({2, 3, 4, 5}))
    rows = []
    for mix in cups:
        first, last = _sprayed(told, mix)
        stood = stand_words(mix, first), life_words(mix, last)
        for_what = ", ".join(dict.fromkeys(told.state.layer_name(x) for x in told.layers_of(mix))) or NONE
        rows.append((str(told.cups[mix.id]), for_what, _begun(told, mix), *stood, _emptied(told, mix)))
    yield Grid((say("Cup"), say("For"), say("Begun"), say("Stand"), say("Pot life"), say("Emptied")), tuple(rows))


# --- origins -------------------------------------------------------------------------------------------------


def origin_line(card: Card) -> str:
    """Say in short where the values of a card come from: of all, and of those that have an origin of their own."""
    general = _origin(card, "*") if "*" in card.origins else ""
    own: dict[str, list[str]] = {}
    for place in card.origins:
        if place != "*" and (words := _origin(card, place)) and words != general:
            own.setdefault(words, []).append(_place(place))
    parts = [say("{places}: {origin}", places=", ".join(places), origin=words) for words, places in own.items()]
    return "; ".join(x for x in (general, *parts) if x) or say("not said")


def _place(place: str) -> str:
    """Name a value by its place on the card: what it is, without the unit that stands in the name."""
    words = place.rpartition(".")[2] if place.startswith(("activators", "additives", "reductions")) else place
    for unit in ("_g_mL", "_percent", "_um"):
        words = words.removesuffix(unit)
    return words.replace("_", " ").replace(".", " ")


def _origin(card: Card, place: str) -> str:
    origin = card.origin_of(place)
    plain = isinstance(card.origins.get(place), str)
    if origin is None:
        return ""
    kinds = {
        OriginKind.SHEET: say("data sheet"),
        OriginKind.MEASURED: say("own measurement"),
        OriginKind.TOLD: say("told"),
        OriginKind.PRACTICE: say("common practice"),
        OriginKind.GUESS: say("a guess"),
    }
    page = origin.page.strip()
    page = say("page {page}", page=page) if page[:1].isdigit() else page
    words = " ".join(origin.words.split())
    kind = kinds[origin.kind]
    if words and (plain or words.casefold().startswith(kind.casefold())):
        kind = ""
    return joined((kind, words, page, origin.day))
