"""The zone in which a logger's clock hangs: this computer's, with or without its summer time, or a named one."""

import re
from datetime import UTC, datetime, timedelta, timezone, tzinfo
from zoneinfo import ZoneInfo

COMPUTER, WINTER, WORLD = "computer", "winter", "UTC"
"""The keys of the zones that the painter may choose; a kept choice may also name another."""

_OFFSET = re.compile(r"UTC([+-])(\d{2}):(\d{2})")


class _OfComputer(tzinfo):
    """The zone of this computer, as the system knows it."""

    def utcoffset(self, dt: datetime | None, /) -> timedelta | None:
        # A naive time is one of this computer; `fold` tells the two equal hours of autumn apart.
        return None if dt is None else dt.replace(tzinfo=None).astimezone().utcoffset()

    def dst(self, dt: datetime | None, /) -> timedelta | None:  # noqa: ARG002 - as tzinfo asks
        return None

    def tzname(self, dt: datetime | None, /) -> str | None:  # noqa: ARG002 - as tzinfo asks
        return str(self)

    def fromutc(self, dt: datetime, /) -> datetime:
        local = dt.replace(tzinfo=UTC).astimezone()
        mine = local.replace(tzinfo=self)
        return mine if mine.utcoffset() == local.utcoffset() else mine.replace(fold=1)

    def __str__(self) -> str:
        return "of this computer"


class _WithoutSummer(_OfComputer):
    """The same without its summer time: many a logger never changes its clock."""

    def utcoffset(self, dt: datetime | None, /) -> timedelta | None:
        if dt is None:
            return None
        halves = (datetime(dt.year, month, 1, tzinfo=computers_zone).utcoffset() for month in (1, 7))
        return min(half for half in halves if half is not None)

    def fromutc(self, dt: datetime, /) -> datetime:
        return dt + (self.utcoffset(dt) or timedelta(0))

    def __str__(self) -> str:
        return "of this computer without its summer time"


computers_zone: tzinfo = _OfComputer()
winter_zone: tzinfo = _WithoutSummer()

_ZONES = {COMPUTER: computers_zone, WINTER: winter_zone, WORLD: UTC}


def zone_of(key: str) -> tzinfo:
    """Give the zone of a key of `zone_key`; this computer's where there is none such."""
    if key in _ZONES:
        return _ZONES[key]
    if (found := _OFFSET.fullmatch(key)) is not None:
        offset = timedelta(hours=int(found[2]), minutes=int(found[3]))
        if offset < timedelta(days=1):
            return timezone(-offset if found[1] == "-" else offset)
    try:
        return ZoneInfo(key)
    except (OSError, ValueError, KeyError):  # a zone that isn't found is a KeyError
        return computers_zone


def zone_key(zone: tzinfo) -> str:
    """Give the word by which a zone is kept."""
    return next((key for key, known in _ZONES.items() if known is zone), str(zone))
