"""Photos that say where they were taken, built by hand: JPEG, PNG and WebP with Exif, XMP, comments and a film behind.

Tags by JEITA CP-3451, segments by ISO/IEC 10918-1, chunks by the W3C's PNG and by RFC 9649.
"""

import struct
import zlib

import cv2
import numpy as np
from numpy.typing import NDArray

PLACE = b"GPS-52.5163N-13.3777E"
"""Stands in every block that must go, so that one search finds what was left."""
XMP = b"http://ns.adobe.com/xap/1.0/\0<x:xmpmeta exif:GPSLatitude='" + PLACE + b"'/>"
TAKEN = "2026:03:14 10:20:30"


def picture(width: int = 48, height: int = 32) -> NDArray[np.uint8]:
    """Something whose corners differ, so that a wrong turn shows."""
    made = np.random.default_rng(7).integers(0, 60, (height, width, 3)).astype(np.uint8)
    made[: height // 2, : width // 2] += 180
    return made


def encoded(ending: str, *options: int) -> bytes:
    ok, data = cv2.imencode(ending, picture(), list(options))
    assert ok
    return data.tobytes()


def field(order: str, tag: int, kind: int, count: int, value: bytes) -> bytes:
    return struct.pack(f"{order}HHI", tag, kind, count) + value.ljust(4, b"\0")


def tiff(orientation: int = 1, *, order: str = "<", taken: str = TAKEN, zone: str = "", place: bool = True) -> bytes:
    """An Exif block: which way up, the maker, when it was taken, and where."""
    date, off = taken.encode() + b"\0", zone.encode() + b"\0"
    long, short = f"{order}I", f"{order}H"
    main_at, texts = 8, PLACE + b"\0"
    main_count = 4 if place else 3
    inner_at = main_at + 2 + 12 * main_count + 4
    gps_at = inner_at + 2 + 12 * 2 + 4
    data_at = gps_at + 2 + 12 * 2 + 4
    main = [
        field(order, 0x010F, 2, len(texts), struct.pack(long, data_at)),
        field(order, 0x0112, 3, 1, struct.pack(short, orientation)),
        field(order, 0x8769, 4, 1, struct.pack(long, inner_at)),
        *([field(order, 0x8825, 4, 1, struct.pack(long, gps_at))] if place else []),
    ]
    inner = [
        field(order, 0x9003, 2, len(date), struct.pack(long, data_at + len(texts))),
        field(order, 0x9011, 2, len(off), struct.pack(long, data_at + len(texts) + len(date))),
    ]
    gps = [
        field(order, 0x0001, 2, 2, b"N\0"),
        field(order, 0x0002, 5, 3, struct.pack(long, data_at)),
    ]
    out = (b"II*\0" if order == "<" else b"MM\0*") + struct.pack(long, main_at)
    for fields in (main, inner, gps):
        out += struct.pack(short, len(fields)) + b"".join(fields) + b"\0\0\0\0"
    return out + texts + date + off


def segment(marker: int, body: bytes) -> bytes:
    return struct.pack(">BBH", 0xFF, marker, len(body) + 2) + body


ICC = segment(0xE2, b"ICC_PROFILE\0\x01\x01" + bytes(range(128)))
FILM = b"\0\0\0\x18ftypmp42" + PLACE * 3


def jpeg(orientation: int = 1, *, film: bool = True, progressive: bool = False, **exif: object) -> bytes:
    """A JPEG as a phone writes it: Exif, XMP, a profile, pictures behind it, a comment, a film at the end."""
    plain = encoded(".jpg", cv2.IMWRITE_JPEG_PROGRESSIVE, int(progressive))
    told = b"".join((
        segment(0xE1, b"Exif\0\0" + tiff(orientation, **exif)),  # type: ignore[arg-type]
        segment(0xE1, XMP),
        ICC,
        segment(0xE2, b"MPF\0" + PLACE),
        segment(0xED, b"Photoshop 3.0\0" + PLACE),
        segment(0xEB, PLACE),
        segment(0xFE, PLACE),
    ))  # fmt: skip
    return plain[:2] + told + plain[2:] + (FILM if film else b"")


def chunk(name: bytes, body: bytes) -> bytes:
    return struct.pack(">I", len(body)) + name + body + struct.pack(">I", zlib.crc32(name + body))


def png(orientation: int = 1) -> bytes:
    """A PNG with all the places in which a program may write."""
    plain = encoded(".png")
    head = plain[: 8 + 25]
    told = b"".join((
        chunk(b"eXIf", tiff(orientation)),
        chunk(b"tEXt", b"Comment\0" + PLACE),
        chunk(b"zTXt", b"Comment\0\0" + zlib.compress(PLACE)),
        chunk(b"iTXt", b"XML:com.adobe.xmp\0\0\0\0\0" + XMP),
        chunk(b"tIME", b"\x07\xea\x03\x0e\x0a\x14\x1e"),
        chunk(b"prVt", PLACE),
        chunk(b"pHYs", struct.pack(">IIB", 2835, 2835, 1)),
    ))  # fmt: skip
    return head + told + plain[8 + 25 :] + PLACE


def riff(name: bytes, body: bytes) -> bytes:
    return name + struct.pack("<I", len(body)) + body + b"\0" * (len(body) % 2)


def webp(orientation: int = 1) -> bytes:
    """An extended WebP with Exif and XMP."""
    plain = encoded(".webp", cv2.IMWRITE_WEBP_QUALITY, 80)
    body = plain[12:]
    assert body[:4] == b"VP8 "
    size = (picture().shape[1] - 1).to_bytes(3, "little") + (picture().shape[0] - 1).to_bytes(3, "little")
    chunks = (
        riff(b"VP8X", bytes((0x08 | 0x04 | 0x20, 0, 0, 0)) + size)
        + riff(b"ICCP", bytes(range(101)))
        + body
        + riff(b"EXIF", tiff(orientation))
        + riff(b"XMP ", XMP)
        + riff(b"ODD!", PLACE)
    )
    return b"RIFF" + struct.pack("<I", len(chunks) + 4) + b"WEBP" + chunks + PLACE
