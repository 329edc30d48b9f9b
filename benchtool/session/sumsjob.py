"""The sums of the layer in hand: what its job, card and shop fill in, its emissions and what its cup costs."""

from collections.abc import Mapping
from dataclasses import dataclass, field

from benchtool.job.cards import Card, Gun
from benchtool.job.costs import CupCost, JobCost, cup_cost, job_cost
from benchtool.job.shop import Shop
from benchtool.job.state import LayerState, Mix
from benchtool.session import acts
from benchtool.session.airtimes import times_in_air
from benchtool.session.cardfields import Wrong, figure_of
from benchtool.session.owned import money, prices_per_mL, shop_of
from benchtool.session.session import Session
from benchtool.session.sums import Needed, Texts, Wanted
from benchtool.sheets.sums import VocSheet
from benchtool.trade.cost import cost, wasted
from benchtool.trade.durations import write_span
from benchtool.trade.emissions import Contents, NotEmissions, emissions
from benchtool.trade.film import TRANSFER_PERCENT, NotACoat, mixed_solids
from benchtool.trade.flow import NotAFlowCup, read_cup
from benchtool.trade.mixing import NotAShare, Part, PartKind, amounts_mL, fractions, size_in_cup
from benchtool.trade.numbers import figure
from benchtool.trade.quantities import Measures, NotAnAmount
from benchtool.trade.units import volume_figure, volume_words

ANY_MAKE_ML = 100.0
"""Emissions per litre are the same for any amount; this one stands in where none is known."""


# --- what is filled in ---------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True, kw_only=True)
class Filled:
    """What the job, the card and the shop fill in, by field, and a sentence where one of them is missing.

    `air` says where the times of the cup are not those of the card.
    """

    texts: Mapping[str, str]
    notes: Mapping[str, str] = field(default_factory=dict)
    air: str = ""


def filled(session: Session) -> Filled:
    """Fill in what is known of the layer in hand."""
    shop, layer, card = shop_of(session), session.layer, _card(session)
    texts: dict[str, str] = {"loss": volume_figure(shop.loss_mL, shop.unit), "limit": figure_of(shop.voc_limit_g_L)}
    notes: dict[str, str] = {}
    document = session.current
    air = document.state.air.at(session.now()) if document is not None else None
    if air is not None:
        texts["warmth"] = f"{figure_of(air.air_degC)} °C"
    if layer is None or card is None:
        return Filled(texts=texts)
    gun = layer.plan.gun
    area_m2 = document.state.piece_of(layer).piece.area_m2 if document is not None else None
    if area_m2 is not None:
        texts["area"] = figure_of(area_m2)
    left = layer.plan.coats - layer.coats_done
    texts["coats"] = str(left if left > 0 else layer.plan.coats)
    texts["dry"] = figure_of(card.film_um)
    texts["transfer"] = figure_of(shop.transfer_percent.get(gun, TRANSFER_PERCENT[gun.value]))
    rate = shop.rate_mL_min.get(gun)
    texts["rate"] = figure_of(rate)
    if rate is None:
        notes["rate"] = f"How fast your {gun.value} sprays: write it here, or once for all in the shop (O)."
    times = times_in_air(card, layer, session.now())
    for key, span in (("pot_life", times.pot_life), ("flash", times.flash), ("stand", times.stand)):
        texts[key] = write_span(span) if span is not None else ""
    if card.pot_life is None:
        notes["pot_life"] = f"{card.name} gives no pot life on its card."
    wanted = wanted_of(card, gun)
    texts["cup"] = wanted.cup.name if wanted is not None else ""
    _fill_mix(session, layer, card, texts, notes)
    return Filled(texts=texts, notes=notes, air=times.never or times.why)


def _fill_mix(session: Session, layer: LayerState, card: Card, texts: dict[str, str], notes: dict[str, str]) -> None:
    try:
        parts = acts.recipe_of(session, layer)
        shares = fractions(parts)
    except NotAShare as fault:
        notes["solids"] = str(fault)
        return
    reducer = sum(f for p, f in zip(parts, shares, strict=True) if p.kind is PartKind.REDUCER)
    texts["thinned"] = figure(100 * reducer / (1 - reducer), 4) if reducer < 1 else ""
    known: list[tuple[float, float]] = []
    for part, share in zip(parts, shares, strict=True):
        if part.kind is PartKind.REDUCER:
            continue
        solids = _solids_of(card, layer.plan.activator, part)
        if solids is None:
            notes["solids"] = f"{card.name} gives no volume solids of {part.name}: type those of the activated paint."
            return
        known.append((share, solids))
    try:
        texts["solids"] = figure(mixed_solids(known), 4)
    except NotACoat as fault:
        notes["solids"] = str(fault)


def _solids_of(card: Card, activator: str | None, part: Part) -> float | None:
    if part.kind is PartKind.BASE:
        return card.solids_percent
    chosen = card.activator(activator)
    return chosen.solids_percent if part.kind is PartKind.ACTIVATOR and chosen is not None else None


