"""`benchtool mix`: its sums, its keys, and what it says to input that is no use."""

import itertools
import shlex

import pytest
from cli.asking import ask, assert_sound
from hypothesis import given, settings
from hypothesis import strategies as st

RECIPE = shlex.split("--part base=100 --part activator=2%base --part reducer=1xactivated")
NUMBER, TEXT = (int, float), str
KEYS = {
    "name": TEXT,
    "kind": TEXT,
    "share": TEXT,
    "want_mL": NUMBER,
    "want_g": NUMBER,
    "poured_mL": NUMBER,
    "typed": TEXT,
    "understood": TEXT,
    "percent_of_base": NUMBER,
    "off_percent": NUMBER,
    "add_mL": NUMBER,
}


def mix(words, *more):
    return ask("mix", *shlex.split(words), *more)


def by_name(values):
    return {p["name"]: p for p in values["parts"]}


def test_the_check_value_of_a_wrong_pour():
    """Common practice, no source: a thumb's width of base against 1 mL of a 2 % activator.

    By hand: 100 + 2 + 102 parts in 30 mL; a US fluid ounce is 29.5735 mL (NIST Handbook 44, appendix C), so
    1 mL is 3.38 % of it where 2 % is asked for, and 1 mL is 2 % of 50 mL of base.
    """
    said = ask("mix", *RECIPE, *shlex.split("--make 30mL --poured base=1floz --poured activator=1mL --json"))
    values = said.values
    parts = by_name(values)
    assert said.status == 1
    assert values["in_tolerance"] is False
    assert values["total_mL"] == pytest.approx(30)
    assert [p["want_mL"] for p in values["parts"]] == pytest.approx([14.706, 0.294, 15.0], abs=5e-4)
    assert parts["activator"]["percent_of_base"] == pytest.approx(3.38, abs=5e-3)
    assert parts["activator"]["off_percent"] == pytest.approx(69.07, abs=5e-3)
    assert parts["base"]["add_mL"] == pytest.approx(20.43, abs=5e-3)
    assert parts["activator"]["add_mL"] == 0
    assert parts["reducer"]["add_mL"] == pytest.approx(51)  # as much as 50 mL base and 1 mL activator
    assert values["poured_total_mL"] == pytest.approx(30.5735, abs=1e-4)
    assert values["mended_total_mL"] == pytest.approx(102)


def test_the_keys_and_their_types():
    for more_words in ("", "--poured base=20mL --density base=1.2"):
        values = ask("mix", *RECIPE, "--make", "30mL", "--json", *shlex.split(more_words)).values
        assert {"parts", "total_mL", "in_tolerance"} <= set(values)
        assert isinstance(values["total_mL"], NUMBER)
        assert isinstance(values["in_tolerance"], bool)
        assert all(isinstance(n, str) for n in values["notes"])
        for part in values["parts"]:
            more = {"add_enough_mL"} if "--poured" in more_words else set()
            assert set(part) - {"why"} == set(KEYS) | more
            for key, kind in KEYS.items():
                assert part[key] is None or (isinstance(part[key], kind) and not isinstance(part[key], bool)), key
        assert [p["name"] for p in values["parts"]] == ["base", "activator", "reducer"]
        assert [p["kind"] for p in values["parts"]] == ["base", "activator", "reducer"]


def test_before_anything_is_poured():
    values = ask("mix", *RECIPE, "--make", "30mL", "--density", "base=1.5", "--json").values
    parts = by_name(values)
    for part in parts.values():
        assert part["poured_mL"] is part["off_percent"] is part["add_mL"] is None
        assert "nothing poured yet" in part["why"]
    assert parts["base"]["why"] == "nothing poured yet"
    assert values["in_tolerance"] is True
    assert parts["base"]["want_g"] == pytest.approx(22.0588, abs=1e-4)  # 14.7059 mL of 1.5 g/mL
    assert parts["reducer"]["want_g"] is None
    assert "no density" in parts["reducer"]["why"]
    assert [p["percent_of_base"] for p in values["parts"]] == pytest.approx([100, 2, 102])


def test_a_mix_with_no_base_says_why_it_has_no_share_of_it():
    (one, two) = mix("--part hardener=1 --part thinner=3 --make 8mL --json").values["parts"]
    assert one["percent_of_base"] is None
    assert "no base" in one["why"]
    assert (one["want_mL"], two["want_mL"]) == (2, 6)


