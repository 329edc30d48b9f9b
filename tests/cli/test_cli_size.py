"""`benchtool size`: areas, films and amounts, against published formulas and worked figures."""

import math
import shlex

import pytest
from cli.asking import ask

from benchtool.job.cards import Gun
from benchtool.job.shop import Shop

FT2_PER_GAL = 3.785411784 / 0.09290304
"""ft2 a US gallon in one m2 a litre (NIST Handbook 44 appendix C: 231 in3 a gallon, 0.3048 m a foot)."""


def size(words, *more, **means):
    return ask("size", *shlex.split(words), *more, **means)


def values(words, **means):
    said = size(words, "--json", **means)
    assert said.status == 0, said.err
    return said.values


def test_the_example_of_the_design():
    """By hand: 10 x 30 / 25 = 12 m2 a litre; 1.5 m2 at half landing are 250 mL, thinned by half 375 mL.

    The films as in 4-wft-30-25-50 (geionline.com, wet film formulae): 25 x 1.5 / 0.30 = 125 um thinned.
    """
    got = values("--area 1.5m2 --dry 25um --solids 30 --transfer 50 --thinned 50")
    assert got["spread_m2_per_L"] == pytest.approx(12)
    assert (got["wet_um"], got["wet_unthinned_um"]) == (pytest.approx(125), pytest.approx(25 / 0.3))
    assert (got["paint_mL"], got["reducer_mL"], got["ready_mL"]) == (pytest.approx(250), pytest.approx(125), 375)
    assert "125" in got["gauge"]


def test_the_wet_film_without_reducer_is_the_film_as_sprayed():
    got = values("--area 1.5m2 --dry 25um --solids 30 --transfer 50")
    assert got["wet_um"] == got["wet_unthinned_um"] == pytest.approx(25 / 0.3)
    assert got["ready_mL"] == got["paint_mL"] == pytest.approx(250)
    assert got["reducer_mL"] == 0


@pytest.mark.parametrize(
    ("solids", "dry", "ft2_per_gal", "tol"),
    [
        pytest.param(100, "1mil", 1604.17, 0.01, id="4-const: 231 in3 a gallon over 144 in2 x 0.001 in"),
        pytest.param(100, "10mil", 160.417, 0.01, id="4-10mil: geionline.com, wet film formulae"),
        pytest.param(65, "5mil", 208.52, 0.05, id="4-65-5: spreading-rate note, worked example"),
        pytest.param(46, "2.5mil", 295.14, 0.2, id="4-46-2.5: paintpro.net estimating, recomputed"),
        pytest.param(72, "2mil", 577, 1.0, id="printed as 527 in a coverage table; 1604 x 0.72 / 2 is 577"),
    ],
)
def test_spread_in_feet_and_gallons(solids, dry, ft2_per_gal, tol):
    got = values(f"--area 16sqft --dry {dry} --solids {solids}")
    assert got["spread_m2_per_L"] * FT2_PER_GAL == pytest.approx(ft2_per_gal, abs=tol)
    assert got["area_m2"] == pytest.approx(16 * 0.09290304)


@pytest.mark.parametrize(
    ("solids", "dry_um", "m2_per_L"),
    [
        pytest.param(65, 125, 5.2, id="4-65-125: spreading-rate note, worked example"),
        pytest.param(40, 50, 8.0, id="4-m2L-40-50"),
        pytest.param(25, 20, 12.5, id="4-m2L-25-20"),
        pytest.param(100, 1, 1000.0, id="4-m2L-100-1"),
        pytest.param(33, 40, 8.25, id="4-m2L-33-40"),
    ],
)
def test_spread_in_metres_and_litres(solids, dry_um, m2_per_L):
    """Spreading rate m2/L = 10 x VS% / DFT um."""
    assert values(f"--area 1 --dry {dry_um} --solids {solids}")["spread_m2_per_L"] == pytest.approx(m2_per_L, rel=0.002)


def test_practical_spread():
    """4-practical: theoretical x (1 - loss) (corrosionpedia.com): 100 at a loss of 0.3 is 70."""
    got = values("--area 1 --dry 25 --solids 25 --transfer 70")
    assert 100 * got["practical_m2_per_L"] / got["spread_m2_per_L"] == pytest.approx(70, abs=0.01)


