"""Grades of adhesion and hardness against the limits that the standards print."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from benchtool.trade.grades import (
    BY_AREA,
    PENCILS,
    FailurePlace,
    Method,
    NotAGrade,
    NotAMethod,
    astm_d3359_b,
    classes_of,
    codes,
    doubt,
    failure_code,
    flaked_squares,
    held,
    iso_2409,
    read_grade,
    read_method,
    scale,
    score,
)
from benchtool.trade.saying import speak

PERCENT = st.floats(0, 100) | st.sampled_from([0.0, 5.0, 15.0, 35.0, 65.0, 100.0])
SIX = [m for m in Method if len(codes(m)) == 6]
PENCIL_TESTS = [m for m in Method if m not in SIX]


@pytest.fixture
def spoken():
    yield speak
    speak({})


@pytest.mark.parametrize(
    ("percent", "class_"),
    [
        # ISO 2409 clause 9: "not greater than" 5, 15, 35 %; the limit of 65 % of class 4 is from memory
        (0, "0"), (0.01, "1"), (4, "1"), (5, "1"), (5.01, "2"), (15, "2"), (15.01, "3"), (20, "3"), (35, "3"),
        (35.01, "4"), (50, "4"), (65, "4"), (65.01, "5"), (100, "5"),
    ],
)  # fmt: skip
def test_iso_2409(percent, class_):
    assert iso_2409(percent) == class_


@pytest.mark.parametrize(
    ("percent", "grade"),
    [
        # ASTM D3359 method B: none; less than 5; 5 to 15; 15 to 35; 35 to 65; greater than 65 %
        (0, "5B"), (0.01, "4B"), (4.99, "4B"), (5, "3B"), (10, "3B"), (14.99, "3B"), (15, "2B"), (25, "2B"),
        (34.99, "2B"), (35, "1B"), (50, "1B"), (65, "1B"), (65.01, "0B"), (80, "0B"), (100, "0B"),
    ],
)  # fmt: skip
def test_astm_d3359_b(percent, grade):
    assert astm_d3359_b(percent) == grade


@pytest.mark.parametrize("percent", [-0.001, 100.001, math.nan, math.inf, -math.inf])
@pytest.mark.parametrize("of", [iso_2409, astm_d3359_b, lambda p: classes_of(Method.ISO_2409, p)])
def test_no_percentage(of, percent):
    with pytest.raises(NotAGrade, match="from 0 to 100"):
        of(percent)


def test_the_two_standards_agree_off_the_limits_alone():
    for tenth in range(1001):
        percent = tenth / 10
        same = iso_2409(percent) == str(5 - int(astm_d3359_b(percent)[0]))
        assert same == (percent not in (5, 15, 35)), percent


@given(PERCENT, PERCENT)
def test_more_off_is_never_a_better_class(a, b):
    less, more = sorted((a, b))
    assert score(Method.ISO_2409, iso_2409(less)) >= score(Method.ISO_2409, iso_2409(more))
    assert score(Method.D3359_B, astm_d3359_b(less)) >= score(Method.D3359_B, astm_d3359_b(more))


@given(PERCENT, st.floats(0, 120), st.floats(0, 1), st.sampled_from(BY_AREA))
def test_candidates_are_all_that_the_interval_touches(percent, points, at, method):
    found = classes_of(method, percent, points)
    of = iso_2409 if method is Method.ISO_2409 else astm_d3359_b
    low, high = max(0.0, percent - points), min(100.0, percent + points)
    inside = min(high, low + at * (high - low))
    assert {of(percent), of(inside), of(low), of(high)} <= set(found)
    scores = [score(method, code) for code in found]
    assert scores == list(range(scores[0], scores[0] - len(scores), -1))  # best first, none left out
    assert set(found) <= set(classes_of(method, percent, points + 1))


@pytest.mark.parametrize(
    ("method", "percent", "points", "found"),
    [
        (Method.ISO_2409, 5, 0, ("1",)),
        (Method.ISO_2409, 4, 1, ("1",)),
        (Method.ISO_2409, 4, 1.01, ("1", "2")),
        (Method.ISO_2409, 1, 3, ("0", "1")),
        (Method.ISO_2409, 16, 1, ("2", "3")),
        (Method.ISO_2409, 50, 50, ("0", "1", "2", "3", "4", "5")),
        (Method.D3359_B, 4, 0.9, ("4B",)),
        (Method.D3359_B, 4, 1, ("4B", "3B")),
        (Method.D3359_B, 6, 1, ("3B",)),  # 4B is less than 5
        (Method.D3359_B, 15, 0, ("3B", "2B")),
        (Method.D3359_B, 35, 0, ("2B", "1B")),
        (Method.D3359_B, 65, 0, ("1B",)),  # 0B is greater than 65
        (Method.D3359_B, 16, 1, ("3B", "2B")),
        (Method.D3359_B, 66, 1, ("1B", "0B")),
        (Method.D3359_B, 99, 5, ("0B",)),
    ],
)
def test_candidates(method, percent, points, found):
    assert classes_of(method, percent, points) == found
    assert bool(doubt(method, percent, points)) == (len(found) > 1)


@pytest.mark.parametrize("points", [-0.1, math.nan, math.inf])
def test_no_uncertainty(points):
    with pytest.raises(NotAGrade, match="uncertainty"):
        classes_of(Method.D3359_B, 10, points)


def test_only_two_methods_go_by_area():
    for method in set(Method) - set(BY_AREA):
        with pytest.raises(NotAGrade, match="not graded by the area"):
            classes_of(method, 10)


def test_doubt_names_the_classes():
    assert "both 3B and 2B" in doubt(Method.D3359_B, 15)
    assert doubt(Method.ISO_2409, 14, 3).startswith("11 to 17 % may be 2 or 3;")
    assert doubt(Method.ISO_2409, 3, 30).startswith("0 to 33 % may be 0, 1, 2 or 3;")


@pytest.mark.parametrize("method", Method)
def test_scales_run_best_first_and_read_back(method):
    found = scale(method)
    assert tuple(step.code for step in found.steps) == codes(method)
    assert [score(method, step.code) for step in found.steps] == list(range(len(found.steps)))[::-1]
    assert len({step.words for step in found.steps}) == len(found.steps)
    assert found.title
    assert found.source
    for step in found.steps:
        assert step.words.endswith(".")
        for text in (
            step.code,
            step.code.lower(),
            f" {' '.join(step.code)} ",
            f"Grade {step.code}",
            f"class {step.code}",
        ):
            assert read_grade(method, text) == step.code


@pytest.mark.parametrize("method", BY_AREA)
def test_percents_of_the_steps_are_those_of_the_classes(method):
    of = iso_2409 if method is Method.ISO_2409 else astm_d3359_b
    before = 0.0
    for step in scale(method).steps:
        assert step.least == before
        assert of((step.least + step.most) / 2) == step.code
        before = step.most
    assert before == 100


@pytest.mark.parametrize(
    ("code", "seen"),
    [
        # ASTM D3359 method A
        ("5A", "Nothing has peeled"),
        ("4A", "trace"),
        ("3A", "1.6 mm (1/16 in)"),
        ("2A", "3.2 mm (1/8 in)"),
        ("1A", "most of the X"),
        ("0A", "beyond the X"),
    ],
)
def test_astm_d3359_a(code, seen):
    assert seen in {step.code: step.words for step in scale(Method.D3359_A).steps}[code]


def test_pencils_run_as_iso_15184_lists_them():
    listed = "9B - 8B - 7B - 6B - 5B - 4B - 3B - 2B - B - HB - F - H - 2H - 3H - 4H - 5H - 6H - 7H - 8H - 9H"
    assert list(PENCILS[::-1]) == listed.split(" - ")


@pytest.mark.parametrize(
    ("softer", "harder"), [("2B", "HB"), ("F", "H"), ("9B", "6B"), ("2H", "9H"), ("below 9B", "9B")]
)
def test_harder_pencils_score_higher(softer, harder):  # ISO 15184
    assert score(Method.PENCIL_ISO, softer) < score(Method.PENCIL_ISO, harder)


@pytest.mark.parametrize("method", [Method.PENCIL_GOUGE, Method.PENCIL_SCRATCH])
def test_astm_d3363_has_fourteen_pencils(method):
    assert codes(method)[0] == "6H"
    assert codes(method)[-2:] == ("6B", "below 6B")
    assert len(codes(method)) == 14 + 1
    for outside in ("7H", "7B", "9B"):
        with pytest.raises(NotAGrade, match="the pencils 6B to 6H, or below 6B"):
            read_grade(method, outside)


@pytest.mark.parametrize(
    ("method", "text", "code"),
    [
        (Method.ISO_2409, "Gt 3", "3"),
        (Method.ISO_2409, "ISO class 1", "1"),
        (Method.ISO_2409, "1.0", "1"),
        (Method.ISO_2409, "２", "2"),
        (Method.D3359_B, "5 b", "5B"),
        (Method.D3359_A, "grade: 4a", "4A"),
        (Method.PENCIL_ISO, "1h", "H"),
        (Method.PENCIL_ISO, "hb", "HB"),
        (Method.PENCIL_ISO, "pencil 2 H", "2H"),
        (Method.PENCIL_ISO, "<9b", "below 9B"),
        (Method.PENCIL_GOUGE, "softer than 6B", "below 6B"),
    ],
)
def test_forgiving(method, text, code):
    assert read_grade(method, text) == code


@pytest.mark.parametrize(
    ("method", "text"),
    [
        (Method.D3359_B, "3.5B"), (Method.D3359_B, "3,5 B"), (Method.D3359_B, "4B/5B"), (Method.D3359_B, "4B+"),
        (Method.D3359_B, "4-5B"), (Method.D3359_B, "3½B"), (Method.D3359_A, "4A or 3A"), (Method.ISO_2409, "1-2"),
        (Method.ISO_2409, "1 to 2"), (Method.ISO_2409, "2.5"), (Method.ISO_2409, "1–2"), (Method.STICK, "3-4"),
        (Method.PENCIL_ISO, "H-2H"), (Method.PENCIL_ISO, "HB/F"),
    ],
)  # fmt: skip
def test_nothing_in_between(method, text):  # ASTM D3359-23 5.2 for the tape tests
    with pytest.raises(NotAGrade, match="lies between grades"):
        read_grade(method, text)


@pytest.mark.parametrize(
    ("method", "text"),
    [
        (Method.ISO_2409, "6"), (Method.ISO_2409, "5B"), (Method.ISO_2409, "-1"), (Method.D3359_B, "6B"),
        (Method.D3359_B, "4A"), (Method.D3359_A, "4B"), (Method.PENCIL_ISO, "10H"), (Method.PENCIL_ISO, "3F"),
        (Method.NAIL, "good"), (Method.STICK, "below 9B"), (Method.ISO_2409, "<1"), (Method.PENCIL_ISO, "F" * 500),
    ],
)  # fmt: skip
def test_outside_the_scale(method, text):
    with pytest.raises(NotAGrade, match="is no grade of") as fault:
        read_grade(method, text)
    assert scale(method).title in str(fault.value)
    assert len(str(fault.value)) < 200


@pytest.mark.parametrize("method", [Method.D3359_A, Method.D3359_B])
def test_a_bare_figure_could_be_an_iso_class(method):
    with pytest.raises(NotAGrade, match=f"write 1{method[-1]} if you mean that"):
        read_grade(method, "1")


@pytest.mark.parametrize("method", Method)
@given(text=st.text(max_size=30))
def test_any_text_is_a_grade_or_one_sentence(method, text):
    try:
        got = read_grade(method, text)
    except NotAGrade as fault:
        got = str(fault)
    assert got in codes(method) or (got.endswith(".") and len(got.splitlines()) == 1)


@pytest.mark.parametrize("method", Method)
def test_nothing_typed(method):
    with pytest.raises(NotAGrade, match="No grade is written here"):
        read_grade(method, "  ")


def test_what_counts_as_held():
    best_two = {Method.ISO_2409, Method.D3359_A, Method.D3359_B, Method.PLAIN_TAPE}
    for method in Method:
        told = [held(method, code) for code in codes(method)]
        assert told == ([True, True, False, False, False, False] if method in best_two else [None] * len(told))


@pytest.mark.parametrize("method", BY_AREA)
def test_the_picture_of_a_class_is_of_that_class(method):
    of = iso_2409 if method is Method.ISO_2409 else astm_d3359_b
    assert [of(flaked_squares(method, code)) for code in codes(method)] == list(codes(method))


def test_other_pictures():
    for method in SIX:
        assert [flaked_squares(method, code) for code in codes(method)] == [0, 3, 10, 25, 50, 80]
    for method in PENCIL_TESTS:
        with pytest.raises(NotAGrade, match="no picture"):
            flaked_squares(method, "H")


@pytest.mark.parametrize(
    ("place", "layer", "code"),
    [
        # ASTM D4541-17 8.3.1: substrate A, layers B, C, D, glue Y
        (FailurePlace.IN_SUBSTRATE, None, "A"),
        (FailurePlace.SUBSTRATE, None, "A/B"),
        (FailurePlace.LAYER, 1, "B"),
        (FailurePlace.LAYER, 2, "C"),
        (FailurePlace.BETWEEN, 1, "B/C"),
        (FailurePlace.BETWEEN, 2, "C/D"),
        (FailurePlace.NOTHING, None, "-/Y"),
        (FailurePlace.TAPE, 3, "Y"),
        (FailurePlace.LAYER, None, ""),
        (FailurePlace.LAYER, 0, ""),
        (FailurePlace.LAYER, 23, "X"),
        (FailurePlace.LAYER, 24, ""),
        (FailurePlace.BETWEEN, 22, "W/X"),
        (FailurePlace.BETWEEN, 23, ""),
    ],
)
def test_letters_of_a_break(place, layer, code):
    assert failure_code(place, layer) == code


@pytest.mark.parametrize("method", Method)
def test_names_of_methods(method):
    for text in (method, method.upper(), method.replace(" ", ""), method.removeprefix("ASTM "), f" {method} "):
        assert read_method(text) is method


@pytest.mark.parametrize(
    ("text", "method"), [("x-cut", Method.D3359_A), ("nail", Method.NAIL), ("tape", Method.PLAIN_TAPE)]
)
def test_short_names_of_methods(text, method):
    assert read_method(text) is method


@pytest.mark.parametrize("text", ["", "pencil", "D3359", "cross-cut", "ASTM", "ISO"])
def test_no_method(text):
    with pytest.raises(NotAMethod, match="Write one of ISO 2409, ASTM D3359 B"):
        read_method(text)


def test_steps_are_said_in_the_language_of_now(spoken):
    english = scale(Method.NAIL).steps[0].words
    spoken({english: "Kein Abdruck."})
    assert scale(Method.NAIL).steps[0].words == "Kein Abdruck."
