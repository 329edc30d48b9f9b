"""`benchtool pace`: factors and equivalent ages by published rows, histories as they come, and input that is no use.

Ids such as 6-arr-50-20-10 are rows of the project's reference list (Arrhenius with the CODATA gas constant; ASTM C1074
with Q = 5000 K, which is 41.572 kJ/mol; Carrier's equation of the ASHRAE Handbook, HVAC Applications).
"""

import shlex

import pytest
from cli.asking import ask

C1074 = "--model arrhenius --energy 41.572 --reference 20C"
H1 = "hours,degC\n6,12\n6,15\n6,18\n6,20\n"


def pace(words, *more, stdin=None):
    return ask("pace", *shlex.split(words), *more, stdin=stdin)


def values(words, status=0, stdin=None):
    said = pace(words, "--json", stdin=stdin)
    assert said.status == status, said.err
    return said.values


@pytest.mark.parametrize(
    ("words", "factor", "rel"),
    [
        pytest.param("--model arrhenius --energy 50 --temperature 10C", 2.064, 3e-3, id="6-arr-50-20-10"),
        pytest.param("--model arrhenius --energy '50 kJ/mol' --temperature 30C", 0.508, 3e-3, id="6-arr-50-20-30"),
        pytest.param("--model arrhenius --energy 70kJ/mol --temperature 50F", 2.757, 3e-3, id="6-arr-70-20-10"),
        pytest.param("--model Doubling --temperature 15C", 1.414, 2e-3, id="6-q10-20-15"),
        pytest.param("--model doubling --factor 3 --temperature 10C", 3, 1e-9, id="by hand, tripling"),
        pytest.param("--model evaporation --temperature 10C --humidity 70", 3.174, 0.01, id="6-dalton-1"),
        pytest.param(
            "--model evaporation --temperature 20C --humidity 50 --speed 0.5", 1 / 1.323, 5e-3, id="6-dalton-v"
        ),
        pytest.param("--model table --table 20C=20min --table 10C=40min --temperature 15C", 1.5, 1e-9, id="by hand"),
        pytest.param("--model table --table 50F=40min --table 68F=20min --temperature 59F", 1.5, 1e-9, id="in degF"),
    ],
)
def test_time_factor(words, factor, rel):
    got = values(f"{words} --reference 20C")
    assert got["time_factor"] == pytest.approx(factor, rel=rel)
    assert got["equivalent_age_h"] is None
    assert "history" in got["why"]


def test_the_reference_is_23_degC_unless_told():
    assert values("--model doubling --temperature 13C")["time_factor"] == pytest.approx(2)


def test_careful_in_both_directions():
    warm = values("--model doubling --reference 20C --temperature 30C")
    assert (warm["time_factor"], warm["wait_factor"], warm["deadline_factor"]) == pytest.approx((0.5, 1, 0.5))
    cold = values("--model doubling --reference 20C --temperature 10C")
    assert (cold["time_factor"], cold["wait_factor"], cold["deadline_factor"]) == pytest.approx((2, 2, 1))
    assert cold["words"] == "10 °C below the card's 20: takes 2 times as long"
    assert "puts off no deadline" in cold["deadline_words"]
    table = values("--model table --table 20C=20min --table 30C=10min --reference 20C --temperature 30C")
    assert (table["wait_factor"], table["deadline_factor"]) == pytest.approx((0.5, 0.5))
    surface = values("--model doubling --reference 20C --temperature 20C --surface 10C")
    assert (surface["wait_factor"], surface["deadline_factor"]) == pytest.approx((2, 1))
    fanned = values("--model evaporation --temperature 23C --humidity 75 --speed 5")
    assert fanned["wait_factor"] == pytest.approx(2)
    assert fanned["time_factor"] < 0.5
    assert values("--model evaporation --temperature 23C --humidity 75 --speed 5 --reference-speed 5")[
        "time_factor"
    ] == pytest.approx(2)
    assert values("--model evaporation --reference-humidity 75 --temperature 23C --humidity 75")["wait_factor"] == 1


def test_text_for_a_reader():
    said = pace("--model doubling --reference 21C --temperature 12C")
    assert said.out.splitlines() == [
        "It takes 1.866 times as long as by the card.",
        "A wait: 9 °C below the card's 21: takes 1.9 times as long.",
        "A deadline: 9 °C below the card's 21: that puts off no deadline, the card's time stands.",
        "No sum holds below the least temperature of the card: give it with --least.",
    ]
    assert "A wait: the card's time stands." in pace("--model doubling --temperature 23C").out
    assert "--least" not in pace("--model doubling --temperature 23C").out
    assert "open water" in pace("--model evaporation --temperature 23C --humidity 50").out