@pytest.mark.parametrize(
    ("solids", "dry_um", "thinned", "wet_um"),
    [
        pytest.param(40, 50, 0, 125.0, id="4-wft-40-50-0"),
        pytest.param(40, 50, 10, 137.5, id="4-wft-40-50-10"),
        pytest.param(30, 25, 50, 125.0, id="4-wft-30-25-50"),
    ],
)
def test_wet_film(solids, dry_um, thinned, wet_um):
    """WFT = DFT x (1 + thinner) / VS (geionline.com, wet film formulae)."""
    got = values(f"--area 1 --dry {dry_um}um --solids {solids}% --thinned {thinned}%")
    assert got["wet_um"] == pytest.approx(wet_um, rel=0.002)
    assert got["wet_unthinned_um"] == pytest.approx(100 * dry_um / solids, rel=0.002)


@pytest.mark.parametrize(
    ("area", "solids", "dry_um", "transfer", "litres"),
    [
        pytest.param(2.0, 40, 50, 65, 0.3846, id="4-qty-2.0-40-50-65-0"),
        pytest.param(1.5, 30, 25, 50, 0.25, id="4-qty-1.5-30-25-50-0"),
    ],
)
def test_how_much_paint(area, solids, dry_um, transfer, litres):
    """L = area x DFT / (10 x VS%) / transfer efficiency."""
    got = values(f"--area {area}m2 --dry {dry_um}um --solids {solids} --transfer {transfer}")
    assert got["paint_mL"] == pytest.approx(1000 * litres, rel=0.002)
    assert got["ready_mL"] == pytest.approx(1000 * litres, rel=0.002)


@pytest.mark.parametrize(
    ("words", "m2"),
    [
        ("--area 1.5", 1.5),
        ("--rectangle 60cmx40cm", 0.24),
        ("--rectangle '2ft x 18in'", 3 * 0.09290304),
        ("--disc 30cm", math.pi * 0.15**2),
        ("--cylinder 10cm,30cm", math.pi * 0.1 * 0.3),
        ("--cylinder 10cm,30cm,1", math.pi * (0.1 * 0.3 + 0.05**2)),
        ("--cylinder '10cm, 30cm, 2 ends'", math.pi * (0.1 * 0.3 + 2 * 0.05**2)),
        ("--area 1 --area 5000cm2 --disc 20cm --disc 20cm", 1.5 + 2 * math.pi * 0.1**2),
    ],
)
def test_shapes(words, m2):
    got = values(f"{words} --dry 25 --solids 30")
    assert got["area_m2"] == pytest.approx(m2)
    assert got["paint_mL"] == pytest.approx(m2 * 25 / 0.3)


def test_a_cap_against_an_integration():
    """A surface of revolution summed ring by ring; a cap as high as its radius is half a ball."""
    a, h = 150.0, 100.0
    radius = (a * a + h * h) / (2 * h)
    n = 200_000
    angle = math.atan2(a, radius - h)
    ring = sum(2 * math.pi * radius * math.sin(angle * (i + 0.5) / n) * radius * angle / n for i in range(n))
    assert values("--cap 30cm,10cm --dry 25 --solids 30")["area_m2"] == pytest.approx(ring / 1e6, rel=1e-6)
    half_ball = values("--cap 20cm,10cm --dry 25 --solids 30")["area_m2"]
    assert half_ball == pytest.approx(2 * math.pi * 0.1**2)


def test_coats_and_loss():
    """By hand: 1 m2 at 25 um of 25 % is 100 mL a coat; the 30 mL left in the gun are 20 mL paint, 10 mL reducer."""
    got = values("--area 1 --dry 25 --solids 25 --thinned 50 --coats 3 --loss 30mL")
    assert (got["dry_um"], got["total_dry_um"], got["coats"]) == (25, 75, 3)
    assert got["paint_mL"] == pytest.approx(320)
    assert got["ready_mL"] == pytest.approx(480)
    assert got["loss_mL"] == 30


