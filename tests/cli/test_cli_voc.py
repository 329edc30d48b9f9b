"""`benchtool voc`: emissions against a regulation's formula and worked examples."""

import io
import json
import shlex
from pathlib import Path

import pytest
from cli.asking import MEASURES, START, TABLES, ask

from benchtool.cli import run

G_L = 453.59237 / 3.785411784
"""g/L in a lb/US gal (NIST Handbook 44 appendix C)."""


def voc(parts, words="", *more):
    text = parts if isinstance(parts, str) else json.dumps(parts)
    return ask("voc", "-", *shlex.split(words), *more, stdin=text)


def values(parts, words=""):
    said = voc(parts, words, "--json")
    assert said.status in (0, 1), said.err
    return said.values


READY_A = [
    {"name": "base", "volume": "4 L", "voc": 420, "exempt": 79, "exempt_density": 0.79},
    {"name": "activator", "volume": "1 L", "voc": 250},
    {"name": "reducer", "volume": "1 L", "voc": 860},
]
READY_B = [
    {"volume": 2000, "voc": 480},
    {"volume": 1000, "voc": 300},
    {"volume": 300, "voc": 0, "exempt": 790, "exempt_density": 0.79},
]
READY_C = [{"volume": 10_000, "voc": 110, "water": 520}, {"volume": 1000, "voc": 0, "water": 998.2}]


@pytest.mark.parametrize(
    ("parts", "actual", "regulatory"),
    [
        # 40 CFR 59.104(a)(1): (Wv - Ww - Wec) / (V - Vw - Vec), the coating as prepared for application
        pytest.param(READY_A, 465.0, 498.2, id="5-rts-A"),
        pytest.param(READY_B, 381.8, 420.0, id="5-rts-B"),
        pytest.param(READY_C, 100.0, 229.6, id="5-rts-C"),
        pytest.param(
            # EPA Method 24 / ASTM D3960: (Wv - Ww) Dc / (1 - Ww Dc / Dw)
            [{"mass": 1100, "density": 1.1, "voc": 0.15 * 1100, "water": 0.45 * 1100}], 165.0, 327.3, id="5-m24",
        ),
    ],
)  # fmt: skip
def test_ready_to_spray(parts, actual, regulatory):
    got = values(parts)
    assert got["actual_g_per_L"] == pytest.approx(actual, rel=0.002)
    assert got["regulatory_g_per_L"] == pytest.approx(regulatory, rel=0.002)
    assert got["actual_lb_per_gal"] == pytest.approx(got["actual_g_per_L"] / G_L, rel=1e-6)
    assert got["regulatory_lb_per_gal"] == pytest.approx(got["regulatory_g_per_L"] / G_L, rel=1e-6)


def test_the_example_of_a_state_rule():
    """5-md: COMAR 26.11.19.02, A / (1 - B/0.995 - C/D); it takes water as 0.995 kg/L, which is in the tolerance."""
    got = values([{"volume": 1000, "voc": 150, "water": 450, "exempt": 50, "exempt_density": 0.79}])
    assert got["regulatory_g_per_L"] / 1000 == pytest.approx(0.3096, rel=0.003)


def test_an_enamel_and_its_thinner():
    """5-mix-1: 1 gal of 2.5 lb/gal and 1/4 gal of 6.8 lb/gal (a finishing guidebook's appendix B): 3.36 lb/gal."""
    got = values([{"volume": "1 gal", "voc": "2.5 lb/gal"}, {"volume": "1/4 gal", "voc": "6.8 lb/gal"}])
    assert got["actual_lb_per_gal"] == pytest.approx(3.36, abs=0.005)
    assert got["voc_g"] == pytest.approx(4.2 * 453.59237, rel=1e-6)


