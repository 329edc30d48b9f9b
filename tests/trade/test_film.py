"""Areas, spreads and films: against published worked examples; rows named 4-... are the reference table's.

The base of all is a volume spread thin: one US gallon is 231 cubic inches (NIST Handbook 44, appendix C), a
litre is a cubic decimetre, an inch is 25.4 mm.
"""

import math
from itertools import pairwise
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad
from strategies import examples

from benchtool.trade.film import (
    MOST_COATS,
    TRANSFER_PERCENT,
    USUAL_NOTCHES_UM,
    NotACoat,
    Sized,
    cap_m2,
    cylinder_m2,
    disc_m2,
    mixed_solids,
    notch_words,
    rectangle_m2,
    size,
)

MIL_UM = 25.4
FT2_M2 = 0.3048**2


def sized(**given: Any) -> Sized:
    return size(**({"area_m2": 1.0, "dry_um": 25.0, "solids_percent": 30.0} | given))


def ft2_per_gal(solids_percent: float, dry_mil: float) -> float:
    return sized(solids_percent=solids_percent, dry_um=dry_mil * MIL_UM).spread_ft2_per_US_gal


# Spread


def test_a_us_gallon_covers_1604_square_feet_one_mil_thick() -> None:
    # 4-const: 231 in3/gal / (144 in2/ft2 x 0.001 in)
    assert ft2_per_gal(100, 1) == pytest.approx(1604.17, abs=0.01)
    assert ft2_per_gal(100, 1) == pytest.approx(231 / (144 * 0.001), rel=1e-12)
    # 4-10mil: geionline.com, wet film formulae
    assert ft2_per_gal(100, 10) == pytest.approx(160.417, abs=0.01)


@pytest.mark.parametrize(
    ("solids", "mil", "expected", "tol"),
    [
        (65, 5, 208.52, 0.05),  # 4-65-5: spreading-rate note, scribd.com 343849341, with 1604
        (46, 2.5, 295.14, 0.2),  # 4-46-2.5: paintpro.net PP504 prints 294, for it cuts 1604/2.5 to 641 first
    ],
)
def test_spread_in_square_feet_a_gallon(solids: float, mil: float, expected: float, tol: float) -> None:
    assert ft2_per_gal(solids, mil) == pytest.approx(expected, abs=tol)


@pytest.mark.parametrize(
    ("solids", "mil", "printed"),
    # Table of spreading rates, scribd.com 104802451. Its 72 % at 2 mil is a misprint (527 for 577) and left out.
    [
        (30, 1, 481), (35, 1, 561), (65, 1, 1043), (100, 1, 1604), (35, 2, 281), (60, 2, 481), (90, 2, 722),
        (30, 3, 160), (50, 3, 267), (98, 3, 524), (45, 4, 180), (70, 5, 225), (100, 6, 267), (40, 8, 80), (78, 10, 125),
    ],
)  # fmt: skip
def test_a_printed_table_of_spreads(solids: float, mil: float, printed: int) -> None:
    assert ft2_per_gal(solids, mil) == pytest.approx(printed, abs=0.8)  # printed whole, some of them cut


def test_the_misprint_of_that_table_is_not_followed() -> None:
    # 1604.17 x 0.72 / 2: arithmetic
    assert ft2_per_gal(72, 2) == pytest.approx(577.5, abs=0.1)


@pytest.mark.parametrize(
    ("solids", "dry", "expected", "tol"),
    [
        (65, 125, 5.2, {"abs": 0.01}),  # 4-65-125: scribd.com 343849341
        (40, 50, 8.0, {"rel": 0.002}),  # 4-m2L-40-50, and the next three: 10 x VS% / DFT um
        (25, 20, 12.5, {"rel": 0.002}),  # 4-m2L-25-20
        (100, 1, 1000.0, {"rel": 0.002}),  # 4-m2L-100-1
        (33, 40, 8.25, {"rel": 0.002}),  # 4-m2L-33-40
    ],
)
def test_spread_in_square_metres_a_litre(solids: float, dry: float, expected: float, tol: dict[str, float]) -> None:
    assert sized(solids_percent=solids, dry_um=dry).spread_m2_per_L == pytest.approx(expected, **tol)