@pytest.mark.parametrize(
    ("words", "told"),
    [
        ("--model evaporation --temperature 20C --humidity 99", "never dries"),
        ("--model evaporation --temperature 20C --humidity 100", "never dries"),
        ("--model evaporation --temperature 20C --humidity 60 --surface 5C", "dew point"),
        ("--model arrhenius --energy 50 --least 10C --temperature 5C", "the card asks for"),
    ],
)
def test_what_never_dries_is_no_figure(words, told):
    got = values(words, status=1)
    assert got["time_factor"] is got["wait_factor"] is None
    assert got["deadline_factor"] == 1
    assert told in got["why"]
    assert told in pace(words).out


# --- histories -------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "age_h"),
    [
        pytest.param(H1, 19.51, id="6-hist-h1, stretches"),
        pytest.param("hours,degC\n24,10\n12,25\n12,-2\n", 32.11, id="6-hist-h2, stretches"),
        pytest.param("hours,degC\n0,12\n6,15\n12,18\n18,20\n24,20\n", 19.51, id="6-hist-h1, moments"),
        pytest.param("6,12\n6,15\n6,18\n6,20", 19.51, id="without heads"),
        pytest.param(
            "\ufeffhours;degC\r\n6,0;12,0\r\n\r\n6;15\r\n6;18\r\n6;20\r\n", 19.51, id="decimal commas, a mark"
        ),
        pytest.param("degC\tHOURS\n12\t6\n15\t6\n18\t6\n20\t6\n", 19.51, id="tabs, other order"),
        pytest.param("hours,degC,percent,note\n6,12,40,a\n6,15,50,b\n6,18,60,\n6,20,99,d\n", 19.51, id="more columns"),
        pytest.param("at_hours,degC\n100,12\n106,15\n112,18\n118,20\n124,5\n", 19.51, id="moments from any hour"),
        pytest.param("stretch_hours,degC\n0,5\n6,12\n6,15\n6,18\n6,20\n", 19.51, id="an empty stretch"),
        pytest.param("hours,degC\n0,-9\n0,12\n6,15\n12,18\n18,20\n24,20\n", 19.51, id="twice the same hour"),
        pytest.param('"hours","degC"\n"6","12"\n6,15\n6,18\n6,20\n', 19.51, id="quoted"),
    ],
)
def test_equivalent_age(text, age_h):
    got = values(f"{C1074} --history -", stdin=text)
    assert got["equivalent_age_h"] == pytest.approx(age_h, rel=0.002)
    assert got["time_factor"] is None
    assert "temperature" in got["why"]


def test_a_warm_stretch_counts_for_no_more_than_its_length_toward_a_wait():
    """6-hist-h2 by hand: 24 h at 10 degC, 12 h at 25 and 12 h at -2; the warm 12 h are 16.0 by C1074."""
    got = values(f"{C1074} --history -", stdin="hours,degC\n24,10\n12,25\n12,-2\n")
    warm_h = values(f"{C1074} --history -", stdin="hours,degC\n12,25\n")["equivalent_age_h"]
    assert warm_h == pytest.approx(15.97, rel=0.002)
    assert got["history_h"] == 48
    assert got["wait_age_h"] == pytest.approx(got["equivalent_age_h"] - warm_h + 12)
    text = pace(f"{C1074} --history -", stdin="hours,degC\n24,10\n12,25\n12,-2\n").out.splitlines()
    assert text[0].startswith("The 48 h of the history equal 32.")
    assert text[1].startswith("Toward a wait they count for 28.")


def test_both_at_once_and_a_file(tmp_path):
    file = tmp_path / "night.csv"
    file.write_text(H1, encoding="utf-8")
    got = values(f"{C1074} --temperature 20C --history {shlex.quote(str(file))}")
    assert got["time_factor"] == pytest.approx(1)
    assert got["equivalent_age_h"] == pytest.approx(19.51, rel=0.002)
    assert "why" not in got
    file.write_bytes(b"\xff\xfehours")
    assert "UTF-8" in pace(f"{C1074} --history {shlex.quote(str(file))}").err
    assert "can't be read" in pace(f"{C1074} --history {shlex.quote(str(tmp_path / 'none.csv'))}").err
    assert pace(f"{C1074} --history {shlex.quote(str(tmp_path))}").status == 2


def test_humidity_of_a_history():
    """Half of the deficit is half of the pace; a night at 100 % counts for nothing and is no crash."""
    model = "--model evaporation --reference 20C --history -"
    assert values(model, stdin="hours,degC,percent\n2,20,75\n2,20,100\n")["equivalent_age_h"] == pytest.approx(1)
    assert values(f"{model} --humidity 75", stdin="hours,degC\n2,20\n")["equivalent_age_h"] == pytest.approx(1)
    assert values(model, stdin="hours,degC,percent\n2,20,100\n")["equivalent_age_h"] == 0