def test_the_most_thinner_a_limit_allows():
    """5-mix-2: 5 gal with 15.9 lb take 0.5517 gal of 6.4 lb/gal up to 3.5 lb/gal (the same appendix)."""
    for gallons, status in ((0.548, 0), (0.555, 1)):
        parts = [{"volume": "5 gal", "voc": "3.18 lb/gal"}, {"volume": f"{gallons} gal", "voc": "6.4 lb/gal"}]
        said = voc(parts, "--limit 3.5lb/gal", "--json")
        assert said.status == status
        assert said.values["within"] is (status == 0)
        assert said.values["limit_g_per_L"] == pytest.approx(3.5 * G_L)


def test_two_parts_and_water():
    """5-mix-4: 3 of 3.1 lb/gal, 1 of 1.8 lb/gal, 7 of water: 2.775 less water (printed 2.75), 1.009 as it is."""
    parts = [
        {"volume": "3 gal", "voc": "3.1 lb/gal"},
        {"volume": "1 gal", "voc": "1.8 lb/gal"},
        {"volume": "7 gal", "voc": 0, "water": 998.2},
    ]
    got = values(parts)
    assert got["regulatory_lb_per_gal"] == pytest.approx(2.775, abs=0.003)
    assert got["actual_lb_per_gal"] == pytest.approx(1.009, abs=0.003)


def test_a_waterborne_paint():
    """5-pcrc: 20.8 % solids and 53 % water by weight at 8.52 lb/gal (a resource centre's worked answer)."""
    density = 8.52 * G_L
    got = values([{"volume": "1 gal", "voc": 0.262 * density, "water": 0.53 * density}])
    assert got["actual_lb_per_gal"] == pytest.approx(2.23, abs=0.01)
    assert got["regulatory_lb_per_gal"] == pytest.approx(4.87, abs=0.01)


def test_a_printed_error_is_not_followed():
    """52 % water, 42 % solids and 6 % VOC of 7.36 lb/gal by volume: 0.92 lb/gal less water, printed as 0.76."""
    got = values([{"volume": 1000, "voc": 0.06 * 7.36 * G_L, "water": 0.52 * 998.2}])
    assert got["regulatory_lb_per_gal"] == pytest.approx(0.92, abs=0.005)


def test_water_leaves_the_regulatory_figure_as_it_is():
    """Read: the invariant of 40 CFR 59.104; adding water or exempt reducer lowers the actual figure only."""
    before = values(READY_A)
    for added in (
        {"volume": 3000, "voc": 0, "water": 998.2},
        {"volume": 3000, "voc": 0, "exempt": 790, "exempt_density": 0.79},
    ):
        after = values([*READY_A, added])
        assert after["regulatory_g_per_L"] == pytest.approx(before["regulatory_g_per_L"], rel=1e-3)
        assert after["actual_g_per_L"] < before["actual_g_per_L"]


def test_nothing_but_water_has_no_regulatory_figure():
    got = values([{"volume": 1000, "voc": 0, "water": 998.2}], "--limit 420")
    assert got["regulatory_g_per_L"] is got["regulatory_lb_per_gal"] is got["within"] is None
    assert "water" in got["why"]
    assert got["actual_g_per_L"] == 0


def test_a_mass_and_its_density():
    by_mass = values([{"mass": "1.02 kg", "density": 1.02, "voc": 250}, *READY_A[:1]])
    by_volume = values([{"volume": "1 L", "voc": 250}, *READY_A[:1]])
    assert by_mass["actual_g_per_L"] == pytest.approx(by_volume["actual_g_per_L"])
    assert by_mass["total_mL"] == pytest.approx(5000)


class TestTheLimit:
    def test_over_is_trouble(self):
        said = voc(READY_A, "--limit 420")
        assert said.status == 1
        assert "over by 78 g/L" in said.out
        assert "Local rules decide" in said.out

    def test_within_is_fine(self):
        got = voc(READY_A, "--limit 500", "--json")
        assert got.status == 0
        assert got.values["within"] is True
        assert "within" in got.values["words"]

    def test_without_one_nothing_is_judged(self):
        got = values(READY_A)
        assert "within" not in got
        assert "Local rules decide" in got["words"]