def test_practical_spread_is_what_is_left_after_the_loss() -> None:
    # 4-practical: corrosionpedia.com, practical coverage: 100 ft2/gal less 30 % is 70
    dry = MIL_UM * 231 / (144 * 0.001) / 100
    one = sized(area_m2=70 * FT2_M2, solids_percent=100, dry_um=dry, transfer_percent=70)
    assert one.spread_ft2_per_US_gal == pytest.approx(100)
    assert one.paint_mL == pytest.approx(231 * 2.54**3, rel=1e-9)  # one gallon covers 70 square feet


# Wet film


@pytest.mark.parametrize(
    ("solids", "dry", "thinned", "wet"),
    [
        (40, 50, 0, 125.0),  # 4-wft-40-50-0: scribd.com 104802451, WFT = DFT x (1 + thinner) / VS
        (40, 50, 10, 137.5),  # 4-wft-40-50-10
        (30, 25, 50, 125.0),  # 4-wft-30-25-50
        (50, 50, 0, 100),  # Tech note 5.3.1, handy calculations (pdfcoffee.com): 100 um wet leave 50 dry
        (75, 150, 0, 200),  # mengnengs.com, wet film of coatings
        (62, 100, 0, 161.29),  # wet and dry film thickness formulae, a stockist's page, printed as 161
    ],
)
def test_wet_film(solids: float, dry: float, thinned: float, wet: float) -> None:
    one = sized(solids_percent=solids, dry_um=dry, thinned_percent=thinned)
    assert one.wet_thinned_um == pytest.approx(wet, rel=0.0001)
    assert one.wet_um == pytest.approx(wet / (1 + thinned / 100), rel=0.0001)


def test_wet_film_in_mils() -> None:
    # paintcenter.org, October 2003: 1.5 mil dry of 42 % by volume is 3.57 mil wet
    assert sized(solids_percent=42, dry_um=1.5 * MIL_UM).wet_um / MIL_UM == pytest.approx(3.57, abs=0.005)


# How much to mix


@pytest.mark.parametrize(
    ("area", "solids", "dry", "transfer", "litres"),
    [
        (2.0, 40, 50, 65, 0.3846),  # 4-qty-2.0-40-50-65-0: L = area x DFT / (10 x VS%) / TE
        (1.5, 30, 25, 50, 0.25),  # 4-qty-1.5-30-25-50-0
    ],
)
def test_how_much_to_mix(area: float, solids: float, dry: float, transfer: float, litres: float) -> None:
    one = size(area_m2=area, dry_um=dry, solids_percent=solids, transfer_percent=transfer)
    assert one.paint_mL == pytest.approx(1000 * litres, rel=0.002)
    assert one.ready_mL == one.paint_mL
    assert one.reducer_mL == one.loss_mL == 0


def test_a_job_by_hand() -> None:
    # 1.5 m2 x 25 um x 2 coats = 75 mL dry; /0.30 = 250 landed; /0.50 = 500 sprayed; half as much reducer: 750;
    # 30 mL of mix stay in the cup: 780 = 520 + 260. Arithmetic.
    one = size(
        area_m2=1.5, dry_um=25, solids_percent=30, transfer_percent=50, coats=2, thinned_percent=50, loss_mL=30
    )  # fmt: skip
    assert (one.paint_mL, one.reducer_mL, one.ready_mL) == pytest.approx((520, 260, 780))
    assert one.loss_mL == 30
    assert (one.dry_um, one.total_dry_um) == (25, 50)
    assert one.wet_um == pytest.approx(25 / 0.3)
    assert one.wet_thinned_um == pytest.approx(125)


amounts = st.fixed_dictionaries(
    {
        "area_m2": st.floats(0.001, 50),
        "dry_um": st.floats(1, 500),
        "solids_percent": st.floats(1, 100),
        "transfer_percent": st.floats(5, 100),
        "coats": st.integers(1, 12),
        "thinned_percent": st.floats(0, 300),
        "loss_mL": st.floats(0, 200),
    }
)


