"""A photo that leaves the shop: the same picture, the same way up, and nothing else that somebody wrote into it."""

import struct
from collections.abc import Callable
from datetime import datetime, timedelta, timezone

import cv2
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.typing import NDArray
from photo_places import FILM, ICC, PLACE, XMP, chunk, encoded, jpeg, png, riff, segment, tiff, webp

from benchtool.store.photoclean import CantClean, Kind, cleaned, kind_of, look
from benchtool.store.photoexif import Exif, orientation_alone, read_exif

BUILDERS: dict[str, Callable[[int], bytes]] = {
    "jpeg": jpeg,
    "progressive": lambda turned: jpeg(turned, progressive=True),
    "png": png,
    "webp": webp,
}
WHOLE = {name: build(6) for name, build in BUILDERS.items()}


def seen(data: bytes, how: int = cv2.IMREAD_COLOR) -> NDArray[np.uint8]:
    """What another program makes of it, turned upright where it knows how."""
    found = cv2.imdecode(np.frombuffer(data, np.uint8), how)
    assert found is not None
    return found.astype(np.uint8)


@pytest.mark.parametrize("orientation", range(1, 9))
@pytest.mark.parametrize("name", BUILDERS)
def test_the_picture_is_the_same_to_the_pixel_and_stays_upright(name: str, orientation: int) -> None:
    before = BUILDERS[name](orientation)
    after = cleaned(before)
    assert np.array_equal(seen(before, cv2.IMREAD_UNCHANGED), seen(after, cv2.IMREAD_UNCHANGED))
    assert np.array_equal(seen(before), seen(after))
    assert look(after).exif == Exif(orientation)


@pytest.mark.parametrize("name", ["jpeg", "progressive"])
def test_the_turn_is_really_looked_at(name: str) -> None:
    """Another program turns the picture by what is left of the Exif block: a check of the test above."""
    upright = seen(cleaned(BUILDERS[name](1)))
    assert seen(cleaned(BUILDERS[name](6))).shape[:2] == upright.shape[1::-1]


@pytest.mark.parametrize("name", BUILDERS)
def test_nothing_of_the_place_is_left(name: str) -> None:
    before, after = WHOLE[name], cleaned(WHOLE[name])
    assert look(before).exif.place
    assert PLACE in before
    for gone in (PLACE, XMP[:28], b"GPS", b"2026:03:14", b"\x88\x25", b"\x25\x88", FILM[4:12], b"MPF", b"Photoshop"):
        assert gone not in _around_the_picture(after), gone
    assert not look(after).exif.place
    assert look(after).exif.taken is None


def _around_the_picture(data: bytes) -> bytes:
    """All but the coded picture, in which any two bytes may stand by chance."""
    kind = kind_of(data)
    if kind is Kind.JPEG:
        start = data.index(b"\xff\xda")
        return data[:start] + data[-40:]
    mark = b"IDAT" if kind is Kind.PNG else b"VP8 "
    start = data.index(mark)
    size = int.from_bytes(data[start - 4 : start], "big") if kind is Kind.PNG else 0
    if kind is Kind.WEBP:
        size = int.from_bytes(data[start + 4 : start + 8], "little") + 4
    return data[:start] + data[start + 4 + size :]


@pytest.mark.parametrize("name", BUILDERS)
def test_cleaning_twice_changes_nothing_more(name: str) -> None:
    once = cleaned(WHOLE[name])
    assert cleaned(once) == once
    assert len(once) < len(WHOLE[name])


def test_how_colours_are_meant_stays() -> None:
    assert ICC in cleaned(jpeg())
    assert chunk(b"pHYs", struct.pack(">IIB", 2835, 2835, 1)) in cleaned(png())
    assert riff(b"ICCP", bytes(range(101))) in cleaned(webp())
    adobe = segment(0xEE, b"Adobe\0\x64\0\0\0\0\x01" + PLACE)
    plain = encoded(".jpg")
    after = cleaned(plain[:2] + adobe + plain[2:])
    assert segment(0xEE, b"Adobe\0\x64\0\0\0\0\x01") in after
    assert PLACE not in after


def test_the_small_picture_in_a_jfif_head_goes() -> None:
    plain = encoded(".jpg")
    assert plain[6:11] == b"JFIF\0"
    head = segment(0xE0, plain[6:18] + b"\x02\x03" + bytes(18))
    after = cleaned(plain[:2] + head + plain[20:])
    assert after == cleaned(plain)


def test_the_flags_of_a_webp_say_what_is_there() -> None:
    for orientation, flags in ((1, 0x20), (6, 0x28)):
        after = cleaned(webp(orientation))
        assert after[12:16] == b"VP8X"
        assert after[20] == flags
        assert (b"EXIF" in after) == (orientation == 6)
        assert int.from_bytes(after[4:8], "little") == len(after) - 8


