"""`benchtool flow`: cups against published equations, run-out times and ranges."""

import shlex

import pytest
from cli.asking import ask


def flow(words, *more):
    return ask("flow", *shlex.split(words), *more)


def values(words, status=0):
    said = flow(words, "--json")
    assert said.status == status, said.err
    return said.values


@pytest.mark.parametrize(
    ("cup", "seconds", "mm2_s", "rel"),
    [
        # ASTM D4212 and D1200 as a viscosity-standard maker prints them
        ("Zahn 1", 50, 23.1, 0.001),
        ("Zahn 2", 30, 56.0, 0.001),
        ("Zahn 3", 40, 380.25, 0.001),
        ("Zahn 4", 30, 370.0, 0.001),
        ("Ford 1", 70, 17.15, 0.001),
        ("Ford 2", 60, 60.48, 0.001),
        # from memory, checked against printed run-out times of calibration oils
        ("Ford 3", 50, 100.3, 0.001),
        ("Ford 4", 30, 98.21, 0.001),
        ("Ford 5", 40, 459.8, 0.001),
        # ISO 2431 annex A and DIN 53211, from memory
        ("ISO 4 mm", 30, 34.43, 0.005),
        ("ISO 4 mm", 100, 135.0, 0.005),
        ("ISO 5 mm", 50, 159.6, 0.005),
        ("ISO 6 mm", 40, 261.75, 0.005),
        ("DIN 4", 30, 122.03, 0.02),
        ("DIN 4", 100, 452.48, 0.02),
    ],
)
def test_seconds_to_viscosity_and_back(cup, seconds, mm2_s, rel):
    got = values(f"'{cup}' {seconds}")
    assert got["viscosity_mm2_s"] == pytest.approx(mm2_s, rel=rel)
    assert (got["seconds"], got["in_range"]) == (seconds, True)
    back = values(f"--viscosity {got['viscosity_mm2_s']} --to '{cup}'")
    assert back["seconds"] == pytest.approx(seconds, rel=1e-9)
    assert back["in_range"] is True


@pytest.mark.parametrize(
    ("cup", "mm2_s", "seconds"),
    [
        ("Zahn 1", 17, 45),
        ("Zahn 2", 66, 33),
        ("Zahn 4", 460, 36),
        ("Ford 1", 17, 70),
        ("Ford 2", 34, 42),
        ("Ford 3", 66, 35),
        ("Ford 4", 120, 36),
        ("Ford 5", 460, 40),
    ],
)
def test_printed_times_of_calibration_oils(cup, mm2_s, seconds):
    """Run-out times that a viscosity-standard maker prints for certified oils, to the second."""
    assert values(f"'{cup}' --viscosity {mm2_s}")["seconds"] == pytest.approx(seconds, abs=1.5)


@pytest.mark.parametrize(
    ("cup", "seconds", "limits"),
    [
        pytest.param("Ford 4", 12, ("20", "100"), id="2-oor-1: ASTM D1200 11.2"),
        pytest.param("Zahn 3", 95, ("20", "80"), id="2-oor-3: ASTM D4212"),
        pytest.param("ISO 4", 101, ("30", "100"), id="ISO 2431: 100 s at most"),
    ],
)
def test_out_of_range_is_no_figure(cup, seconds, limits):
    got = values(f"'{cup}' {seconds}", status=1)
    assert got["viscosity_mm2_s"] is got["seconds"] is None
    assert got["in_range"] is False
    assert all(limit in got["why"] for limit in limits)
    said = flow(f"'{cup}' {seconds}")
    assert said.status == 1
    assert said.out.splitlines()[0].startswith(f"{got['from_cup']} is read between ")


def test_between_cups():
    """By hand: Ford 4 at 30 s is 3.85 x 25.51 = 98.21 mm2/s; Zahn 2 shows that at 14 + 98.21 / 3.5 = 42.06 s."""
    got = values("'Ford 4' 30 --to 'Zahn 2'")
    assert got["seconds"] == pytest.approx(42.06, abs=0.01)
    assert got["viscosity_mm2_s"] == pytest.approx(98.21, abs=0.01)
    assert (got["cup"], got["from_cup"], got["from_seconds"]) == ("Zahn 2", "Ford 4", 30)
    assert "42 s" in flow("'Ford 4' 30 --to 'Zahn 2'").out
    assert any("give or take" in note for note in got["notes"])


def test_another_cup_out_of_range_keeps_the_viscosity():
    got = values("'Ford 4' 30 --to 'Ford 1'", status=1)
    assert got["viscosity_mm2_s"] == pytest.approx(98.21, abs=0.01)
    assert got["seconds"] is None
    assert got["in_range"] is False
    assert "Ford 1" in got["why"]


