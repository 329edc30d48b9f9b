"""The hours of the shop, its room and its minutes: typed text becomes a record, or a sentence at the field at fault."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date

from msgspec.structs import replace

from benchtool.job.cards import Gun
from benchtool.job.shop import Shop
from benchtool.job.shophours import USUAL_MIN, Takes
from benchtool.session import hoursform
from benchtool.session.cardfields import Reader, Wrong, figure_of
from benchtool.session.hourspans import NotHours
from benchtool.trade.numbers import shorten
from benchtool.trade.saying import say

MOST = 20
"""So many booths, hands or guns of a kind a shop may have (`job.shop.Count`)."""

LONGEST_COUNT = 8
"""Figures of a number that is looked at at all."""


@dataclass(frozen=True, slots=True, kw_only=True)
class HoursText:
    """What is typed of the week, the days off, the room and the minutes."""

    hours: str = ""
    closed: str = ""
    extra: str = ""
    booths: str = ""
    hands: str = ""
    guns: Mapping[Gun, str] = field(default_factory=dict)
    takes: Mapping[Takes, str] = field(default_factory=dict)


def gun_key(gun: Gun) -> str:
    """The name of the field for how many guns of a kind there are."""
    return f"guns-{gun.value.replace(' ', '-')}"


def takes_key(takes: Takes) -> str:
    """The name of the field for how long a kind of work takes."""
    return f"takes-{takes.name.lower()}"


def write_hours(shop: Shop, today: date = date.min) -> HoursText:
    """Write what is kept as it would be typed; of the openings of single days those from `today` on."""
    return HoursText(
        hours=hoursform.hours_text(shop.hours),
        closed=hoursform.closed_text(shop.closed_days),
        extra=hoursform.extra_text(shop.extra, today),
        booths=str(shop.booths),
        hands=str(shop.hands),
        guns={gun: str(shop.guns.get(gun, 1)) for gun in Gun},
        takes={kind: f"{figure_of(shop.takes_min.get(kind, USUAL_MIN[kind]))} min" for kind in Takes},
    )


def read_hours(text: HoursText, shop: Shop, today: date) -> Shop:
    """Read what is typed; gives the shop with it.

    Raises:
        Wrong: fields that can't be taken so.
    """
    faults: list[tuple[str, str]] = []
    reader = Reader(faults)
    hours, closed, extra = shop.hours, shop.closed_days, shop.extra
    try:
        hours = hoursform.read_hours(text.hours)
    except NotHours as wrong:
        faults.append(("hours", str(wrong)))
    try:
        closed = hoursform.read_closed(text.closed, today)
    except NotHours as wrong:
        faults.append(("closed", str(wrong)))
    try:
        typed_extra = hoursform.read_extra(text.extra, today)
        if typed_extra != tuple(x for x in extra if x.day >= today):  # else what is over stays until another is written
            extra = typed_extra
    except NotHours as wrong:
        faults.append(("extra", str(wrong)))
    booths, hands = (_count(faults, key, typed) for key, typed in (("booths", text.booths), ("hands", text.hands)))
    guns = {gun: _count(faults, gun_key(gun), text.guns.get(gun, "")) for gun in Gun}
    takes: dict[Takes, float] = {}
    for kind in Takes:
        typed = text.takes.get(kind, "")
        span = reader.time(takes_key(kind), typed, "min")
        if span is not None and not 0 < span.total_seconds() <= 86_400:
            faults.append((takes_key(kind), say("Write how long it takes, up to a day, such as 10 min.")))
        elif span is not None:
            takes[kind] = span.total_seconds() / 60
        elif not typed.strip():
            takes[kind] = USUAL_MIN[kind]
    if faults:
        raise Wrong(faults)
    return replace(
        shop, hours=hours, closed_days=closed, extra=extra, booths=booths, hands=hands, guns=guns, takes_min=takes
    )


def _count(faults: list[tuple[str, str]], key: str, typed: str) -> int:
    text = typed.strip()
    if text.isdecimal() and len(text) <= LONGEST_COUNT and int(text) <= MOST:
        return int(text)
    if text:
        faults.append((key, say("“{typed}” is no number of them: write 0 to {most}.", typed=shorten(text), most=MOST)))
    else:
        faults.append((key, say("Write how many there are: 0 to {most}.", most=MOST)))
    return 0
