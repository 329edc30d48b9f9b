"""How the tests are done, against what the standards ask for."""

import math
from datetime import timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from benchtool.trade.grademethods import instructions, tape_window
from benchtool.trade.grades import Method

KNIFE = {Method.ISO_2409, Method.D3359_A, Method.D3359_B}
FILM = st.none() | st.floats(allow_nan=True, allow_infinity=True)


def text(method, film_um=None, hard=None):
    return " ".join(instructions(method, film_um, hard).lines)


@pytest.mark.parametrize(
    ("film_um", "hard", "mm"),
    [
        # ISO 2409 as the data sheet 20 (1998) of the German painters' committee (BFS) gives its spacing
        (40, True, 1), (40, False, 2), (60, True, 1), (60.1, True, 2), (61, True, 2), (61, False, 2), (120, True, 2),
        (121, True, 3), (250, False, 3),
        # where one of both is not known
        (40, None, None), (90, None, 2), (200, None, 3), (None, True, None), (None, False, None), (250.1, True, None),
    ],
)  # fmt: skip
def test_spacing_of_iso_2409(film_um, hard, mm):
    told = instructions(Method.ISO_2409, film_um, hard)
    assert (told.cuts, told.spacing_mm) == (6, mm)
    assert ("1 mm apart on a hard substrate" in " ".join(told.lines)) == (mm is None)
    if mm is not None:
        assert f"{mm} mm apart" in " ".join(told.lines)


@pytest.mark.parametrize(
    ("film_um", "cuts", "mm"),
    [
        # ASTM D3359 method B, 12.2: up to 50 um eleven cuts 1 mm apart, up to 125 um six cuts 2 mm apart
        (20, 11, 1), (50, 11, 1), (50.1, 6, 2), (125, 6, 2), (125.1, None, None), (None, None, None),
    ],
)  # fmt: skip
def test_cuts_of_astm_d3359_b(film_um, cuts, mm):
    told = instructions(Method.D3359_B, film_um, True)
    assert (told.cuts, told.spacing_mm) == (cuts, mm)
    if cuts is not None:
        assert f"Cut {cuts} lines" in told.lines[1]
        assert f"{mm} mm apart" in told.lines[1]


def test_too_thick():
    assert instructions(Method.ISO_2409, 250, True).fits  # ISO 2409:2020 clause 1
    thick = instructions(Method.ISO_2409, 251, True)
    assert not thick.fits
    assert "ISO 16276-2" in thick.why_not
    assert instructions(Method.D3359_B, 125, True).fits  # ASTM D3359-09 1.2
    thick = instructions(Method.D3359_B, 126, True)
    assert not thick.fits
    assert "D3359 A" in thick.why_not
    assert instructions(Method.D3359_A, 800, True).fits


def test_soft_substrates():
    for method in (Method.D3359_A, Method.D3359_B, Method.PENCIL_ISO, Method.PENCIL_GOUGE, Method.PENCIL_SCRATCH):
        assert not instructions(method, 40, False).fits  # ASTM D3359-09 note 1; D3363-22 5.4
        assert instructions(method, 40, None).fits
    assert instructions(Method.ISO_2409, 40, False).fits  # clause 1: hard and soft
    assert "grain" in text(Method.ISO_2409, 40, False)
    assert "grain" not in text(Method.ISO_2409, 40, True)


@pytest.mark.parametrize(
    ("method", "said"),
    [
        (Method.D3359_A, ("40 mm", "30 to 45°", "75 mm", "eraser", "60 to 120 s", "180°")),  # D3359-02 clause 7
        (Method.D3359_B, ("20 mm", "eraser", "60 to 120 s", "180°", "none in between")),  # D3359-02 clause 12, -23 5.2
        (Method.ISO_2409, ("5 min", "60°", "0.5 to 1 s", "23 °C", "16 h", "three places")),  # ISO 2409
        (Method.PENCIL_ISO, ("45°", "7.5 N", "750 g", "5 to 6 mm", "30 s", "7 mm", "23 °C")),  # ISO 15184
        (Method.PENCIL_GOUGE, ("hardest pencil", "45°", "6.5 mm", "cut through", "3 mm")),  # D3363-00 clause 7
        (Method.PENCIL_SCRATCH, ("hardest pencil", "45°", "6.5 mm", "neither cuts nor scratches")),
        (Method.PLAIN_TAPE, ("no cuts", "same roll")),
        (Method.STICK, ("ten at most", "without knowing which")),
        (Method.NAIL, ("without knowing which",)),
    ],
)
def test_what_is_told(method, said):
    told = text(method)
    assert [part for part in said if part not in told] == []


def test_pencils_go_the_two_ways_round():
    assert "take a harder one each time" in text(Method.PENCIL_ISO)
    assert "Go on to softer ones" in text(Method.PENCIL_GOUGE)


@pytest.mark.parametrize("method", Method)
@given(film=FILM, hard=st.sampled_from([None, True, False]))
def test_always_something_to_do_and_a_caution(method, film, hard):
    told = instructions(method, film, hard)
    assert told.fits == (not told.why_not)
    assert told.sources
    for line in (*told.lines, told.caution, *([told.why_not] if told.why_not else [])):
        assert line.endswith(".")
        assert len(line) < 220
        assert "{" not in line
    assert ("Cut away from yourself" in told.caution) == (method in KNIFE)
    assert (told.cuts is not None) >= (told.spacing_mm is not None)


def test_a_film_that_is_none_is_not_known():
    for film in (0.0, -3.0, math.nan, math.inf):
        assert instructions(Method.ISO_2409, film, True) == instructions(Method.ISO_2409, None, True)


def test_when_the_tape_comes_off():
    minute = timedelta(minutes=1)
    for method in (Method.D3359_A, Method.D3359_B):  # 7.6: within 90 +- 30 s
        assert tape_window(method) == tape_window(method, timedelta(days=1)) == (minute, 2 * minute)
    assert tape_window(Method.ISO_2409) == (timedelta(0), 5 * minute)  # from memory
    assert tape_window(Method.PLAIN_TAPE) == (timedelta(0), None)
    assert tape_window(Method.PLAIN_TAPE, timedelta(hours=24)) == (timedelta(hours=24), None)
    for method in (Method.STICK, Method.NAIL, Method.PENCIL_ISO):
        assert tape_window(method, timedelta(hours=1)) == (timedelta(0), None)