@pytest.mark.parametrize(
    ("amount", "mL"),
    [
        # NIST Handbook 44 appendix C (US); UK Weights and Measures Act 1985 schedule 1 (imperial)
        ("1 fl oz", 29.5735295625),
        ("1 US fl oz", 29.5735295625),
        ("1 imperial fl oz", 28.4130625),
        ("1 imp pint", 568.26125),
        ("1/2 US pint", 236.5882365),
        ("30 cc", 30.0),
        ("1.5 L", 1500.0),
    ],
)
def test_ounces_are_never_confused(amount, mL):
    said = mix("--ratio 1:1 --json", "--make", amount)
    assert said.values["total_mL"] == pytest.approx(mL, rel=1e-9)
    imperial = "imp" in amount
    assert ("imperial" in said.values["make_understood"]) is imperial
    assert "imperial" in mix("--ratio 1:1", "--make", amount).out or not imperial


def test_a_ratio_names_its_parts():
    values = mix("--ratio 4:2:1:0.5:0.5 --make 80mL --json").values
    assert [(p["name"], p["kind"], p["want_mL"]) for p in values["parts"]] == [
        ("base", "base", 40),
        ("activator", "activator", 20),
        ("reducer", "reducer", 10),
        ("additive", "additive", 5),
        ("additive 2", "additive", 5),
    ]


def test_a_waterborne_base_is_no_water():
    values = mix(
        "--part 'waterborne base=100' --part 'paint thinner=5%base' --part water=10%base --make 23mL --json"
    ).values
    assert [(p["kind"], p["want_mL"]) for p in values["parts"]] == [
        ("base", pytest.approx(20)),
        ("reducer", pytest.approx(1)),
        ("reducer", pytest.approx(2)),
    ]


def test_by_weight_where_every_part_has_a_density():
    """By hand: 3 mL of 1.2 g/mL and 1 mL of 0.8 g/mL weigh 4.4 g, so 44 g are 30 mL and 10 mL."""
    dense = "--ratio 3:1 --density base=1.2 --density activator=0.8g/mL"
    values = mix(f"{dense} --make 44g --json").values
    assert values["total_mL"] == pytest.approx(40)
    assert [p["want_mL"] for p in values["parts"]] == pytest.approx([30, 10])
    assert [p["want_g"] for p in values["parts"]] == pytest.approx([36, 8])
    poured = mix(f"{dense} --make 44g --poured base=36g --poured ACTIVATOR=8g --json").values
    assert [p["poured_mL"] for p in poured["parts"]] == pytest.approx([30, 10])
    assert poured["in_tolerance"] is True


def test_without_a_size_the_cup_sets_it():
    said = mix("--ratio 4:1 --poured base=20mL --json")
    values = said.values
    assert said.status == 0
    assert [p["want_mL"] for p in values["parts"]] == pytest.approx([20, 5])
    assert values["total_mL"] == values["mended_total_mL"] == pytest.approx(25)
    assert values["notes"]
    assert "why" in values["parts"][1]
    assert by_name(values)["activator"]["add_mL"] == pytest.approx(5)


def test_a_cup_that_falls_short_says_so():
    assert mix("--ratio 4:1 --make 50mL --poured base=20mL --json").values["notes"]
    assert mix("--ratio 4:1 --make 25mL --poured base=20mL --json").values["notes"] == []


@pytest.mark.parametrize(("activator", "status"), [("1.09mL", 0), ("1.11mL", 1), ("0.91mL", 0), ("0.89mL", 1)])
def test_an_activator_may_be_a_tenth_off(activator, status):
    """Common practice, no source: 10 % for an activator."""
    assert mix(f"--ratio 100:1 --make 101mL --poured base=100mL --poured activator={activator}").status == status


@given(
    st.lists(st.floats(0.01, 1000), min_size=2, max_size=5),
    st.lists(st.floats(0.1, 900), min_size=2, max_size=5),
)
@settings(max_examples=60, deadline=None)
def test_what_mends_a_cup_mends_it(ratio, poured):
    names = [
        p["name"] for p in ask("mix", "--ratio", ":".join(map(str, ratio)), "--make", "1mL", "--json").values["parts"]
    ]
    said = ask("mix", *_cup(ratio, names, poured), "--json")
    total, parts = said.values["mended_total_mL"], said.values["parts"]
    if total > 900_000:
        return  # more than a cup may hold: the second question would be refused
    mended = [(p["poured_mL"] or 0) + p["add_mL"] for p in parts]
    again = ask("mix", *_cup(ratio, names, mended), "--json")
    assert again.status == 0
    assert all(p["off_percent"] == pytest.approx(0, abs=1e-6) for p in again.values["parts"])
    assert sum(mended) == pytest.approx(total)
    # nothing is taken out, and the part furthest over gets nothing more: a smaller cup would not do
    assert min(p["add_mL"] for p in parts) == 0