def test_a_moving_webp_keeps_its_frames_alone() -> None:
    still = encoded(".webp", cv2.IMWRITE_WEBP_QUALITY, 80)[12:]
    frame = bytes(16) + still + riff(b"ODD!", PLACE)
    body = riff(b"VP8X", b"\x0a\0\0\0" + bytes(6)) + riff(b"ANIM", bytes(6)) + riff(b"ANMF", frame)
    body += riff(b"EXIF", tiff(1))
    after = cleaned(b"RIFF" + struct.pack("<I", len(body) + 4) + b"WEBP" + body)
    assert PLACE not in after
    assert riff(b"ANMF", bytes(16) + still) in after
    assert after[20] == 0x02


# --- what is no whole photo ------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "data",
    [b"", b"\xff\xd8\xff", b"GIF89a" + bytes(40), b"%PDF-1.7", b"\0\0\0\x18ftypheic" + bytes(40), b"RIFF\4\0\0\0WEBP"],
)
def test_what_is_no_photo_is_refused(data: bytes) -> None:
    with pytest.raises(CantClean):
        cleaned(data)


@pytest.mark.parametrize("name", BUILDERS)
def test_a_photo_that_is_cut_off_is_refused(name: str) -> None:
    whole = cleaned(WHOLE[name])
    for end in {*range(0, len(whole), 37), len(whole) - 1, len(whole) - 2}:
        with pytest.raises(CantClean):
            cleaned(whole[:end])


def test_a_png_with_a_wrong_check_or_an_unknown_chunk_that_draws_is_refused() -> None:
    plain = encoded(".png")
    spot = plain.index(b"IDAT") + 10
    with pytest.raises(CantClean, match="This PNG is damaged"):
        cleaned(plain[:spot] + bytes((plain[spot] ^ 1,)) + plain[spot + 1 :])
    with pytest.raises(CantClean, match="This PNG is damaged"):
        cleaned(plain[:33] + chunk(b"ODDS", b"1") + plain[33:])


@given(
    name=st.sampled_from(sorted(WHOLE)), where=st.floats(0, 1), byte=st.integers(0, 255), more=st.binary(max_size=40)
)
def test_whatever_is_damaged_it_is_refused_or_clean(name: str, where: float, byte: int, more: bytes) -> None:
    """Refused; or no longer than it was but for the smallest Exif block, without place, and clean for good."""
    data = bytearray(WHOLE[name])
    at = int(where * (len(data) - 1))
    data[at : at + 1] = bytes((byte,)) + more
    try:
        after = cleaned(bytes(data))
    except CantClean:
        return
    assert len(after) <= len(data) + 48
    assert kind_of(after) is kind_of(bytes(data))
    assert cleaned(after) == after
    found = look(after).exif
    assert (found.place, found.taken) == (False, None)


@given(st.binary(max_size=300))
def test_no_bytes_at_all_can_do_harm(data: bytes) -> None:
    for begun in (b"", b"\xff\xd8\xff", b"\x89PNG\r\n\x1a\n", b"RIFF" + struct.pack("<I", len(data) + 4) + b"WEBP"):
        try:
            after = cleaned(begun + data)
        except CantClean:
            continue
        assert cleaned(after) == after


# --- what the camera wrote --------------------------------------------------------------------------------


@pytest.mark.parametrize("order", ["<", ">"])
def test_time_zone_turn_and_place_are_read_in_either_byte_order(order: str) -> None:
    here = timezone(-timedelta(hours=9, minutes=30))
    assert read_exif(tiff(3, order=order, zone="-09:30")) == Exif(
        3, datetime(2026, 3, 14, 10, 20, 30, tzinfo=here), True
    )
    plain = read_exif(tiff(8, order=order, place=False))
    assert plain == Exif(8, datetime(2026, 3, 14, 10, 20, 30), False)  # noqa: DTZ001 - it tells no zone


@pytest.mark.parametrize("taken", ["0000:00:00 00:00:00", "2026:02:30 10:00:00", "    :  :     :  :  ", "yesterday"])
def test_a_time_that_can_not_be_is_none(taken: str) -> None:
    assert read_exif(tiff(taken=taken)).taken is None


@pytest.mark.parametrize("orientation", [0, 9, 65535])
def test_a_turn_that_is_none_is_upright(orientation: int) -> None:
    assert read_exif(tiff(orientation)).orientation == 1


@given(st.binary(max_size=200))
def test_a_damaged_block_raises_nothing(data: bytes) -> None:
    for begun in (b"", b"II*\0\x08\0\0\0", b"MM\0*\0\0\0\x08"):
        assert read_exif(begun + data).orientation in range(1, 9)


@pytest.mark.parametrize("orientation", range(1, 9))
def test_the_smallest_block_says_the_turn_alone(orientation: int) -> None:
    assert read_exif(orientation_alone(orientation)) == Exif(orientation)
    assert len(orientation_alone(orientation)) == 26