def test_a_line_that_is_still_being_written_waits():
    got = values(f"{C1074} --history -", stdin="hours,degC\n6,12\n6,15\n6,18\n6,20\n6")
    assert got["equivalent_age_h"] == pytest.approx(19.51, rel=0.002)
    assert any("Line 6" in note for note in got["notes"])


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("", "empty"),
        ("\n \n", "empty"),
        ("hours,degC\n", "no readings"),
        ("hours,degF\n6,60\n", "hours,degC"),
        ("when,degC\n6,20\n", "hours,degC"),
        ("hours,degC,percent,percent\n6,20,5,5\n", "percent"),
        ("hours,degC\n6,12\n7,15\n", "two ways"),
        ("hours,degC\n0,12\n", "one moment"),
        ("hours,degC\n0,12\n6,15\n5,15\n", "Line 4"),
        ("stretch_hours,degC\n6,12\n-6,15\n", "Line 3"),
        ("hours,degC\n6,0,12,0\n", "semicolons"),
        ("hours,degC\n6\n6,12\n", "Line 2"),
        ("hours,degC\n6,warm\n", "warm"),
        ("hours,degC\n6,nan\n", "nan"),
        ("hours,degC\n6,1_0\n", "1_0"),
        ("hours,degC\n6,\n", "no number"),
        ("hours,degC\n6,400\n", "Line 2"),
        ("hours,degC,percent\n6,20,101\n", "Line 2"),
        ("hours,degC\n1e308,20\n1e308,20\n", "ten years"),
    ],
)
def test_a_history_that_is_none_is_one_line(text, told):
    said = pace(f"{C1074} --history -", stdin=text)
    assert said.status == 2
    assert told in said.err
    assert "worked out" not in said.err


# --- input that is no use --------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("words", "told"),
    [
        ("", "--model"),
        ("--model magic --temperature 10C", "magic"),
        ("--model doubling", "--temperature"),
        ("--model doubling --surface 10C --history x.csv", "--surface"),
        ("--model arrhenius --temperature 10C", "--energy"),
        ("--model arrhenius --energy lots --temperature 10C", "lots"),
        ("--model arrhenius --energy 50000 --temperature 10C", "kJ/mol"),
        ("--model arrhenius --energy 12kcal --temperature 10C", "kJ/mol"),
        ("--model arrhenius --energy -5 --temperature 10C", "kJ/mol"),
        ("--model doubling --energy 50 --temperature 10C", "--model arrhenius"),
        ("--model arrhenius --energy 50 --reference-speed 1 --temperature 10C", "--model evaporation"),
        ("--model doubling --factor 2x --temperature 10C", "2x"),
        ("--model doubling --factor 0.5 --temperature 10C", "factor"),
        ("--model doubling --temperature 10", "unit"),
        ("--model doubling --temperature warm", "warm"),
        ("--model doubling --temperature 400C", "100 °C"),
        ("--model doubling --temperature -300C", "absolute zero"),
        ("--model doubling --reference 300C --temperature 10C", "200"),
        ("--model doubling --least 30C --temperature 10C", "least"),
        ("--model doubling --temperature 10C --humidity 0", "humidity"),
        ("--model doubling --temperature 10C --humidity 101", "humidity"),
        ("--model doubling --temperature 10C --humidity wet", "wet"),
        ("--model evaporation --temperature 10C", "--humidity"),
        ("--model evaporation --temperature 10C --humidity 50 --speed 99", "m/s"),
        ("--model evaporation --temperature 10C --humidity 50 --speed fast", "fast"),
        ("--model evaporation --temperature 10C --humidity 50 --speed 5kg", "5"),
        ("--model evaporation --temperature 10C --humidity 50 --reference-humidity 99", "98"),
        ("--model table --temperature 10C", "--table"),
        ("--model table --table 10C --temperature 10C", "10C=40min"),
        ("--model table --table 10C=soon --temperature 10C", "soon"),
        ("--model table --table 10=40min --temperature 10C", "unit"),
        ("--model table --table 10C=40min --table 20C=50min --temperature 10C", "more time"),
        ("--model table --table 10C=40min --table 50F=40min --temperature 10C", "once"),
        ("--model doubling --temperature 10C --colour red", "--colour"),
        ("--model doubling --history -", "standard input"),
    ],
)
def test_input_that_is_no_use_is_one_line(words, told):
    for form in ([], ["--json"]):
        said = pace(words, *form)
        assert said.status == 2
        assert said.err.startswith("benchtool pace: ")
        assert "worked out" not in said.err
        assert told in said.err
