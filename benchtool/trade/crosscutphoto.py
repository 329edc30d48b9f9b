"""A photo opened upright, with every unusable one refused in one sentence; masks as small pictures.

Layout of the headers: ITU-T T.81 annex B (JPEG markers), the PNG specification (W3C, chunks IHDR and IEND), RFC 9649
(WebP). Which way up is OpenCV's own reading of the Exif orientation; values outside 1 to 8 leave a photo as it lies.
"""

from __future__ import annotations

import struct
from dataclasses import dataclass
from typing import TYPE_CHECKING

from benchtool.trade.saying import say

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Pixels = NDArray[np.uint8]
    Mask = NDArray[np.bool_]

MOST_MEGAPIXELS = 60.0
"""A photo above this is opened at a half, quarter or eighth of its size, or refused where that saves nothing.

Judgement: 60 megapixels take 180 MB open; a lattice that fills the picture needs no more than one or two."""
FEWEST_PIXELS = 64
"""On a side; below it there is no lattice to see (judgement)."""
_MOST_SIDE = 65_500
_HEIC = (b"ftypheic", b"ftypheix", b"ftypmif1", b"ftypmsf1", b"ftyphevc", b"ftypavif")


class NotAPhoto(Exception):
    """It can't be measured; the message is one sentence that says what to do."""


@dataclass(frozen=True, slots=True, eq=False)
class Photo:
    """An opened photo, upright. A very large one is opened smaller: go by shares, not by pixels.

    `pixels` has rows x columns x (red, green, blue), 8 bits each.
    """

    width: int
    height: int
    pixels: Pixels

    def preview(self, longest: int = 1600) -> Pixels:
        """Give the picture, no side longer than `longest`, rows packed without padding."""
        import cv2
        import numpy as np

        shrink = longest / max(self.width, self.height)
        if shrink >= 1:
            return np.ascontiguousarray(self.pixels)
        size = (max(1, round(self.width * shrink)), max(1, round(self.height * shrink)))
        return np.asarray(cv2.resize(self.pixels, size, interpolation=cv2.INTER_AREA), np.uint8)


@dataclass(frozen=True, slots=True)
class _Told:
    """What a file's first bytes tell: width and height in pixels, and whether a smaller decode saves memory."""

    width: int
    height: int
    shrinks: bool
    whole: bool


def open_photo(data: bytes) -> Photo:
    """Open a JPEG, PNG or WebP photo upright.

    Raises:
        NotAPhoto: empty, not such a picture, broken off, too small, or over `MOST_MEGAPIXELS` where it can't be
            opened smaller.
    """
    if not data:
        raise NotAPhoto(say("This file is empty: choose the photo again, or copy it from the camera once more."))
    told = _told(data)
    if told is None:
        if any(mark in data[4:32] for mark in _HEIC):
            raise NotAPhoto(
                say("This photo is in a phone's own format (HEIC or AVIF): save it as JPEG and choose that.")
            )
        raise NotAPhoto(say("This is not a photo that can be read here: choose a JPEG, PNG or WebP picture."))
    if not told.whole:
        raise NotAPhoto(say("This photo is broken off or damaged: copy it from the camera once more."))
    shrink = _shrink(told)
    pixels = _decoded(data, shrink)
    height, width = int(pixels.shape[0]), int(pixels.shape[1])
    if min(height, width) < FEWEST_PIXELS:
        raise NotAPhoto(
            say(
                "This picture is only {width} x {height} pixels, too few to see the cuts: take the photo from nearer.",
                width=width,
                height=height,
            )
        )
    return Photo(width, height, pixels)


def _shrink(told: _Told) -> int:
    """Give 1, 2, 4 or 8: by what to shrink while decoding.

    Raises:
        NotAPhoto: too large whatever is done.
    """
    megapixels = told.width * told.height / 1e6
    if megapixels <= MOST_MEGAPIXELS:
        return 1
    if told.shrinks and max(told.width, told.height) <= _MOST_SIDE:
        for by in (2, 4, 8):
            if megapixels / by**2 <= MOST_MEGAPIXELS / 2:
                return by
    raise NotAPhoto(
        say(
            "This photo has {n} megapixels, more than the {most} that can be opened: save it smaller, or cut it to the "
            "lattice and a finger's width around it.",
            n=round(megapixels),
            most=round(MOST_MEGAPIXELS),
        )
    )


