"""Photos are opened upright, and what is none is refused in one sentence.

Orientation values: Exif 2.3 (JEITA CP-3451C), tag 0x0112. Markers: ITU-T T.81; chunks: PNG specification (W3C).
"""

import struct
import subprocess
import sys

import cv2
import numpy as np
import pytest

from benchtool.trade import crosscutphoto
from benchtool.trade.crosscut import NotAPhoto, open_photo

HIGH, WIDE = 120, 200


def picture() -> np.ndarray:
    """Red at the top left, green at the top right, blue at the bottom left, grey at the bottom right."""
    drawn = np.full((HIGH, WIDE, 3), 90, np.uint8)
    drawn[: HIGH // 2, : WIDE // 2] = (220, 20, 20)
    drawn[: HIGH // 2, WIDE // 2 :] = (20, 200, 20)
    drawn[HIGH // 2 :, : WIDE // 2] = (20, 20, 210)
    return drawn


def coded(drawn: np.ndarray, kind: str = ".jpg", *options: int) -> bytes:
    done, data = cv2.imencode(kind, np.ascontiguousarray(drawn[:, :, ::-1]), list(options))
    assert done
    return data.tobytes()


def turned(data: bytes, orientation: int) -> bytes:
    """Give a JPEG with an Exif segment that says how it was held."""
    entry = struct.pack(">HHIHH", 0x0112, 3, 1, orientation, 0)
    exif = b"Exif\0\0" + b"MM\0*" + struct.pack(">I", 8) + struct.pack(">H", 1) + entry + struct.pack(">I", 0)
    return data[:2] + b"\xff\xe1" + struct.pack(">H", len(exif) + 2) + exif + data[2:]


@pytest.mark.parametrize("kind", [".jpg", ".png", ".webp"])
def test_the_usual_kinds_open(kind):
    photo = open_photo(coded(picture(), kind))
    assert (photo.width, photo.height) == (WIDE, HIGH)
    assert photo.pixels.shape == (HIGH, WIDE, 3)
    assert np.abs(photo.pixels[10, 10].astype(int) - (220, 20, 20)).max() < 12


def test_one_channel_and_see_through_pictures_open():
    grey = cv2.imencode(".png", np.full((HIGH, WIDE), 77, np.uint8))[1].tobytes()
    assert (open_photo(grey).pixels == 77).all()
    clear = cv2.imencode(".png", np.full((HIGH, WIDE, 4), 200, np.uint8))[1].tobytes()
    assert open_photo(clear).pixels.shape == (HIGH, WIDE, 3)


@pytest.mark.parametrize(
    ("orientation", "size", "top_left"),
    [
        (1, (WIDE, HIGH), (220, 20, 20)),
        (3, (WIDE, HIGH), (90, 90, 90)),
        (6, (HIGH, WIDE), (20, 20, 210)),
        (8, (HIGH, WIDE), (20, 200, 20)),
        (0, (WIDE, HIGH), (220, 20, 20)),
        (99, (WIDE, HIGH), (220, 20, 20)),
        (65535, (WIDE, HIGH), (220, 20, 20)),
    ],
)
def test_a_photo_stands_upright_and_nonsense_about_it_is_left_aside(orientation, size, top_left):
    photo = open_photo(turned(coded(picture(), ".jpg", cv2.IMWRITE_JPEG_QUALITY, 95), orientation))
    assert (photo.width, photo.height) == size
    assert np.abs(photo.pixels[8, 8].astype(int) - top_left).max() < 15


def test_exif_that_is_cut_short_is_left_aside():
    data = coded(picture())
    broken = data[:2] + b"\xff\xe1" + struct.pack(">H", 14) + b"Exif\0\0MM\0*\xff\xff" + data[2:]
    assert open_photo(broken).width == WIDE


BAD = {
    "empty": b"",
    "words": b"This is a shopping list, not a photo." * 20,
    "zeros": bytes(5000),
    "jpeg head alone": coded(picture())[:24],
    "half a jpeg": coded(picture())[: len(coded(picture())) // 2],
    "half a png": coded(picture(), ".png")[:-30],
    "half a webp": coded(picture(), ".webp")[:-40],
    "jpeg start": b"\xff\xd8\xff",
    "png start": b"\x89PNG\r\n\x1a\n",
    "webp start": b"RIFF\0\0\0\0WEBP",
    "a phone's own": b"\0\0\0\x18ftypheic\0\0\0\0mif1heic" + bytes(500),
    "no size": b"\x89PNG\r\n\x1a\n" + struct.pack(">I", 13) + b"IHDR" + bytes(17) + bytes(4) + b"IEND" + bytes(4),
    "tiny": coded(picture()[:20, :20]),
}


@pytest.mark.parametrize("name", BAD)
def test_what_is_no_photo_is_refused_in_one_sentence(name):
    with pytest.raises(NotAPhoto) as said:
        open_photo(BAD[name])
    words = str(said.value)
    assert words.endswith(".")
    assert words.count(".") == 1


def test_every_cut_of_a_jpeg_is_refused_or_opens():
    data = coded(picture())
    for end in range(0, len(data) - 2, 97):
        with pytest.raises(NotAPhoto):
            open_photo(data[:end])


def header(width: int, height: int) -> bytes:
    ihdr = struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    return b"\x89PNG\r\n\x1a\n" + struct.pack(">I", 13) + b"IHDR" + ihdr + bytes(4) + bytes(4) + b"IEND" + bytes(4)


@pytest.mark.parametrize(("width", "height", "said"), [(20000, 10000, "200"), (2**31 - 1, 2**31 - 1, "megapixels")])
def test_too_many_pixels_are_told_before_any_is_decoded(width, height, said):
    with pytest.raises(NotAPhoto, match=said):
        open_photo(header(width, height))


def test_a_very_large_jpeg_is_opened_smaller(monkeypatch):
    """The limit is lowered instead of drawing 200 megapixels."""
    drawn = np.kron(picture(), np.ones((6, 6, 1), np.uint8))
    monkeypatch.setattr(crosscutphoto, "MOST_MEGAPIXELS", 0.5)
    photo = open_photo(turned(coded(drawn), 6))
    assert (photo.width, photo.height) == (HIGH * 6 // 2, WIDE * 6 // 2)
    assert np.abs(photo.pixels[20, 20].astype(int) - (20, 20, 210)).max() < 15


def test_a_very_large_progressive_jpeg_is_refused(monkeypatch):
    """It is held whole while it is opened, however small it is wanted."""
    drawn = np.kron(picture(), np.ones((6, 6, 1), np.uint8))
    monkeypatch.setattr(crosscutphoto, "MOST_MEGAPIXELS", 0.5)
    with pytest.raises(NotAPhoto, match="megapixels"):
        open_photo(coded(drawn, ".jpg", cv2.IMWRITE_JPEG_PROGRESSIVE, 1))


def test_the_preview_is_small_and_packed():
    photo = open_photo(coded(picture(), ".png"))
    small = photo.preview(100)
    assert small.shape == (60, 100, 3)
    assert small.flags.c_contiguous
    assert photo.preview(1000).shape == (HIGH, WIDE, 3)


def test_neither_numpy_nor_opencv_is_loaded_before_it_is_needed():
    asked = "import benchtool.trade.crosscut, sys; sys.exit(bool({'numpy', 'cv2'} & set(sys.modules)))"
    assert subprocess.run([sys.executable, "-c", asked], check=False).returncode == 0