def _cup(ratio, names, poured):
    pours = [w for n, p in zip(names, poured, strict=False) for w in ("--poured", f"{n}={p}mL")]
    return ["--ratio", ":".join(map(str, ratio)), *pours]


def test_words_for_a_reader():
    said = ask("mix", *RECIPE, *shlex.split("--make 30mL --poured base=1floz --poured activator=1mL"))
    for words in (
        "activator is 69 % over",
        "add 20.4 mL base",
        "Still to pour: 51 mL reducer",
        "102 mL",
        "1 US fluid ounce",
    ):
        assert words in said.out
    assert "safety data sheet" in said.out
    assert "\x1b" not in said.out
    assert said.out.isascii() or "…" in said.out


@pytest.mark.parametrize(
    "words",
    [
        "",
        "--make 30mL",
        "--part base --make 30mL",
        "--part =5 --make 30mL",
        "--part base= --make 30mL",
        "--part base=100 --part base=50 --make 30mL",
        "--part base=100 --part BASE=50 --make 30mL",
        "--part base=0 --make 30mL",
        "--part base=100 --part reducer=0%base --make 30mL",
        "--part base=-5 --make 30mL",
        "--part base=100 --part reducer=-5%base --make 30mL",
        "--part base=100 --part reducer=5% --make 30mL",
        "--part base=100 --part reducer=100%total --make 30mL",
        "--part base=100 --part reducer=60%total --part additive=50%total --make 30mL",
        "--part base=100 --part a=1xb --part b=1xa --make 30mL",
        "--part base=100 --part a=1xa --make 30mL",
        "--part base=100 --part a=1xnobody --make 30mL",
        "--part base=10%total --part reducer=90%total --make 30mL",
        "--part base=nan --make 30mL",
        "--part base=inf --make 30mL",
        "--part base=1e400 --make 30mL",
        "--part base=1e-400 --make 30mL",
        "--part base=1,000 --make 30mL",
        "--part base=1e300 --part reducer=1e-300 --make 30mL",
        "--part base=1e308 --part reducer=1e308 --make 30mL",
        "--part base=100 --part reducer=1e300:1e-300base --make 30mL",
        "--part base=100",
        "--part base=100 --make 30",
        "--part base=100 --make 30parsec",
        "--part base=100 --make 30s",
        "--part base=100 --make 30oz",
        "--part base=100 --make 0mL",
        "--part base=100 --make=-3mL",
        "--part base=100 --make -3mL",
        "--part base=100 --make nanmL",
        "--part base=100 --make 1e400mL",
        "--part base=100 --make 1m^9^9^9^9",
        "--part base=100 --make 30g",
        "--part base=100 --part reducer=5 --make 30g --density base=1",
        "--part base=100 --make 30mL --poured base",
        "--part base=100 --make 30mL --poured base=",
        "--part base=100 --make 30mL --poured base=30",
        "--part base=100 --make 30mL --poured base=30g",
        "--part base=100 --make 30mL --poured base=-30mL",
        "--part base=100 --make 30mL --poured base=30parsec",
        "--part base=100 --make 30mL --poured paint=30mL",
        "--part base=100 --make 30mL --poured base=3mL --poured base=3mL",
        "--part base=100 --make 30mL --poured base=3mL --poured BASE=3mL",
        "--part base=1e300 --part x=1e-10 --make 30mL --poured x=1000mL",
        "--part base=100 --poured base=0mL",
        "--part base=100 --make 30mL --density base=heavy",
        "--part base=100 --make 30mL --density base=0",
        "--part base=100 --make 30mL --density base=-1",
        "--part base=100 --make 30mL --density base=0.05",
        "--part base=100 --make 30mL --density base=1050",
        "--part base=100 --make 30mL --density base=1e400",
        "--part base=100 --make 30mL --density base=10lb/gal",
        "--part base=100 --make 30mL --density paint=1",
        "--part base=100 --make 30mL --density base=1 --density base=1",
        "--ratio 4 --make 30mL",
        "--ratio 4:0 --make 30mL",
        "--ratio 4:-1 --make 30mL",
        "--ratio 4:x --make 30mL",
        "--ratio 4:1e400 --make 30mL",
        "--ratio 4:1 --part base=1 --make 30mL",
        "--ratio " + ":".join("1" * 21) + " --make 30mL",
        "--part base=100 --make 30mL --mak 3mL",
        "--part base=100 --make 30mL surplus",
        "--part base=100 --make",
    ],
)
def test_input_that_is_no_use_is_one_line(words):
    for form in ([], ["--json"]):
        said = mix(words, *form)
        assert said.status == 2
        assert said.err.startswith("benchtool mix: ")
        assert "worked out" not in said.err  # no surprise, but a sentence of its own