class TestTheFile:
    def test_is_read(self, tmp_path: Path):
        path = tmp_path / "parts.json"
        path.write_text("\ufeff" + json.dumps(READY_A), encoding="utf-8")
        said = ask("voc", str(path), "--json")
        assert said.values == values(READY_A)

    @pytest.mark.parametrize(
        ("data", "told"),
        [
            (b"", "JSON"),
            (b"[", "line 1"),
            (b"\xff\xfe[]", "UTF-8"),
            (b"[" * 200_000, "deep"),
            (b"[" + b"1" * 5000 + b"]", "too long"),
            (b" " * 1_000_001, "large"),
        ],
    )
    def test_that_is_none(self, tmp_path: Path, data, told):
        path = tmp_path / "parts.json"
        path.write_bytes(data)
        said = ask("voc", str(path))
        assert said.status == 2
        assert told in said.err
        assert "worked out" not in said.err

    def test_that_is_not_there(self, tmp_path: Path):
        for path in (tmp_path / "none.json", tmp_path, "a\0b", "/dev/null"):
            said = ask("voc", str(path))
            assert said.status == 2
            assert "worked out" not in said.err

    def test_without_standard_input(self):
        said = ask("voc", "-")
        assert said.status == 2
        assert "standard input" in said.err

    def test_standard_input_of_other_bytes(self):
        out, err = io.StringIO(), io.StringIO()
        stdin = io.TextIOWrapper(io.BytesIO(b"\xff\xfe"), encoding="utf-8")
        status = run(
            ["voc", "-"], now=lambda: START, tables=lambda: TABLES, measures=lambda: MEASURES,
            open_job=lambda name: None, out=out, err=err, stdin=stdin,
        )  # fmt: skip
        assert status == 2
        assert "UTF-8" in err.getvalue()


@pytest.mark.parametrize(
    ("parts", "told"),
    [
        ({}, "list"),
        ([], "list"),
        ([5], "Part 1"),
        ([{"volume": 1}], "voc"),
        ([{"voc": 1}], "volume"),
        ([{"volume": 1, "mass": 1, "density": 1, "voc": 1}], "either"),
        ([{"mass": 1, "voc": 1}], "density"),
        ([{"name": "base", "volume": 1, "voc": -1}], "base"),
        ([{"volume": -1, "voc": 1}], "amount"),
        ([{"volume": 0, "voc": 1}], "nothing"),
        ([{"name": "base", "volume": 1, "voc": 1, "water": 1200}], "add up"),
        ([{"name": "base", "volume": 1, "density": 1.0, "voc": 700, "water": 600}], "add up"),
        ([{"volume": 1, "voc": "lots"}], "voc"),
        ([{"volume": "3 parsec", "voc": 1}], "volume"),
        ([{"volume": 1, "voc": True}], "voc"),
        ([{"volume": 1, "voc": 1, "colour": "red"}], "colour"),
        ("[NaN]", "Part 1"),
        ('[{"volume": NaN, "voc": 1}]', "amount"),
        ('[{"volume": 1e999, "voc": 1}]', "amount"),
    ],
)
def test_parts_that_are_no_use_are_one_line(parts, told):
    for form in ("", "--json"):
        said = voc(parts, form)
        assert said.status == 2
        assert said.err.startswith("benchtool voc: ")
        assert "worked out" not in said.err
        assert told in said.err


@pytest.mark.parametrize("limit", ["0", "-5", "nan", "much", "5kg", ""])
def test_a_limit_that_is_none(limit):
    said = voc(READY_A, "", "--limit", limit)
    assert said.status == 2
    assert "worked out" not in said.err


def test_odd_names_reach_no_terminal():
    parts = [{**READY_A[0], "name": "ba\x1b[31mse\u202e"}]
    for form in ("", "--json"):
        assert not {"\x1b", "\u202e"} & set(voc(parts, form).out)
    del parts[0]["exempt_density"]
    assert not {"\x1b", "\u202e"} & set(voc(parts).out)
    broken = voc([{"name": "ba\x1bse", "volume": -1, "voc": 1}])
    assert "\x1b" not in broken.err