@examples(300)
@given(amounts)
def test_what_is_mixed_is_found_again(given: dict[str, Any]) -> None:
    """All solids of the mix are on the piece, in the booth or in the cup: a balance, not the formula over again."""
    one = size(**given)
    assert one.ready_mL == pytest.approx(one.paint_mL + one.reducer_mL)
    assert one.reducer_mL == pytest.approx(one.paint_mL * given["thinned_percent"] / 100, rel=1e-12, abs=1e-9)
    percent = mixed_solids([(one.paint_mL, given["solids_percent"]), (one.reducer_mL, 0)])
    sprayed_mL = one.ready_mL - one.loss_mL
    stays_mL = sprayed_mL * given["transfer_percent"] / 100 * percent / 100
    assert stays_mL == pytest.approx(given["area_m2"] * one.total_dry_um, rel=1e-6)
    assert one.wet_thinned_um * percent / 100 == pytest.approx(given["dry_um"])
    assert one.total_dry_um == pytest.approx(given["coats"] * one.dry_um)


@examples(100)
@given(amounts, st.floats(1.01, 3))
def test_what_makes_a_job_bigger(given: dict[str, Any], more: float) -> None:
    paint, ready = size(**given).paint_mL, size(**given).ready_mL
    assert size(**given | {"area_m2": given["area_m2"] * more}).paint_mL > paint
    assert size(**given | {"transfer_percent": given["transfer_percent"] / more}).paint_mL > paint
    assert size(**given | {"coats": given["coats"] + 1}).paint_mL > paint
    assert size(**given | {"loss_mL": given["loss_mL"] + more}).ready_mL == pytest.approx(ready + more)


# Volume solids of a mix


@pytest.mark.parametrize(
    ("parts", "percent"),
    [
        # strandsindustrialcoatings.com, volume solids after adding thinner: a gallon of 60 % and a quart: 48 %
        ([(4, 60), (1, 0)], 48),
        # scribd.com 104802451: 35 % thinned by 10 % is printed as 32 %
        ([(100, 35), (10, 0)], 31.818),
        ([(2, 40), (1, 70)], 50),  # arithmetic: 80 + 70 of 300
        ([(7, 100)], 100),
        ([(0, 90), (5, 20)], 20),
        ([(5, 0)], 0),
    ],
)
def test_solids_of_a_mix(parts: list[tuple[float, float]], percent: float) -> None:
    assert mixed_solids(parts) == pytest.approx(percent, abs=0.001)


@examples(200)
@given(st.lists(st.tuples(st.floats(0.01, 1e4), st.floats(0, 100)), min_size=1, max_size=6))
def test_solids_of_a_mix_lie_between_those_of_its_parts(parts: list[tuple[float, float]]) -> None:
    percent = mixed_solids(parts)
    assert min(p for _, p in parts) - 1e-9 <= percent <= min(100, max(p for _, p in parts) + 1e-9)
    volume = sum(mL for mL, _ in parts)
    assert percent * volume == pytest.approx(math.fsum(mL * p for mL, p in parts), rel=1e-9, abs=1e-9)


def test_solids_never_pass_a_hundred_by_a_hair() -> None:
    # Summed as they stand these shares make 100.00000000000001, which no coat may have.
    assert mixed_solids([(6.6, 100), (12.7, 100), (1.0, 100)]) == 100


@pytest.mark.parametrize(
    ("parts", "words"),
    [
        ([], "Nothing is in the mix"),
        ([(0, 30), (0, 0)], "Nothing is in the mix"),
        ([(-1, 30), (5, 0)], "amount of each part"),
        ([(math.nan, 30)], "amount of each part"),
        ([(math.inf, 30)], "amount of each part"),
        ([(1e308, 30), (1e308, 30)], "Nothing is in the mix"),
        ([(5, 101)], "from 0 to 100"),
        ([(5, -0.1)], "from 0 to 100"),
        ([(5, math.nan)], "from 0 to 100"),
    ],
)
def test_a_mix_without_solids_to_count(parts: list[tuple[float, float]], words: str) -> None:
    with pytest.raises(NotACoat, match=words):
        mixed_solids(parts)


