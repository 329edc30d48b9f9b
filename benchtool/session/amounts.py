"""Amounts as the painter types them at a cup: volumes, weights, drops, parts, or what the scale shows."""

import re
from collections.abc import Sequence
from dataclasses import dataclass

from benchtool.job.state import LayerState, Mix
from benchtool.session import acts
from benchtool.session.owned import shop_of
from benchtool.session.session import Session
from benchtool.trade.measuring import ToolKind
from benchtool.trade.mixing import MissingDensity, Of, Part, amounts_mL, fractions
from benchtool.trade.numbers import figure, shorten
from benchtool.trade.quantities import NotAnAmount
from benchtool.trade.units import VolumeUnit


@dataclass(frozen=True, slots=True)
class Typed:
    """An amount as typed and understood; `guess` where it was counted in drops of a dropper nobody measured."""

    mL: float
    typed: str
    guess: bool = False


def read_pour(session: Session, mix: Mix, name: str, text: str) -> Typed:
    """Read what was poured: any volume or weight; on the scale a bare number or grams are what it shows.

    Raises:
        NotAnAmount: it can't be read so; the message says what to write.
    """
    shop = shop_of(session)
    part = next(p for p in mix.parts if p.name == name)
    if shop.by_weight:
        grams = _reading_g(session, text)
        if grams is not None:
            return _poured_on_scale(mix, part, grams, text)
    return _as_typed(session, text, part.density_g_mL, one_part_mL(mix.parts, mix.made.make_mL))


def _reading_g(session: Session, text: str) -> float | None:
    typed = text.strip()
    try:
        float(typed.replace(",", "."))
    except ValueError:
        pass
    else:
        typed += " g"
    try:
        return session.measures.mass(typed)
    except NotAnAmount:
        return None


def _poured_on_scale(mix: Mix, part: Part, grams: float, text: str) -> Typed:
    try:
        shown, density = grams_in(mix), part.grams_per_mL
    except MissingDensity as missing:
        raise NotAnAmount(str(missing)) from None
    if grams < shown - 1e-9:
        raise NotAnAmount(
            f"The scale showed {figure(shown, 4)} g already: write what it shows now, or an amount in mL."
        )
    typed = f"{text.strip()} g" if _BARE.fullmatch(text.strip()) else text.strip()
    return Typed((grams - shown) / density, f"{typed} on the scale")


def _as_typed(session: Session, text: str, density: float | None, part_mL: float | None) -> Typed:
    unit = shop_of(session).unit
    droppers = [t for t in shop_of(session).tools if t.kind is ToolKind.DROPPER and t.calibrated]
    if _SHARE.match(text):
        raise NotAnAmount(f"“{shorten(text)}” is a share: write an amount here, such as 30 mL or 1 fl oz.")
    ounces = _OUNCES.fullmatch(text.strip())
    if ounces is not None and unit is not VolumeUnit.ML:  # whoever measures in fluid ounces means one
        text = f"{ounces[1]} {unit.value}"
    amount = session.measures.volume(
        text,
        unit=unit.value,
        density_g_mL=density,
        drop_mL=droppers[0].step if droppers else None,
        part_mL=part_mL,
    )
    typed = f"{amount.typed} {unit.value}" if _BARE.fullmatch(amount.typed) else amount.typed
    return Typed(amount.mL, typed, amount.guess)


_BARE = re.compile(r"[0-9.,/ ½¼¾⅓⅔⅛⅜⅝⅞⁄]+")
"""An amount typed without its unit: the record keeps it with the unit it was taken in."""
_SHARE = re.compile(r"\s*[0-9.,/ ]+\s*(?:%|percent\b|:)", re.IGNORECASE)
_OUNCES = re.compile(r"([0-9.,/ ½¼¾⅓⅔⅛⅜⅝⅞⁄]+?)\s*(?:oz|ozs|ounces?)\.?", re.IGNORECASE)


def one_part_mL(parts: Sequence[Part], make_mL: float) -> float | None:
    """Say how much (mL) one part is, where the recipe counts in plain parts of a cup of this size."""
    for part, mL in zip(parts, amounts_mL(parts, make_mL), strict=True):
        if part.share.of is Of.PARTS and part.share.value > 0 and not part.share.by_weight:
            return mL / part.share.value
    return None


def read_make(session: Session, layer: LayerState, text: str) -> float:
    """Read how much to make (mL): any volume, or a weight where every part has its density.

    Raises:
        NotAnAmount: it is none, or not above zero.
        NotAShare: the card's shares are no mix.
    """
    parts = acts.recipe_of(session, layer)
    densities = [p.density_g_mL for p in parts]
    known = [d for d in densities if d is not None]
    of_mix = None
    if len(known) == len(parts):
        of_mix = sum(f * d for f, d in zip(fractions(parts), known, strict=True))
    amount = _as_typed(session, text, of_mix, None)
    if amount.mL <= 0:
        raise NotAnAmount("Type an amount above zero, such as 30 mL or 1 fl oz.")
    return amount.mL


def grams_in(mix: Mix) -> float:
    """What the scale shows now, the empty cup tared.

    Raises:
        MissingDensity: the card of a part in the cup gives none.
    """
    return sum(p.grams_per_mL * mix.poured_mL.get(p.name, 0.0) for p in mix.parts if mix.poured_mL.get(p.name))
