"""What is in a photo beside its picture, and the same photo without it: no place, no owner, no camera, no comment.

Nothing is decoded or encoded anew: what is kept is kept byte for byte, and only what draws the picture is kept. So what
nobody has thought of yet goes too. Of what the camera wrote, only which way up the picture is stays.

Sources: ISO/IEC 10918-1 (ITU-T T.81) annex B for JPEG, JEITA CP-3451 for its Exif, ICC.1 annex B for its profile; W3C
Portable Network Graphics, third edition, for PNG; RFC 9649 for WebP.
"""

import re
import struct
import zlib
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from enum import StrEnum
from typing import Final

from benchtool.store.photoexif import UPRIGHT, Exif, orientation_alone, read_exif

_JPEG, _PNG = b"\xff\xd8\xff", b"\x89PNG\r\n\x1a\n"
_HEIF = (b"heic", b"heix", b"hevc", b"hevx", b"heim", b"heis", b"mif1", b"msf1", b"avif", b"avis")
"""Major brands of ISO/IEC 23008-12 and of AVIF, in the box `ftyp` with which such a file begins."""


class Kind(StrEnum):
    """What a file is by its first bytes, whatever it is called."""

    JPEG = "JPEG"
    PNG = "PNG"
    WEBP = "WebP"
    HEIF = "HEIC"
    OTHER = ""


class CantClean(Exception):
    """The photo is damaged, or of a kind that is not known here; the message is a sentence without its full stop."""


@dataclass(frozen=True, slots=True)
class Looked:
    """What a whole photo says of itself."""

    kind: Kind
    exif: Exif


def kind_of(data: bytes) -> Kind:
    """Tell what kind of file this is by how it begins."""
    if data.startswith(_JPEG):
        return Kind.JPEG
    if data.startswith(_PNG):
        return Kind.PNG
    if data.startswith(b"RIFF") and data[8:12] == b"WEBP":
        return Kind.WEBP
    return Kind.HEIF if data[4:8] == b"ftyp" and data[8:12] in _HEIF else Kind.OTHER


def look(data: bytes) -> Looked:
    """Say what a photo is, and what its camera wrote into it.

    Raises:
        CantClean: it is no whole JPEG, PNG or WebP.
    """
    kind = kind_of(data)
    match kind:
        case Kind.JPEG:
            found = _jpeg_exif(_segments(data))
        case Kind.PNG:
            found = next((body for name, body in _png_chunks(data) if name == b"eXIf"), b"")
        case Kind.WEBP:
            found = next((body for name, body in _riff(_webp_body(data)) if name == b"EXIF"), b"")
        case _:
            raise CantClean("This is no JPEG, PNG or WebP")
    return Looked(kind, read_exif(found.removeprefix(b"Exif\0\0")))


def cleaned(data: bytes) -> bytes:
    """Give the same photo without what is not its picture; what follows after its end, such as a film, is left out.

    Raises:
        CantClean: it is no whole JPEG, PNG or WebP, so that nobody can say what is in it.
    """
    match kind_of(data):
        case Kind.JPEG:
            return _clean_jpeg(list(_segments(data)))
        case Kind.PNG:
            return _clean_png(data, look(data).exif.orientation)
        case _:
            return _clean_webp(data, look(data).exif.orientation)


# --- JPEG: segments behind markers, and coded data behind each start of scan ---------------------------


@dataclass(frozen=True, slots=True)
class _Segment:
    """A marker with what belongs to it; `coded` is the picture's data behind a start of scan."""

    marker: int
    body: bytes = b""
    coded: bytes = b""


_SOI, _EOI, _SOS, _COM = 0xD8, 0xD9, 0xDA, 0xFE
_APPS: Final = range(0xE0, 0xF0)
_RESERVED: Final = (*range(0xF0, 0xFE), *range(0x02, 0xC0))
_FRAMES: Final = frozenset({*range(0xC0, 0xD0)} - {0xC4, 0xC8, 0xCC})
"""Table B.1: SOF0 to SOF15; the three left out are DHT, JPG and DAC."""
_BARE: Final = frozenset({0x01, *range(0xD0, 0xD8)})
_END_OF_CODED = re.compile(rb"\xff[^\x00\xd0-\xd7]")
"""In coded data FF is followed by 00, or is a restart marker (B.1.1.5); anything else is the next marker, or an FF that
fills up. It begins with one certain byte, so that 60 MB are gone through in no time."""
_DAMAGED_JPEG = "This JPEG is damaged or not whole"