def wanted_of(card: Card, gun: Gun) -> Wanted | None:
    """Give the seconds that the card asks for with this gun; None where it gives none, or no cup known here."""
    reduction = card.reduction(gun)
    if reduction is None or reduction.flow_cup is None or reduction.flow_s is None:
        return None
    try:
        cup = read_cup(reduction.flow_cup)
    except NotAFlowCup:
        return None
    return Wanted(cup=cup, seconds=reduction.flow_s, gun=gun.value)


def wanted_now(session: Session) -> Wanted | None:
    """Give the seconds that the card asks for with the gun in hand."""
    layer, card = session.layer, _card(session)
    return wanted_of(card, layer.plan.gun) if layer is not None and card is not None else None


def _card(session: Session) -> Card | None:
    document, layer = session.current, session.layer
    return document.state.card_of(layer) if document is not None and layer is not None else None


def film_words(session: Session, dry_um: float, coats: int) -> str:
    """Say how thick the layer in hand gets with `coats` more of `dry_um`, and the whole stack on its piece."""
    document, layer, piece = session.current, session.layer, session.piece
    if document is None or layer is None or piece is None:
        return f"All coats together dry to {figure(dry_um * coats)} µm."
    done = layer.coats_done if layer.coats_done < layer.plan.coats else 0
    own = dry_um * (coats + done)
    total, lacking = own, []
    for other in piece.layers:
        if other is layer:
            continue
        card = document.state.card_of(other)
        if card is None or card.film_um is None:
            lacking.append(document.state.layer_name(other))
        else:
            total += card.film_um * other.plan.coats
    with_done = (
        " with the coat that is on it" if done == 1 else f" with the {done} coats that are on it" if done else ""
    )
    said = f"This layer dries to {figure(own)} µm{with_done}"
    if len(piece.layers) == 1:
        return f"{said}."
    without = f", without {' and '.join(lacking)}, whose card gives no film" if lacking else ""
    return f"{said}, the whole stack to {figure(total)} µm{without}."


# --- the cup as it stands, or as it is planned -----------------------------------------------------------


@dataclass(frozen=True, slots=True, kw_only=True)
class Amounts:
    """What is or will be in the cup, by part in pour order. `mix` is the cup that stands, None for a plan."""

    card: Card
    activator: str | None
    parts: tuple[Part, ...]
    mL: tuple[float, ...]
    mix: Mix | None = None

    @property
    def words(self) -> str:
        """Which cup is meant."""
        if self.mix is None:
            return "As planned"
        if all(p.name in self.mix.poured_mL for p in self.parts):
            return "As poured"
        return "As poured so far, the rest as planned"


def amounts_now(session: Session, make_mL: float | None) -> Amounts:
    """Give the amounts of the cup of the layer in hand, else of a cup of `make_mL` by its card.

    Raises:
        Needed: no layer with a card is in hand, or its card is no mix.
    """
    document, layer, card = session.current, session.layer, _card(session)
    if document is None or layer is None or card is None:
        raise Needed("Take a layer with its product card in hand first.")
    mix = document.state.mix_for(layer)
    try:
        if mix is None or not mix.total_mL > 0:
            parts = acts.recipe_of(session, layer)
            mL = amounts_mL(parts, make_mL or ANY_MAKE_ML)
            return Amounts(card=card, activator=layer.plan.activator, parts=parts, mL=mL)
        shares = fractions(mix.parts)
        whole = max(mix.made.make_mL, size_in_cup(shares, [mix.poured_mL.get(p.name) for p in mix.parts]))
        mL = tuple(mix.poured_mL.get(p.name, f * whole) for p, f in zip(mix.parts, shares, strict=True))
    except NotAShare as fault:
        raise Needed(str(fault)) from None
    return Amounts(card=mix.card or card, activator=mix.made.activator, parts=mix.parts, mL=mL, mix=mix)


# --- emissions -----------------------------------------------------------------------------------------


def contents_of(amounts: Amounts) -> tuple[Contents, ...]:
    """Give what evaporates of each part, by the card.

    Raises:
        Needed: a part has no VOC on the card, or figures there that don't add up.
    """
    card, found, missing = amounts.card, [], []
    chosen = card.activator(amounts.activator)
    vocs = {
        PartKind.BASE: card.voc,
        PartKind.ACTIVATOR: chosen.voc if chosen is not None else None,
        PartKind.REDUCER: card.reducer_voc,
    }
    for part, mL in zip(amounts.parts, amounts.mL, strict=True):
        voc = vocs.get(part.kind)
        if voc is None:
            missing.append(part.name)
            continue
        try:
            found.append(voc.contents(part.name, mL, part.density_g_mL))
        except NotEmissions as fault:
            raise Needed(str(fault)) from None
    if missing:
        raise Needed(
            f"The card of {card.name} gives no VOC of {' and '.join(missing)}: fill in its VOC there, in g/L, "
            f"0 where there is none."
        )
    return tuple(found)