def test_a_viscosity_alone_names_every_cup_that_reads_it():
    got = values("--viscosity 98.21")
    found = {c["cup"]: c["seconds"] for c in got["cups"]}
    assert got["seconds"] is None
    assert got["in_range"] is True
    assert found["Ford 4"] == pytest.approx(30, abs=0.01)
    assert found["Zahn 2"] == pytest.approx(42.06, abs=0.01)
    assert "Ford 5" not in found
    none = values("--viscosity 1e6", status=1)
    assert none["cups"] == []
    assert none["in_range"] is False


@pytest.mark.parametrize(
    "words",
    [
        "'Ford 4' 30",
        "Ford 4 30",
        "ford 4 30s",
        "--json ford4 30",
        "--to 'ford 4' 'Ford 4' 30",
        "'Ford 4' --to 'ford 4' 30",
        "ford --to ford4 4 30",
        "'Ford 4' '0.5 min'",
    ],
)
def test_the_words_may_stand_anywhere(words):
    said = flow(words, *([] if "--json" in words else ["--json"]))
    assert said.values["viscosity_mm2_s"] == pytest.approx(98.21, abs=0.01)


def test_units_of_viscosity():
    """1 St = 100 mm2/s = 100 cSt (NIST SP 811 appendix B.8)."""
    for typed in ("98.21", "98.21mm2/s", "98.21 cSt", "0.9821 St"):
        assert values(f"--viscosity '{typed}' 'ford 4'")["seconds"] == pytest.approx(30, abs=0.01)


class TestAdvice:
    def test_against_the_card(self):
        assert "too thick" in values("'Ford 4' 30 --wanted 20 --gun mini")["advice"]
        assert "mini gun" in values("'Ford 4' 30 --wanted 20 --gun mini")["advice"]
        assert "too thin" in values("'Ford 4' 21 --wanted 30s")["advice"]
        assert "right" in values("'Ford 4' 21 --wanted 20s")["advice"]
        assert values("'Ford 4' 21")["advice"] == ""

    def test_a_card_may_ask_for_less_than_the_cup_reads(self):
        got = values("'Ford 4' 16 --wanted 16", status=1)
        assert "right" in got["advice"]
        assert got["in_range"] is False

    def test_temperature(self):
        assert "warmer" in values("'Ford 4' 30 --temperature 30C")["temperature"]
        assert "colder" in values("'Ford 4' 30 --temperature 59F")["temperature"]
        assert values("'Ford 4' 30 --temperature 77F")["temperature"] == ""  # 25 degC, the cup's own (ASTM D1200)
        assert "colder" in flow("'Ford 4' 30 --temperature -5C").out


@pytest.mark.parametrize(
    ("words", "told"),
    [
        ("", "Ford 4"),
        ("30", "seconds"),
        ("'Ford 4'", "seconds"),
        ("teacup 30", "teacup"),
        ("'Ford 9' 30", "Ford"),
        ("'4 mm' 30", "standard"),
        ("'Ford 4' thirty", "thirty"),
        ("'Ford 4' -30", "below zero"),
        ("'Ford 4' 0", "above zero"),
        ("'Ford 4' nan", "nan"),
        ("'Ford 4' 30 --to spoon", "spoon"),
        ("'Ford 4' 30 --wanted 0", "above zero"),
        ("'Ford 4' 30 --wanted soon", "soon"),
        ("'Ford 4' 30 --gun brush", "airbrush"),
        ("'Ford 4' 30 --temperature hot", "hot"),
        ("'Ford 4' 30 --temperature 20", "unit"),
        ("'Ford 4' 30 --temperature -300C", "absolute zero"),
        ("--viscosity 0", "zero"),
        ("--viscosity -5", "zero"),
        ("--viscosity thick", "thick"),
        ("--viscosity 5kg", "viscosity"),
        ("--viscosity 98 'Ford 4' --to 'Ford 3'", "one cup"),
        ("--viscosity 98 'Ford 4' --wanted 30", "--wanted"),
        ("--viscosity 98 'Ford 4' 30", "cup"),
        ("'Ford 4' 30 --colour red", "--colour"),
    ],
)
def test_input_that_is_no_use_is_one_line(words, told):
    for form in ([], ["--json"]):
        said = flow(words, *form)
        assert said.status == 2
        assert said.err.startswith("benchtool flow: ")
        assert "worked out" not in said.err
        assert told in said.err