def _decoded(data: bytes, shrink: int) -> Pixels:
    import cv2
    import numpy as np

    way = {
        1: cv2.IMREAD_COLOR,
        2: cv2.IMREAD_REDUCED_COLOR_2,
        4: cv2.IMREAD_REDUCED_COLOR_4,
        8: cv2.IMREAD_REDUCED_COLOR_8,
    }[shrink]
    try:
        found = cv2.imdecode(np.frombuffer(data, np.uint8), way)
    except (cv2.error, MemoryError):
        found = None
    if found is None or found.ndim != 3:
        raise NotAPhoto(say("This photo is broken off or damaged: copy it from the camera once more."))
    return np.asarray(cv2.cvtColor(found, cv2.COLOR_BGR2RGB, dst=found), np.uint8)


def _told(data: bytes) -> _Told | None:
    """Read a header, or None where the file is no picture that is known here."""
    try:
        if data.startswith(b"\xff\xd8\xff"):
            return _jpeg(data)
        if data.startswith(b"\x89PNG\r\n\x1a\n"):
            return _png(data)
        if data[:4] == b"RIFF" and data[8:12] == b"WEBP":
            return _webp(data)
    except (struct.error, IndexError):
        return _Told(0, 0, False, False)
    return None


def _jpeg(data: bytes) -> _Told:
    """Walk the segments to the frame and to the first scan; a whole file has an end of image after it."""
    at, width, height, shrinks = 2, 0, 0, False
    while at + 4 <= len(data):
        if data[at] != 0xFF:
            break
        kind = data[at + 1]
        if kind == 0xFF or kind == 0x01 or 0xD0 <= kind <= 0xD8:
            at += 1 if kind == 0xFF else 2
            continue
        long = struct.unpack_from(">H", data, at + 2)[0]
        if 0xC0 <= kind <= 0xCF and kind not in (0xC4, 0xC8, 0xCC):
            height, width = struct.unpack_from(">HH", data, at + 5)
            shrinks = kind in (0xC0, 0xC1)  # a progressive one is held whole whatever the size it is opened at
        if kind == 0xDA:
            # a stuffed zero follows every 0xFF of the scan itself
            return _Told(width, height, shrinks, bool(width and height) and data.find(b"\xff\xd9", at) >= 0)
        at += 2 + long
    return _Told(width, height, shrinks, False)


def _png(data: bytes) -> _Told:
    if data[12:16] != b"IHDR":
        return _Told(0, 0, False, False)
    width, height = struct.unpack_from(">II", data, 16)
    at = 8
    while at + 12 <= len(data):
        long = struct.unpack_from(">I", data, at)[0]
        if data[at + 4 : at + 8] == b"IEND":
            return _Told(width, height, False, bool(width and height))
        at += 12 + long
    return _Told(width, height, False, False)


def _webp(data: bytes) -> _Told:
    whole = struct.unpack_from("<I", data, 4)[0] + 8 <= len(data)
    kind = data[12:16]
    if kind == b"VP8X":
        width = 1 + int.from_bytes(data[24:27], "little")
        height = 1 + int.from_bytes(data[27:30], "little")
    elif kind == b"VP8L":
        bits = struct.unpack_from("<I", data, 21)[0]
        width, height = 1 + (bits & 0x3FFF), 1 + (bits >> 14 & 0x3FFF)
    else:
        width, height = (side & 0x3FFF for side in struct.unpack_from("<HH", data, 26))
    return _Told(width, height, False, whole and len(data) >= 30)


def mask_bytes(mask: Mask) -> bytes:
    """Give a mask as a PNG of one bit a pixel: white is bare."""
    import cv2
    import numpy as np

    picture = np.where(mask, 255, 0).astype(np.uint8)
    done, coded = cv2.imencode(".png", picture, [cv2.IMWRITE_PNG_BILEVEL, 1, cv2.IMWRITE_PNG_COMPRESSION, 9])
    if not done:
        raise ValueError("a mask has two sides above zero")
    return coded.tobytes()


def mask_from(data: bytes) -> Mask:
    """Read a mask written by `mask_bytes`.

    Raises:
        NotAPhoto: no such picture.
    """
    import cv2
    import numpy as np

    told = _png(data) if data.startswith(b"\x89PNG\r\n\x1a\n") else None
    if told is None or not told.whole or told.width * told.height > MOST_MEGAPIXELS * 1e6:
        raise NotAPhoto(say("The picture of the bare area can't be read: measure the photo again."))
    found = cv2.imdecode(np.frombuffer(data, np.uint8), cv2.IMREAD_GRAYSCALE)
    if found is None:
        raise NotAPhoto(say("The picture of the bare area can't be read: measure the photo again."))
    return np.asarray(found > 127, np.bool_)