# Areas


def test_plain_areas_by_hand() -> None:
    assert rectangle_m2(1500, 400) == pytest.approx(0.6)
    assert disc_m2(200) == pytest.approx(math.pi * 0.01)
    assert cylinder_m2(200, 300) == pytest.approx(math.pi * 0.06)
    assert cylinder_m2(200, 300, 1) == pytest.approx(math.pi * 0.07)
    assert cylinder_m2(200, 300, ends=2) == pytest.approx(math.pi * 0.08)


def test_a_cap_of_a_published_problem() -> None:
    # hackmath.net problem 1435: rim 20 m across, 2 m high: 326.73 m2
    assert cap_m2(20_000, 2_000) == pytest.approx(326.73, abs=0.005)


def test_half_a_ball_is_half_of_its_area() -> None:
    # 2 pi r^2: Archimedes, On the Sphere and Cylinder I
    assert cap_m2(200, 100) == pytest.approx(2 * math.pi * 0.01)


@examples(150)
@given(st.floats(10, 500), st.floats(0.02, 0.98))
def test_a_cap_is_its_outline_turned_round(ball_mm: float, part: float) -> None:
    """A cap of a ball of radius r and height h is the turned arc, also where it is more than half the ball."""
    height = 2 * ball_mm * part
    rim = 2 * math.sqrt(height * (2 * ball_mm - height))
    widest = math.acos(1 - height / ball_mm)
    turned, _ = quad(lambda a: 2 * math.pi * ball_mm * math.sin(a) * ball_mm, 0, widest, epsabs=0, epsrel=1e-11)
    assert cap_m2(rim, height) == pytest.approx(turned / 1e6, rel=1e-9)


@pytest.mark.parametrize("bad", [0, -1, math.nan, math.inf, -math.inf])
def test_a_side_that_is_none(bad: float) -> None:
    asks = {
        "length": lambda: rectangle_m2(bad, 5), "width": lambda: rectangle_m2(5, bad),
        "diameter": lambda: disc_m2(bad), "height": lambda: cylinder_m2(5, bad),
    }  # fmt: skip
    for words, ask in asks.items():
        with pytest.raises(NotACoat, match=f"^The {words} must be a number above zero: write it in mm.$"):
            ask()
    for other in (lambda: cap_m2(bad, 5), lambda: cap_m2(5, bad), lambda: cylinder_m2(bad, 5)):
        with pytest.raises(NotACoat, match="above zero"):
            other()


@pytest.mark.parametrize("ends", [-1, 3])
def test_a_cylinder_has_two_ends(ends: int) -> None:
    with pytest.raises(NotACoat, match="two ends"):
        cylinder_m2(5, 5, ends)


@pytest.mark.parametrize(("length", "width"), [(1e200, 1e200), (1e-200, 1e-200)])
def test_a_side_beyond_all_counting(length: float, width: float) -> None:
    with pytest.raises(NotACoat, match="no area"):
        rectangle_m2(length, width)


# Bad input


