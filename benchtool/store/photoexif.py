"""What a camera wrote into a photo: which way up it is, when it was taken, and whether it says where.

The structure and the tags are those of Exif (JEITA CP-3451, which takes over TIFF 6.0 for it). Nothing in it is
believed: an offset that leads out of the data, or a value of the wrong type, is as good as none.
"""

import re
import struct
from dataclasses import dataclass
from datetime import datetime, timedelta, timezone
from typing import Final

ORIENTATION: Final = 0x0112
EXIF_IFD: Final = 0x8769
GPS_IFD: Final = 0x8825
TAKEN: Final = 0x9003
TAKEN_ZONE: Final = 0x9011
"""JEITA CP-3451: Orientation, the pointers to the Exif and the GPS directory, DateTimeOriginal, OffsetTimeOriginal."""

UPRIGHT: Final = 1
_ORIENTATIONS: Final = range(1, 9)
_ASCII, _SHORT, _LONG = 2, 3, 4
_MOST_FIELDS = 1_000
_DATE = re.compile(r"(\d{4}):(\d\d):(\d\d) (\d\d):(\d\d):(\d\d)")
_ZONE = re.compile(r"([+-])(\d\d):(\d\d)")


@dataclass(frozen=True, slots=True)
class Exif:
    """What is known of a photo. `taken` has a zone only where the camera wrote one; most don't."""

    orientation: int = UPRIGHT
    taken: datetime | None = None
    place: bool = False


def read_exif(tiff: bytes) -> Exif:
    """Read the TIFF structure of an Exif block; what is damaged in it is left out."""
    order = {b"II*\0": "<", b"MM\0*": ">"}.get(tiff[:4])
    if order is None or len(tiff) < 8:
        return Exif()
    (first,) = struct.unpack_from(f"{order}I", tiff, 4)
    main = _directory(tiff, order, first)
    turned = _number(tiff, order, main.get(ORIENTATION), _SHORT)
    inner = _number(tiff, order, main.get(EXIF_IFD), _LONG)
    told = _directory(tiff, order, inner) if inner is not None else {}
    when = _taken(_text(tiff, order, told.get(TAKEN)), _text(tiff, order, told.get(TAKEN_ZONE)))
    return Exif(turned if turned in _ORIENTATIONS and turned is not None else UPRIGHT, when, GPS_IFD in main)


def orientation_alone(orientation: int) -> bytes:
    """Write the smallest Exif block there is: which way up the picture is, and nothing else."""
    head = b"MM\0*" + struct.pack(">I", 8)
    return head + struct.pack(">HHHIHHI", 1, ORIENTATION, _SHORT, 1, orientation, 0, 0)


def _directory(tiff: bytes, order: str, start: int) -> dict[int, int]:
    """Give where the 12 bytes of each field of a directory lie, by its tag; the first of a tag counts."""
    if not 8 <= start <= len(tiff) - 2:
        return {}
    (count,) = struct.unpack_from(f"{order}H", tiff, start)
    found: dict[int, int] = {}
    for i in range(min(count, _MOST_FIELDS)):
        at = start + 2 + 12 * i
        if at + 12 > len(tiff):
            break
        found.setdefault(struct.unpack_from(f"{order}H", tiff, at)[0], at)
    return found


def _number(tiff: bytes, order: str, at: int | None, kind: int) -> int | None:
    if at is None:
        return None
    _, told, count = struct.unpack_from(f"{order}HHI", tiff, at)
    if told != kind or count != 1:
        return None
    return int(struct.unpack_from(f"{order}{'H' if kind == _SHORT else 'I'}", tiff, at + 8)[0])


def _text(tiff: bytes, order: str, at: int | None) -> str:
    if at is None:
        return ""
    _, kind, count, where = struct.unpack_from(f"{order}HHII", tiff, at)
    if kind != _ASCII or not 5 <= count <= 40 or where + count > len(tiff):
        return ""
    return tiff[where : where + count].split(b"\0")[0].decode("ascii", "replace")


def _taken(date: str, zone: str) -> datetime | None:
    found, away = _DATE.fullmatch(date.strip()), _ZONE.fullmatch(zone.strip())
    if found is None:
        return None
    try:
        year, month, day, hour, minute, second = map(int, found.groups())
        when = datetime(year, month, day, hour, minute, second)  # noqa: DTZ001 - a camera's clock has no zone
        if away is None:
            return when
        off = timedelta(hours=int(away[2]), minutes=int(away[3]))
        return when.replace(tzinfo=timezone(-off if away[1] == "-" else off))
    except ValueError:  # the 31st of June; a day and more from Greenwich
        return None