class TestTheGun:
    def test_brings_its_usual_transfer(self):
        from benchtool.trade.film import TRANSFER_PERCENT

        for words, name in (("airbrush", "airbrush"), ("mini", "mini gun"), ("'Full size gun'", "full-size gun")):
            got = values(f"--area 1 --dry 25 --solids 30 --gun {words}")
            assert got["transfer_percent"] == TRANSFER_PERCENT[name]
            assert name in got["notes"][0]

    def test_brings_what_the_painter_set(self):
        shop = Shop(transfer_percent={Gun.AIRBRUSH: 63.0})
        got = values("--area 1 --dry 30 --solids 30 --gun airbrush", shop=shop)
        assert got["transfer_percent"] == 63
        assert got["paint_mL"] == pytest.approx(100 / 0.63)
        assert got["notes"] == []

    def test_without_one_says_what_it_counts_on(self):
        assert "landing" in values("--area 1 --dry 25 --solids 30")["notes"][0]
        assert values("--area 1 --dry 25 --solids 30 --transfer 60")["notes"] == []


def test_words_for_a_reader():
    out = size("--area 1.5m2 --dry 25um --solids 30 --transfer 50 --thinned 50 --coats 2").out
    for words in ("Mix 750 mL", "500 mL of paint", "250 mL of reducer", "125 µm wet", "83.3 µm", "50 µm dry", "notch"):
        assert words in out


@pytest.mark.parametrize(
    ("words", "told"),
    [
        ("", "--dry"),
        ("--area 1", "--dry"),
        ("--area 1 --dry 25", "--solids"),
        ("--dry 25 --solids 30", "--area"),
        ("--area 1 --dry 25 --solids 0", "solids"),
        ("--area 1 --dry 25 --solids 100.5", "solids"),
        ("--area 1 --dry 25 --solids -3", "solids"),
        ("--area 1 --dry 25 --solids lots", "--solids"),
        ("--area 1 --dry 25 --solids 30g", "--solids"),
        ("--area 0 --dry 25 --solids 30", "--area"),
        ("--area -1 --dry 25 --solids 30", "zero"),
        ("--area 1kg --dry 25 --solids 30", "area"),
        ("--area 1 --dry 0 --solids 30", "film"),
        ("--area 1 --dry 25g --solids 30", "thickness"),
        ("--area 1 --dry 25 --solids 30 --transfer 0", "transfer"),
        ("--area 1 --dry 25 --solids 30 --transfer 101", "transfer"),
        ("--area 1 --dry 25 --solids 30 --transfer 50 --gun airbrush", "not both"),
        ("--area 1 --dry 25 --solids 30 --gun roller", "airbrush"),
        ("--area 1 --dry 25 --solids 30 --gun ''", "airbrush"),
        ("--area 1 --dry 25 --solids 30 --thinned -5", "reducer"),
        ("--area 1 --dry 25 --solids 30 --coats 0", "--coats"),
        ("--area 1 --dry 25 --solids 30 --coats 1.5", "--coats"),
        ("--area 1 --dry 25 --solids 30 --coats many", "--coats"),
        ("--area 1 --dry 25 --solids 30 --loss 10", "unit"),
        ("--area 1 --dry 25 --solids 30 --loss -1mL", "zero"),
        ("--rectangle 60cm --dry 25 --solids 30", "60cmx40cm"),
        ("--rectangle 60x40 --dry 25 --solids 30", "unit"),
        ("--rectangle 60cmx0cm --dry 25 --solids 30", "width"),
        ("--disc 0cm --dry 25 --solids 30", "diameter"),
        ("--cap 30cm --dry 25 --solids 30", "30cm,10cm"),
        ("--cap 30cm,0cm --dry 25 --solids 30", "height"),
        ("--cylinder 10cm,30cm,3 --dry 25 --solids 30", "ends"),
        ("--cylinder 10cm --dry 25 --solids 30", "10cm,30cm"),
        ("--area 1e6 --dry 1e9 --solids 30", "10 mm"),
        ("--area 1e6 --dry 1e4 --solids 1e-305", "count"),
    ],
)
def test_input_that_is_no_use_is_one_line(words, told):
    for form in ([], ["--json"]):
        said = size(words, *form)
        assert said.status == 2
        assert said.err.startswith("benchtool size: ")
        assert "worked out" not in said.err
        assert told in said.err
