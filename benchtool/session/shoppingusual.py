"""The usual figures of the shop: what is typed becomes a record, or a sentence at the field at fault."""

from dataclasses import dataclass, field
from functools import partial

from msgspec.structs import replace

from benchtool.job.cards import Gun
from benchtool.job.shop import MOST_TOLERANCE, Shop
from benchtool.session.cardfields import Reader, Wrong, clean, figure_of
from benchtool.session.shopping import amount_text, tried
from benchtool.trade.measuring import ToolKind
from benchtool.trade.numbers import shorten
from benchtool.trade.quantities import Measures
from benchtool.trade.units import VolumeUnit

_MOST_RATE = 100_000.0


_TOO_WIDE = "10 % is the most that may go for every product: where a sheet allows more, write that on its card."


@dataclass(frozen=True, slots=True, kw_only=True)
class UsualText:
    """What is typed and chosen of how the painter works."""

    unit: VolumeUnit = VolumeUnit.ML
    by_weight: bool = False
    activator: str = ""
    rest: str = ""
    transfer: dict[Gun, str] = field(default_factory=dict)
    rate: dict[Gun, str] = field(default_factory=dict)
    loss: str = ""
    currency: str = ""
    limit: str = ""


def write_usual(shop: Shop) -> UsualText:
    """Write the usual figures as they would be typed."""

    def percent(fraction: float | None) -> str:
        return "" if fraction is None else f"{figure_of(float(f'{fraction * 100:.12g}'))} %"

    return UsualText(
        unit=shop.unit,
        by_weight=shop.by_weight,
        activator=percent(shop.tolerance_activator),
        rest=percent(shop.tolerance_rest),
        transfer={g: f"{figure_of(shop.transfer_percent[g])} %" if g in shop.transfer_percent else "" for g in Gun},
        rate={g: f"{figure_of(shop.rate_mL_min[g])} mL/min" if g in shop.rate_mL_min else "" for g in Gun},
        loss=amount_text(shop.loss_mL, shop.unit) if shop.loss_mL else "",
        currency=shop.currency,
        limit="" if shop.voc_limit_g_L is None else f"{figure_of(shop.voc_limit_g_L)} g/L",
    )


def usual_key(group: str, gun: Gun) -> str:
    """The name of the field of `group` (transfer, rate) for a gun."""
    return f"{group}-{gun.value.replace(' ', '-')}"


def read_usual(measures: Measures, text: UsualText, shop: Shop) -> Shop:
    """Read the usual figures; gives the shop with them.

    Raises:
        Wrong: a field that can't be taken so.
    """
    faults: list[tuple[str, str]] = []
    reader = Reader(faults)
    if text.by_weight and not any(t.kind is ToolKind.SCALE for t in shop.tools):
        faults.append(("by_weight", "You have no scale yet: add it under Tools first."))
    activator, rest = (reader.number(k, getattr(text, k), "%", 0, 50) for k in ("activator", "rest"))
    for key, allowed in (("activator", activator), ("rest", rest)):
        if allowed is not None and allowed > 100 * MOST_TOLERANCE + 1e-9:
            faults.append((key, _TOO_WIDE))
    transfer, rate = {}, {}
    for gun in Gun:
        key = usual_key("transfer", gun)
        stays = reader.number(key, text.transfer.get(gun, ""), "%", 0, 100)
        if stays is not None:
            transfer[gun] = stays
        key, typed = usual_key("rate", gun), text.rate.get(gun, "")
        if typed.strip():
            speed = tried(faults, key, partial(measures.rate_mL_min, typed, unit="mL/min"))
            if speed is not None and speed > _MOST_RATE:
                faults.append((key, f"“{shorten(typed)}” is more than any gun sprays: write mL/min, such as 12."))
            elif speed is not None:
                rate[gun] = speed
    loss: float | None = 0.0
    if text.loss.strip() and text.loss == write_usual(shop).loss:
        loss = shop.loss_mL  # as it stood: what is shown is rounded
    elif text.loss.strip():
        loss = tried(faults, "loss", lambda: measures.volume(text.loss, unit=text.unit.value).mL)
    currency = clean(text.currency)
    if len(currency) > 20:
        faults.append(("currency", "This is too long: 20 characters at most."))
    limit = None
    if text.limit.strip():
        limit = tried(faults, "limit", lambda: measures.concentration_g_L(text.limit, unit="g/L"))
    if faults or loss is None:
        raise Wrong(faults)
    return replace(
        shop,
        unit=text.unit,
        by_weight=text.by_weight,
        tolerance_activator=None if activator is None else activator / 100,
        tolerance_rest=None if rest is None else rest / 100,
        transfer_percent=transfer,
        rate_mL_min=rate,
        loss_mL=loss,
        currency=currency,
        voc_limit_g_L=limit,
    )