def emitted(measures: Measures, typed: Texts, amounts: Amounts) -> VocSheet:
    """Give the emissions of the mix, against the limit that is typed; a bare number is g/L.

    Raises:
        Wrong: the limit can't be used.
        Needed: the card lacks something.
    """
    limit = read_limit(measures, typed.get("limit", ""))
    contents = contents_of(amounts)
    try:
        return VocSheet(contents=contents, found=emissions(contents), limit_g_L=limit)
    except NotEmissions as fault:
        raise Needed(str(fault)) from None


def read_limit(measures: Measures, text: str) -> float | None:
    """Read the limit (g/L) the painter goes by; None where the field is empty.

    Raises:
        Wrong: it is none.
    """
    if not text.strip():
        return None
    try:
        limit = measures.concentration_g_L(text, unit="g/L")
    except NotAnAmount as fault:
        raise Wrong([("limit", str(fault))]) from None
    if not limit > 0:
        raise Wrong([("limit", "A limit of nothing is none: write the limit of your rule, such as 420 g/L.")])
    return limit


# --- cost ----------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True, kw_only=True)
class PartCost:
    """One part of a cup: how much of it, and what that costs; None where its can has no price or is not known."""

    name: str
    mL: float
    cost: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Costs:
    """What the cup and the job cost. `total` is None where a part has no price; `why` says which."""

    parts: tuple[PartCost, ...]
    total: float | None
    why: str
    job: JobCost
    poured: CupCost | None = None
    lost: float | None = None


def costs(session: Session, amounts: Amounts, loss_mL: float = 0.0) -> Costs:
    """Reckon what the cup costs by part, and the job so far.

    A cup that stands costs what is in it, by the cans it was poured from. One that is planned costs what it will
    take of the cans in hand, and of it `lost` is what `loss_mL` in cup and hose costs.
    """
    document, mix = session.current, amounts.mix
    if document is None:
        return Costs(parts=(), total=None, why="", job=JobCost(cups=(), cost=None, at_least=0, waste_mL=0, waste=None))
    state = document.state
    keeper = session.shop
    shelf = {lot.id: keeper.price_per_mL(lot) for lot in state.lots.values()} if keeper is not None else {}
    newest = {lot: price for lot, price in shelf.items() if price is not None}
    job = job_cost(state, newest)
    if mix is not None:
        poured = cup_cost(state, mix, newest)
        rows = []
        for name, mL in mix.poured_mL.items():
            of_it = [(p.mL, _price(session, p.lot, newest)) for p in mix.pours if p.part == name]
            rows.append(PartCost(name=name, mL=mL, cost=cost(of_it)))
        return Costs(parts=tuple(rows), total=poured.cost, why=poured.why, job=job, poured=poured)
    prices = prices_per_mL(session, amounts.card.id)
    planned = [
        PartCost(name=p.name, mL=mL, cost=cost([(mL, prices.get(p.name))]))
        for p, mL in zip(amounts.parts, amounts.mL, strict=True)
    ]
    total = cost((p.mL, prices.get(p.name)) for p in planned)
    lacking = [p.name for p in planned if p.cost is None]
    why = ""
    if lacking:
        of = f" of {' and '.join(lacking)}" if len(lacking) < len(planned) else ""
        why = f"No price is known{of}: take the can in hand (K), and write what it cost in the shop (O)."
    whole = sum(amounts.mL)
    lost = wasted(loss_mL, whole, total) if total is not None and 0 < loss_mL <= whole else None
    return Costs(parts=tuple(planned), total=total, why=why, job=job, lost=lost)


def _price(session: Session, lot_id: str | None, newest: Mapping[str, float]) -> float | None:
    document = session.current
    lot = document.state.lots.get(lot_id or "") if document is not None else None
    own = lot.price_per_mL if lot is not None else None
    return own if own is not None else newest.get(lot_id or "")


def job_words(job: JobCost, shop: Shop, told: str = "") -> str:
    """Say what the job cost so far and what of it was thrown away; a reason that was `told` is not said again."""
    count = sum(1 for cup in job.cups if cup.poured_mL > 0)
    if not count:
        return "No cup is poured in this job yet."
    cups = "1 cup" if count == 1 else f"{count} cups"
    if job.cost is not None:
        said = f"The job so far: {money(job.cost, shop)} in {cups}."
    else:
        least = f"at least {money(job.at_least, shop)} in {cups}" if job.at_least > 0 else f"{cups}, no price known"
        said = f"The job so far: {least}." + (f" {job.why}" if job.why != told else "")
    if job.waste_mL > 0:
        worth = f", worth {money(job.waste, shop)}" if job.waste is not None else ""
        said += f" Thrown away: {volume_words(job.waste_mL, shop.unit)}{worth}."
    return said
