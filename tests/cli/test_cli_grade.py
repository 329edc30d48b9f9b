"""`benchtool grade`: classes against the limits of the standards, scales, instructions and bad input."""

import pytest
from cli.asking import ask
from hypothesis import given
from hypothesis import strategies as st

from benchtool.trade.grades import Method, codes


def values(*words):
    said = ask("grade", *words, "--json")
    assert said.status == 0, said.err
    return said.values


@pytest.mark.parametrize(
    ("percent", "iso", "astm"),
    [
        # ISO 2409 clause 9 (from 35 % on from memory); ASTM D3359 method B
        (0, 0, "5B"), (4, 1, "4B"), (5, 1, "3B"), (10, 2, "3B"), (15, 2, "2B"), (20, 3, "2B"), (25, 3, "2B"),
        (50, 4, "1B"), (65, 4, "1B"), (80, 5, "0B"),
    ],
)  # fmt: skip
@pytest.mark.parametrize("form", ["{}", "{}%", "{} %", "{}.0"])
def test_classes(percent, iso, astm, form):
    got = values("--removed", form.format(percent))
    assert (got["iso_2409"], got["astm_d3359_b"]) == (iso, astm)
    assert got["removed_percent"] == percent


def test_an_uncertainty_gives_candidates():
    got = values("--removed", "14", "--uncertainty", "3")
    assert (got["iso_2409"], got["iso_2409_candidates"]) == (2, [2, 3])
    assert (got["astm_d3359_b"], got["astm_d3359_b_candidates"]) == ("3B", ["3B", "2B"])
    assert "pick one" in got["iso_2409_why"]
    assert "pick one" in got["astm_d3359_b_why"]
    assert values("--removed", "10", "--uncertainty", "2")["astm_d3359_b_why"] == ""
    said = ask("grade", "--removed", "14", "--uncertainty", "3%").out
    assert "may be 2 or 3" in said
    assert "may be 3B or 2B" in said


def test_the_wording_of_method_b_doubts_itself():
    got = values("--removed", "15")
    assert got["astm_d3359_b_candidates"] == ["3B", "2B"]
    assert "both 3B and 2B" in got["astm_d3359_b_why"]
    assert (got["iso_2409_candidates"], got["iso_2409_why"]) == ([2], "")


@given(st.floats(0, 100), st.floats(0, 100))
def test_the_class_is_among_its_candidates(percent, points):
    got = values("--removed", f"{percent:.4f}", "--uncertainty", f"{points:.4f}")
    assert got["iso_2409"] in got["iso_2409_candidates"]
    assert got["astm_d3359_b"] in got["astm_d3359_b_candidates"]


@pytest.mark.parametrize("method", Method)
def test_scales_and_instructions(method):
    got = values("--scale", method)
    assert [step["code"] for step in got["steps"]] == list(codes(method))
    assert got["steps"][0]["words"] in ask("grade", "--scale", method).out
    told = values("--method", method)
    assert told["test"] == method
    shown = ask("grade", "--method", method).out
    assert all(line in shown for line in (*told["lines"], f"Caution: {told['caution']}"))


def test_instructions_for_a_film_and_a_substrate():
    got = values("--method", "iso2409", "--film", "40um", "--substrate", "soft")
    assert (got["cuts"], got["spacing_mm"], got["fits"]) == (6, 2, True)
    assert (got["pull_from_s"], got["pull_until_s"]) == (0, 300)
    got = values("--method", "D3359 B", "--film", "1 mil", "--substrate", "HARD")
    assert (got["cuts"], got["spacing_mm"]) == (11, 1)
    assert (got["pull_from_s"], got["pull_until_s"]) == (60, 120)
    assert values("--method", "D3359 B", "--film", "40")["cuts"] == 11  # um
    said = ask("grade", "--method", "D3359 B", "--film", "150")
    assert "It is not meant for this: ASTM D3359 B is for films up to 125 µm" in said.out
    assert said.status == 0


@pytest.mark.parametrize(
    ("words", "told"),
    [
        ((), "Say what came off"),
        (("--removed", "-1"), "from 0 to 100"),
        (("--removed", "100.1"), "from 0 to 100"),
        (("--removed", "nan"), "no number"),
        (("--removed", "much"), "no number"),
        (("--removed", "3 mm"), "no percentage"),
        (("--removed", "3", "--uncertainty", "-2"), "uncertainty"),
        (("--removed", "3", "--scale", "tape"), "not both"),
        (("--removed", "3", "--film", "80um"), "goes with --method"),
        (("--scale", "tape", "--uncertainty", "2"), "goes with --removed"),
        (("--uncertainty", "2"), "Say what came off"),
        (("--scale", "hammer"), "is no test known here"),
        (("--method", "pencil"), "is no test known here"),
        (("--method", "tape", "--film", "0"), "film of nothing"),
        (("--method", "tape", "--film", "thick"), "--film"),
        (("--method", "tape", "--film", "3 g"), "thickness"),
        (("--method", "tape", "--substrate", "steel"), "Write hard or soft"),
    ],
)
def test_bad_input(words, told):
    said = ask("grade", *words)
    assert said.status == 2
    assert told in said.err