def _segments(data: bytes) -> Iterator[_Segment]:
    """Go through a JPEG up to its end of image.

    Raises:
        CantClean: it ends before that, or something stands where a marker would.
    """
    at, framed, scanned = 2, False, False
    while True:
        start = at
        while data[at : at + 1] == b"\xff":  # any number of these may stand before a marker (B.1.1.2)
            at += 1
        if at == start or at >= len(data):
            raise CantClean(_DAMAGED_JPEG)
        marker, at = data[at], at + 1
        if marker == _EOI:
            if not (framed and scanned):
                raise CantClean(_DAMAGED_JPEG)
            yield _Segment(marker)
            return
        if marker in _BARE or marker in (0x00, _SOI):
            raise CantClean(_DAMAGED_JPEG)  # none of these stands by itself outside of coded data
        length = int.from_bytes(data[at : at + 2], "big")
        body = data[at + 2 : at + length]
        if length < 2 or len(body) != length - 2:
            raise CantClean(_DAMAGED_JPEG)
        at, coded = at + length, b""
        framed, scanned = framed or marker in _FRAMES, scanned or marker == _SOS
        if marker == _SOS:
            end = _end_of_coded(data, at)
            coded, at = data[at:end], end
        yield _Segment(marker, body, coded)


def _end_of_coded(data: bytes, at: int) -> int:
    while (found := _END_OF_CODED.search(data, at)) is not None:
        if data[found.end() - 1] != 0xFF:
            return found.start()
        at = found.start() + 1
    raise CantClean(_DAMAGED_JPEG)


def _jpeg_exif(parts: Iterable[_Segment]) -> bytes:
    """Give the first Exif block; all parts are gone through, so that a damaged photo is known."""
    found = [part.body[6:] for part in parts if part.marker == 0xE1 and part.body.startswith(b"Exif\0")]
    return found[0] if found else b""


def _kept(part: _Segment) -> bytes | None:
    """Give what stays of a segment, None for nothing: of the APPn only what says how the colours are meant."""
    body = part.body
    match part.marker:
        case 0xE0 if body.startswith(b"JFIF\0") and len(body) >= 14:
            return body[:12] + b"\0\0"  # without the small picture that may follow
        case 0xE2 if body.startswith(b"ICC_PROFILE\0"):
            return body
        case 0xEE if body.startswith(b"Adobe") and len(body) >= 12:
            return body[:12]  # how the colours are transformed; without it they come out wrong
        case marker if marker in _APPS or marker == _COM or marker in _RESERVED:
            return None
        case _:
            return body


def _clean_jpeg(parts: Sequence[_Segment]) -> bytes:
    out = [b"\xff\xd8"]
    orientation = read_exif(_jpeg_exif(parts)).orientation
    turned = b"" if orientation == UPRIGHT else _segment(0xE1, b"Exif\0\0" + orientation_alone(orientation))
    for nth, part in enumerate(parts):
        body = _kept(part)
        if turned and not (nth == 0 and part.marker == 0xE0 and body is not None):
            out.append(turned)  # first of all, or right behind a JFIF that is the first
            turned = b""
        if part.marker == _EOI:
            out.append(b"\xff\xd9")
        elif body is not None:
            out += (_segment(part.marker, body), part.coded)
    return b"".join(out)


def _segment(marker: int, body: bytes) -> bytes:
    return struct.pack(">BBH", 0xFF, marker, len(body) + 2) + body


# --- PNG: chunks with a length, a name and a check ----------------------------------------------------

_PNG_KEPT: Final = frozenset({
    b"IHDR", b"PLTE", b"IDAT", b"tRNS", b"cHRM", b"gAMA", b"iCCP", b"sBIT", b"sRGB", b"cICP", b"mDCV", b"cLLI",
    b"bKGD", b"pHYs", b"acTL", b"fcTL", b"fdAT",
})  # fmt: skip
_DAMAGED_PNG = "This PNG is damaged or not whole"


