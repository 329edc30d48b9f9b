"""How printed sheets say moments, waits and what a product is: the same on the job sheet and on the care sheet."""

from collections.abc import Iterable
from datetime import UTC, datetime, timedelta, tzinfo

from benchtool.job.cards import Card, Carrier, Chemistry, Duty
from benchtool.trade.saying import say
from benchtool.trade.windows import FOR_GOOD

_MINUTE = timedelta(minutes=1)


def not_logged() -> str:
    """Say that nothing was entered."""
    return say("not logged")


def local(when: datetime, zone: tzinfo | None) -> datetime:
    """Give an instant as the clock in `zone` shows it, None for this computer's; at the calendar's ends in UTC."""
    try:
        return when.astimezone(zone)
    except (OverflowError, ValueError, OSError):
        return when.astimezone(UTC)


def day(when: datetime, zone: tzinfo | None = None) -> str:
    """Say a day: `Tue 3 Mar 2026`."""
    there = local(when, zone)
    return f"{there:%a} {there.day} {there:%b} {there.year}"


def clock(when: datetime, zone: tzinfo | None = None) -> str:
    """Say a time of day: `14:05`."""
    return f"{local(when, zone):%H:%M}"


def moment(when: datetime, zone: tzinfo | None = None) -> str:
    """Say a moment: `3 Mar 2026, 14:05`."""
    there = local(when, zone)
    return f"{there.day} {there:%b} {there.year}, {there:%H:%M}"


def from_to(start: datetime, end: datetime | None, zone: tzinfo | None = None) -> tuple[str, str]:
    """Say when something began and ended; the day once where both are on it. "" for no end."""
    if end is None:
        return moment(start, zone), ""
    same = local(start, zone).date() == local(end, zone).date()
    return moment(start, zone), clock(end, zone) if same else moment(end, zone)


def waited(span: timedelta) -> str:
    """Say how long something was, never longer than it was: `9 min 40 s`, `2 h 05 min`, `3 days 4 h`."""
    seconds = max(0, int(span.total_seconds()))
    if seconds < 60:
        return say("{n} s", n=seconds)
    if seconds < 600 and seconds % 60:
        return say("{m} min {s} s", m=seconds // 60, s=seconds % 60)
    if seconds < 90 * 60:
        return say("{n} min", n=seconds // 60)
    if seconds < 48 * 3_600:
        hours, minutes = divmod(seconds // 60, 60)
        return say("{h} h {m} min", h=hours, m=f"{minutes:02d}") if minutes else say("{n} h", n=hours)
    days, hours = divmod(seconds // 3_600, 24)
    return say("{d} days {h} h", d=days, h=hours) if hours else say("{n} days", n=days)


def needed(span: timedelta) -> str:
    """Say how long something takes, never shorter than it does: rounded up to what `waited` shows."""
    seconds = span.total_seconds()
    step = 1 if seconds < 600 else 60 if seconds < 48 * 3_600 else 3_600
    return waited(timedelta(seconds=-(-seconds // step) * step))


def reaches(when: datetime) -> bool:
    """Whether a moment ever comes."""
    return when < FOR_GOOD


def joined(parts: Iterable[str]) -> str:
    """Put parts into one line, the empty ones left out."""
    return ", ".join(part for part in parts if part)


def kind_words(card: Card) -> str:
    """Say in plain words what kind of product a card is of: `two-part urethane clear coat`."""
    parts = say("two-part") if card.two_part else say("one-part")
    chemistry = {
        Chemistry.LACQUER: say("lacquer"),
        Chemistry.ENAMEL: say("enamel"),
        Chemistry.ACRYLIC: say("waterborne acrylic"),
        Chemistry.URETHANE: say("urethane"),
        Chemistry.EPOXY: say("epoxy"),
        Chemistry.POLYESTER: say("polyester"),
        Chemistry.ETCH: say("acid etch"),
        Chemistry.POLYOLEFIN: say("polyolefin"),
        Chemistry.UV: say("UV-cured"),
    }.get(card.chemistry or Chemistry.OTHER, "")
    duty = {
        Duty.PROMOTER: say("adhesion promoter"),
        Duty.PRIMER: say("primer"),
        Duty.FILLER: say("filler"),
        Duty.SEALER: say("sealer"),
        Duty.BASE: say("colour"),
        Duty.CLEAR: say("clear coat"),
    }[card.duty]
    water = card.carrier is Carrier.WATER and card.chemistry is not Chemistry.ACRYLIC
    return " ".join(x for x in (say("waterborne") if water else "", parts, chemistry, duty) if x)