@pytest.mark.parametrize(
    ("given", "words"),
    [
        ({"area_m2": 0}, "area"),
        ({"area_m2": -1}, "area"),
        ({"area_m2": math.nan}, "area"),
        ({"dry_um": 0}, "dry film"),
        ({"dry_um": -25}, "dry film"),
        ({"dry_um": math.inf}, "dry film"),
        ({"dry_um": 10_001}, "dry film is over 10 mm"),
        ({"dry_um": 1e9}, "dry film is over 10 mm"),
        ({"solids_percent": 0}, "volume solids are 0 %"),
        ({"solids_percent": -3}, "volume solids are -3 %"),
        ({"solids_percent": 100.1}, r"volume solids are 100\.1 %"),
        ({"solids_percent": math.nan}, "volume solids are no number"),
        ({"transfer_percent": 0}, "transfer efficiency is 0 %"),
        ({"transfer_percent": 101}, "transfer efficiency is 101 %"),
        ({"transfer_percent": math.nan}, "transfer efficiency is no number"),
        ({"coats": 0}, "coats"),
        ({"coats": -2}, "coats"),
        ({"coats": 1.5}, "coats"),
        ({"coats": MOST_COATS + 1}, "coats"),
        ({"thinned_percent": -1}, "reducer"),
        ({"thinned_percent": math.nan}, "reducer"),
        ({"loss_mL": -1}, "loss in cup and hose"),
        ({"loss_mL": math.inf}, "loss in cup and hose"),
        ({"area_m2": 1e307, "solids_percent": 1e-3}, "more paint than can be counted"),
        ({"solids_percent": 1e-310, "dry_um": 1.0}, "more paint than can be counted"),
    ],
)
def test_what_no_coat_can_be_is_one_sentence_with_its_field(given: dict[str, float], words: str) -> None:
    with pytest.raises(NotACoat, match=words) as fault:
        sized(**given)
    said = str(fault.value)
    assert said.endswith(".")
    assert ". " not in said
    assert len(said) < 160


def test_the_edges_that_are_still_coats() -> None:
    assert sized(dry_um=10_000).dry_um == 10_000
    one = sized(solids_percent=100, transfer_percent=100, coats=MOST_COATS)
    assert one.paint_mL == pytest.approx(25 * MOST_COATS)


# A notched gauge


@pytest.mark.parametrize(
    ("wet", "words"),
    [
        (110, "The 100 µm notch comes out wet and the 125 µm notch stays dry."),
        (125, "The 125 µm notch comes out wet and the 150 µm notch stays dry."),
        (25 * 1.5 / 0.3 * (1 - 1e-15), "The 125 µm notch comes out wet and the 150 µm notch stays dry."),
        (124.9, "The 100 µm notch comes out wet and the 125 µm notch stays dry."),
        (25, "The 25 µm notch comes out wet and the 50 µm notch stays dry."),
        (12, "No notch gets wet: the film is thinner than the first, 25 µm."),
        (400, "Every notch gets wet: the film is as thick as the last, 400 µm, or thicker."),
        (900, "Every notch gets wet: the film is as thick as the last, 400 µm, or thicker."),
    ],
)
def test_a_usual_comb(wet: float, words: str) -> None:
    assert notch_words(wet) == words


def test_a_comb_of_ones_own_reads_between_the_last_wet_tooth_and_the_first_dry() -> None:
    # proline-global.com, wet film gauge: tooth 3 covered and tooth 4 not: the film is between 3 and 4 mil
    mils = [n * MIL_UM for n in (1, 2, 3, 4, 5)]
    assert notch_words(3.4 * MIL_UM, mils) == "The 76.2 µm notch comes out wet and the 101.6 µm notch stays dry."


@examples(200)
@given(st.floats(25, 399.9))
def test_the_film_is_between_the_two_notches(wet: float) -> None:
    last, first = (float(word) for word in notch_words(wet).split() if word.isdigit())
    assert last <= wet * (1 + 1e-9)
    assert wet < first
    assert (last, first) in pairwise(USUAL_NOTCHES_UM)


@pytest.mark.parametrize(
    ("wet", "notches"),
    [
        (0, USUAL_NOTCHES_UM), (-5, USUAL_NOTCHES_UM), (math.nan, USUAL_NOTCHES_UM),
        (50, ()), (50, (50, 25)), (50, (25, 25)), (50, (0, 25)), (50, (25, math.inf)),
    ],
)  # fmt: skip
def test_a_comb_that_is_none(wet: float, notches: tuple[float, ...]) -> None:
    with pytest.raises(NotACoat) as fault:
        notch_words(wet, notches)
    assert str(fault.value).endswith(".")


def test_every_gun_brings_something_onto_the_piece() -> None:
    assert set(TRANSFER_PERCENT) == {"airbrush", "mini gun", "full-size gun"}
    # Small surfaces: 20 to 50 % (paintcenter.org, April 2009)
    assert all(20 <= percent <= 50 for percent in TRANSFER_PERCENT.values())