def _png_chunks(data: bytes) -> Iterator[tuple[bytes, bytes]]:
    """Go through a PNG up to its end.

    Raises:
        CantClean: it ends before that, a check is wrong, or what draws the picture is missing or not known.
    """
    at, drawn, nth = len(_PNG), False, 0
    while True:
        length, name = int.from_bytes(data[at : at + 4], "big"), data[at + 4 : at + 8]
        body, told = data[at + 8 : at + 8 + length], data[at + 8 + length : at + 12 + length]
        if len(name) != 4 or len(body) != length or len(told) != 4:
            raise CantClean(_DAMAGED_PNG)
        draws = name in _PNG_KEPT or name == b"IEND"
        if draws and zlib.crc32(name + body) != int.from_bytes(told, "big"):
            raise CantClean(_DAMAGED_PNG)
        if (nth == 0) != (name == b"IHDR") or (not draws and not name[0] & 0x20):  # a critical chunk nobody knows
            raise CantClean(_DAMAGED_PNG)
        if name == b"IEND":
            if not drawn or body:
                raise CantClean(_DAMAGED_PNG)
            return
        drawn = drawn or name == b"IDAT"
        yield name, body
        at, nth = at + 12 + length, nth + 1


def _clean_png(data: bytes, orientation: int) -> bytes:
    out = [_PNG]
    for name, body in _png_chunks(data):
        if name in _PNG_KEPT:
            out.append(_chunk(name, body))
        if name == b"IHDR" and orientation != UPRIGHT:
            out.append(_chunk(b"eXIf", orientation_alone(orientation)))
    return b"".join((*out, _chunk(b"IEND", b"")))


def _chunk(name: bytes, body: bytes) -> bytes:
    return struct.pack(">I", len(body)) + name + body + struct.pack(">I", zlib.crc32(name + body))


# --- WebP: RIFF chunks, of which VP8X says what there is ----------------------------------------------

_PICTURE: Final = frozenset({b"VP8 ", b"VP8L", b"ANMF"})
_WEBP_KEPT: Final = _PICTURE | {b"VP8X", b"ICCP", b"ANIM", b"ALPH"}
_EXIF_FLAG, _XMP_FLAG = 0x08, 0x04
"""RFC 9649, 2.7: the bits of the first byte of VP8X that say that Exif and XMP are there."""
_FRAME_HEAD = 16
_DAMAGED_WEBP = "This WebP is damaged or not whole"


def _webp_body(data: bytes) -> bytes:
    size = int.from_bytes(data[4:8], "little")
    body = data[12 : 8 + size]
    if size < 12 or len(data) < 8 + size:
        raise CantClean(_DAMAGED_WEBP)
    return body


def _riff(body: bytes, *, frame: bool = False) -> Iterator[tuple[bytes, bytes]]:
    """Go through the chunks of a WebP, or of one frame of it.

    Raises:
        CantClean: one of them is cut off, or no picture is among them.
    """
    at, drawn = 0, False
    while at < len(body):
        name, length = body[at : at + 4], int.from_bytes(body[at + 4 : at + 8], "little")
        inner = body[at + 8 : at + 8 + length]
        if len(body) < at + 8 or len(inner) != length or (name == b"VP8X" and (length < 10 or at or frame)):
            raise CantClean(_DAMAGED_WEBP)
        if name == b"ANMF" and (frame or length < _FRAME_HEAD):
            raise CantClean(_DAMAGED_WEBP)
        drawn = drawn or name in _PICTURE
        yield name, inner
        at += 8 + length + length % 2
    if not drawn:
        raise CantClean(_DAMAGED_WEBP)


def _clean_webp(data: bytes, orientation: int) -> bytes:
    out: list[bytes] = []
    extended = False
    for name, inner in _riff(_webp_body(data)):
        if name == b"VP8X":
            extended = True
            flags = inner[0] & ~(_EXIF_FLAG | _XMP_FLAG) | (_EXIF_FLAG if orientation != UPRIGHT else 0)
            out.append(_riff_chunk(name, bytes((flags,)) + inner[1:10]))
        elif name == b"ANMF":
            frame = (_riff_chunk(*part) for part in _riff(inner[_FRAME_HEAD:], frame=True) if part[0] in _WEBP_KEPT)
            out.append(_riff_chunk(name, inner[:_FRAME_HEAD] + b"".join(frame)))
        elif name in _WEBP_KEPT:
            out.append(_riff_chunk(name, inner))
    if extended and orientation != UPRIGHT:
        out.append(_riff_chunk(b"EXIF", orientation_alone(orientation)))
    body = b"WEBP" + b"".join(out)
    return b"RIFF" + struct.pack("<I", len(body)) + body


def _riff_chunk(name: bytes, inner: bytes) -> bytes:
    return name + struct.pack("<I", len(inner)) + inner + b"\0" * (len(inner) % 2)