@pytest.mark.parametrize(
    ("words", "told"),
    [
        ("--part base=100 --make 30", "no unit"),
        ("--part base=100 --make 30oz", "fl oz"),
        ("--part base=100 --part reducer=5 --make 30g --density base=1", "--density"),
        ("--part base=100 --make 30mL --poured base=30g", "--density for base"),
        ("--part base=100 --make 30mL --poured paint=30mL", "“paint”"),
        ("--part base=100 --part base=50 --make 30mL", "twice"),
        ("--part base=100 --part reducer=5% --make 30mL", "of what?"),
        ("--part base=100 --part reducer=0%base --make 30mL", "Leave such a part out"),
        ("--part base=100", "--make 30mL"),
        ("", "--part base=100"),
    ],
)
def test_the_line_says_what_to_write_instead(words, told):
    assert told in mix(words).err


def test_odd_bytes_in_a_name_reach_no_terminal():
    for name in ("ba\x1b[31mse", "ba\udcffse", "ba\nse", "ba\u202ese"):
        for form in ([], ["--json"]):
            out = ask("mix", "--part", f"{name}=1", "--make", "3mL", *form).out
            assert not {"\x1b", "\udcff", "\u202e"} & set(out)
        refused = ask("mix", "--part", name, "--make", "3mL")
        assert refused.status == 2
        assert not {"\x1b", "\udcff", "\u202e"} & set(refused.err)


NAMES = st.sampled_from(["base", "activator", "reducer", "clear", "additive", "x", "", "=", "Base", "ba se", "é\udcff"])
NUMBERS = st.one_of(
    st.floats().map(str),
    st.integers(-3, 300).map(str),
    st.sampled_from(["1/2", "1,5", "1e400", "5e-324", "1e308", "½", ""]),
)
OF = st.sampled_from(["", "%base", "%total", "xactivated", "x base", "% of reducer", ":2 of x", "%", "%activator", "g"])
UNITS = st.sampled_from(["mL", "g", "fl oz", "L", "", "imp pint", "oz", "m^3", "parsec", "gal", " US gal", "kg"])
WORDS = st.one_of(
    st.builds(lambda n, v, o: ["--part", f"{n}={v}{o}"], NAMES, NUMBERS, OF),
    st.builds(lambda n, v, u: ["--poured", f"{n}={v}{u}"], NAMES, NUMBERS, UNITS),
    st.builds(lambda n, v: ["--density", f"{n}={v}"], NAMES, NUMBERS),
    st.builds(lambda v, u: ["--make", f"{v}{u}"], NUMBERS, UNITS),
    st.builds(lambda v: ["--ratio", ":".join(v)], st.lists(NUMBERS, max_size=4)),
    st.just(["--part", "base=100"]),
    st.just(["--make", "30mL"]),
    st.just(["--json"]),
    st.builds(
        lambda o, t: [o, t], st.sampled_from(["--part", "--poured", "--make", "--ratio", "--density"]), st.text()
    ),
)


@given(st.lists(WORDS, max_size=8).map(lambda w: list(itertools.chain(*w))))
@settings(max_examples=400, deadline=None)
def test_no_command_line_breaks_it(argv):
    said = ask("mix", *argv)
    assert "worked out" not in said.err
    if said.status != 2 and "--json" in argv and not said.out.startswith("usage"):
        assert_sound(said.values)


@given(st.lists(st.one_of(st.text(), st.sampled_from(["mix", "check", "--", "--json", "-h"])), max_size=4))
@settings(max_examples=100, deadline=None)
def test_no_words_at_all_break_it(argv):
    said = ask(*(w for w in argv if w != "check"))
    assert "worked out" not in said.err


FAR = st.one_of(st.floats(0.1, 1000), st.floats(min_value=5e-324, max_value=1.7e308))
CUPFUL = st.one_of(st.floats(0.1, 1000), st.floats(min_value=0, max_value=1e6))


@given(
    st.lists(st.tuples(FAR, st.sampled_from(["", "x base", "% of base", "x activated"]), CUPFUL), max_size=4),
    FAR,
    CUPFUL,
)
@settings(max_examples=300, deadline=None)
def test_no_amount_breaks_it(others, first, make):
    names = ["activator", "reducer", "x", "y"]
    argv = ["--part", f"base={first}", "--poured", f"base={make}mL", "--make", f"{make}mL", "--json"]
    for name, (value, of, cupful) in zip(names, others, strict=False):
        argv += ["--part", f"{name}={value}{of}", "--poured", f"{name}={cupful}mL"]
    said = ask("mix", *argv)
    assert "worked out" not in said.err
    if said.status != 2:
        assert said.values["parts"]
        assert ask("mix", *(a for a in argv if a != "--json")).status == said.status
