"""Cups: volumes against integration, exact fractions and published examples; heights as their inverse."""

import math
from fractions import Fraction

import msgspec
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad
from strategies import examples

from benchtool.trade.vessel import LARGEST_MM, SMALLEST_MM, USUAL_CUPS, Cup, NotACup

PI = Fraction("3.14159265358979323846264338327950288419716939937510")

mm = st.floats(1, 400)
tapers = st.builds(Cup, name=st.just("cup"), height_mm=mm, bottom_mm=mm, top_mm=mm)
parts_of_one = st.floats(0, 1)


@st.composite
def graduated(draw: st.DrawFn) -> Cup:
    steps = draw(st.lists(st.tuples(st.floats(0.1, 50), st.floats(0.1, 30)), min_size=1, max_size=8))
    marks, mL, up = [], 0.0, 0.0
    for more_mL, more_mm in steps:
        mL, up = mL + more_mL, up + more_mm
        marks.append((mL, up))
    return Cup(name="cup", height_mm=up + draw(st.floats(0, 20)), bottom_mm=40, top_mm=50, marks=tuple(marks))


cups = st.one_of(tapers, graduated())


def taper(height: float, bottom: float, top: float) -> Cup:
    return Cup(name="cup", height_mm=height, bottom_mm=bottom, top_mm=top)


def full_mm(cup: Cup) -> float:
    return cup.marks[-1][1] if cup.marks else cup.height_mm


def exact_mL(cup: Cup, height: float) -> Fraction:
    """The volume in exact fractions, as a whole cone less its tip, or a cylinder: another road to the figure."""
    h, full, d1, d2 = (Fraction(x) for x in (height, cup.height_mm, cup.bottom_mm, cup.top_mm))
    if d1 == d2:
        return PI / 4 * d1**2 * h / 1000
    level = d1 + (d2 - d1) * h / full
    return PI / 12 * (level**3 - d1**3) * full / (d2 - d1) / 1000


@pytest.mark.parametrize(
    ("height_mm", "one_mm", "other_mm", "cm3"),
    [
        # School textbook (India, class 10, exercise 13.4), a drinking glass, worked with pi = 22/7
        (140, 40, 20, 308 / 3),
        # The same exercise with other numbers: philoid.com question 32078; esaral.com question 53914
        (210, 60, 40, 418),
        (140, 160, 120, 6512 / 3),
    ],
)
def test_glasses_of_school_books(height_mm: float, one_mm: float, other_mm: float, cm3: float) -> None:
    school = cm3 * math.pi / (22 / 7)
    assert taper(height_mm, one_mm, other_mm).capacity_mL == pytest.approx(school, rel=1e-12)
    assert taper(height_mm, other_mm, one_mm).capacity_mL == pytest.approx(school, rel=1e-12)


@pytest.mark.parametrize(
    ("height", "lower", "upper", "volume"),
    [(4.5, 4.8, 4.1, 70.13213), (4.5, 4.1, 3.9, 56.56045), (11, 3.9, 3.2, 109.2306)],
)
def test_logs_of_a_forestry_table(height: float, lower: float, upper: float, volume: float) -> None:
    # nativetreesociety.org, "Computationally equivalent forms of formula for volume of frustum of cone" (feet)
    assert taper(10 * height, 10 * lower, 10 * upper).capacity_mL == pytest.approx(volume, rel=1e-6)


def test_a_straight_cup_by_hand() -> None:
    # pi/4 x 4 cm x 4 cm x 5 cm = 20 pi cm3: arithmetic
    cup = taper(50, 40, 40)
    assert cup.capacity_mL == pytest.approx(20 * math.pi, rel=1e-15)
    assert cup.height_mm_of(8 * math.pi) == pytest.approx(20, rel=1e-15)
    assert cup.width_mm(0) == cup.width_mm(33) == cup.width_mm(50) == 40


def test_a_cone_to_a_point_holds_a_third_of_its_cylinder() -> None:
    # Euclid XII.10; 0.1 mm is as near to a point as a cup may come
    assert taper(90, 0.1, 60).capacity_mL == pytest.approx(math.pi / 12 * 6 * 6 * 9, rel=2e-3)


@examples(150)
@given(tapers, parts_of_one)
def test_a_volume_is_the_integral_of_the_widths(cup: Cup, part: float) -> None:
    level = part * cup.height_mm

    def slice_mm2(at: float) -> float:
        across = cup.bottom_mm * (1 - at / cup.height_mm) + cup.top_mm * at / cup.height_mm
        return math.pi * across**2 / 4

    integral, _ = quad(slice_mm2, 0, level, epsabs=0, epsrel=1e-12)
    assert cup.volume_mL(level) == pytest.approx(integral / 1000, rel=1e-10)


@examples(300)
@given(cups, parts_of_one)
def test_height_and_volume_undo_each_other(cup: Cup, part: float) -> None:
    level = part * full_mm(cup)
    volume = cup.volume_mL(level)
    assert cup.height_mm_of(volume) == pytest.approx(level, rel=1e-9, abs=1e-9)
    assert cup.volume_mL(cup.height_mm_of(part * cup.capacity_mL)) == pytest.approx(part * cup.capacity_mL, rel=1e-9)


@examples(300)
@given(cups, parts_of_one, parts_of_one)
def test_more_paint_stands_higher(cup: Cup, one: float, other: float) -> None:
    low, high = sorted((one, other))
    noise = 1e-12
    assert cup.volume_mL(low * full_mm(cup)) <= cup.volume_mL(high * full_mm(cup)) * (1 + noise)
    assert cup.height_mm_of(low * cup.capacity_mL) <= cup.height_mm_of(high * cup.capacity_mL) * (1 + noise)
    if high - low > 1e-6:
        assert cup.volume_mL(low * full_mm(cup)) < cup.volume_mL(high * full_mm(cup))
        assert cup.height_mm_of(low * cup.capacity_mL) < cup.height_mm_of(high * cup.capacity_mL)


@examples(200)
@given(cups)
def test_an_empty_cup_and_a_full_one(cup: Cup) -> None:
    assert cup.volume_mL(0) == cup.height_mm_of(0) == 0
    assert cup.volume_mL(full_mm(cup)) == pytest.approx(cup.capacity_mL, rel=1e-12)
    assert cup.height_mm_of(cup.capacity_mL) == pytest.approx(full_mm(cup), rel=1e-9)
    assert cup.width_mm(0) == cup.bottom_mm
    assert cup.width_mm(cup.height_mm) == pytest.approx(cup.top_mm)


@pytest.mark.parametrize("wider", [0.0, 1e-14, 1e-12, 1e-9, 1e-6, 1e-3, 1, 30, -1e-12, -1e-9, -1e-6, -1, -30])
@pytest.mark.parametrize("part", [1e-6, 0.1, 0.5, 0.9, 1.0])
def test_a_nearly_straight_cup_keeps_its_digits(wider: float, part: float) -> None:
    # Against exact fractions, in which the difference of two cubes loses nothing.
    cup = taper(64, 50, 50 + wider)
    level = part * 64
    volume = exact_mL(cup, level)
    assert cup.volume_mL(level) == pytest.approx(float(volume), rel=1e-14)
    assert cup.height_mm_of(float(volume)) == pytest.approx(level, rel=1e-14)


@examples(200)
@given(tapers, parts_of_one)
def test_a_cup_upside_down_holds_the_rest(cup: Cup, part: float) -> None:
    turned = taper(cup.height_mm, cup.top_mm, cup.bottom_mm)
    below, above = cup.volume_mL(part * cup.height_mm), turned.volume_mL((1 - part) * cup.height_mm)
    assert below + above == pytest.approx(cup.capacity_mL, rel=1e-9)


MARKED = Cup(name="marked", height_mm=60, bottom_mm=20, top_mm=50, marks=((5, 12), (10, 20), (30, 48)))


@pytest.mark.parametrize(
    ("mL", "up"),
    [(0, 0), (2.5, 6), (5, 12), (7.5, 16), (10, 20), (20, 34), (30, 48)],  # straight lines by hand
)
def test_marks_rule_over_the_diameters(mL: float, up: float) -> None:
    assert MARKED.height_mm_of(mL) == pytest.approx(up, abs=1e-12)
    assert MARKED.volume_mL(up) == pytest.approx(mL, abs=1e-12)


def test_above_the_last_mark_nothing_is_known_but_the_cup_is_still_drawn() -> None:
    assert MARKED.capacity_mL == 30
    assert MARKED.width_mm(60) == 50
    assert MARKED.width_mm(30) == 35
    with pytest.raises(NotACup, match="from 0 to 48"):
        MARKED.volume_mL(50)
    with pytest.raises(NotACup, match="holds 30 mL up to its last mark"):
        MARKED.height_mm_of(31)


def test_a_computed_hair_over_the_brim_is_a_full_cup_and_no_more() -> None:
    cup = taper(50, 45, 58)
    assert cup.height_mm_of(cup.capacity_mL * (1 + 1e-12)) == 50
    assert cup.volume_mL(50 * (1 + 1e-12)) == cup.capacity_mL
    assert MARKED.height_mm_of(30 * (1 + 1e-12)) == 48
    with pytest.raises(NotACup, match=r"^105 mL does not fit: cup holds 104\.\d+ mL to the brim\.$"):
        cup.height_mm_of(105)
    with pytest.raises(NotACup, match="from 0 to 50"):
        cup.volume_mL(50.001)
    with pytest.raises(NotACup, match="from 0 to 50"):
        cup.width_mm(51)


@pytest.mark.parametrize("bad", [-1e-9, -5, math.nan, math.inf, -math.inf])
@pytest.mark.parametrize("cup", [taper(50, 45, 58), MARKED], ids=["taper", "marks"])
def test_a_level_or_an_amount_that_is_none(cup: Cup, bad: float) -> None:
    for ask in (cup.volume_mL, cup.height_mm_of, cup.width_mm):
        with pytest.raises(NotACup) as fault:
            ask(bad)
        assert str(fault.value).endswith(".")


@pytest.mark.parametrize("bad", [0, -40, math.nan, math.inf, 0.09, 10_001])
@pytest.mark.parametrize(
    ("field", "words"), [("height_mm", "height"), ("bottom_mm", "bottom diameter"), ("top_mm", "top diameter")]
)
def test_a_size_that_is_none_names_its_field(field: str, words: str, bad: float) -> None:
    sizes = {"height_mm": 60.0, "bottom_mm": 45.0, "top_mm": 58.0} | {field: bad}
    with pytest.raises(NotACup) as fault:
        Cup(name="cup", **sizes)
    said = str(fault.value)
    assert said.startswith(f"The {words} ")
    assert one_sentence(said)


@pytest.mark.parametrize("edge", [SMALLEST_MM, LARGEST_MM])
def test_the_smallest_and_the_largest_size_are_sizes(edge: float) -> None:
    assert taper(edge, edge, edge).capacity_mL == pytest.approx(math.pi / 4 * edge**3 / 1000)


@pytest.mark.parametrize(
    ("marks", "words"),
    [
        (((0, 0), (5, 10)), "Mark 1 does not rise above the bottom"),
        (((5, 0),), "Mark 1 does not rise above the bottom"),
        (((0, 3),), "Mark 1 does not rise above the bottom"),
        (((-5, 10),), "Mark 1 does not rise above the bottom"),
        (((5, 10), (5, 20)), "Mark 2 does not rise above mark 1"),
        (((5, 10), (10, 10)), "Mark 2 does not rise above mark 1"),
        (((5, 10), (10, 20), (8, 30)), "Mark 3 does not rise above mark 2"),
        (((5, 10), (10, 60.5)), "Mark 2 stands 60.5 mm up and the height of the cup is 60 mm"),
        (((math.nan, 10),), "Mark 1 is no number"),
        (((5, 10), (10, math.nan)), "Mark 2 is no number"),
        (((5, 10), (math.inf, 20)), "Mark 2 is no number"),
    ],
)
def test_marks_that_do_not_rise(marks: tuple[tuple[float, float], ...], words: str) -> None:
    with pytest.raises(NotACup) as fault:
        Cup(name="cup", height_mm=60, bottom_mm=45, top_mm=58, marks=marks)
    assert str(fault.value).startswith(words)
    assert one_sentence(str(fault.value))


def test_a_mark_at_the_brim_is_a_mark() -> None:
    assert Cup(name="cup", height_mm=60, bottom_mm=45, top_mm=58, marks=((90, 60),)).capacity_mL == 90


@pytest.mark.parametrize("name", ["", "  "])
def test_a_cup_without_a_name(name: str) -> None:
    with pytest.raises(NotACup, match="name of the cup is empty"):
        Cup(name=name, height_mm=60, bottom_mm=45, top_mm=58)


def test_a_long_name_is_cut_in_a_message() -> None:
    cup = Cup(name="cup " * 500, height_mm=60, bottom_mm=45, top_mm=58)
    with pytest.raises(NotACup) as fault:
        cup.height_mm_of(1e300)
    assert len(str(fault.value)) < 200


def test_a_cup_goes_through_a_file_and_a_bad_one_does_not() -> None:
    for cup in (*USUAL_CUPS, MARKED):
        assert msgspec.json.decode(msgspec.json.encode(cup), type=Cup) == cup
    with pytest.raises(msgspec.ValidationError, match="bottom diameter"):
        msgspec.json.decode(b'{"name": "cup", "height_mm": 60, "bottom_mm": 0, "top_mm": 58}', type=Cup)


def test_the_usual_cups_hold_about_what_their_names_say() -> None:
    for cup in USUAL_CUPS:
        named = float(cup.name.partition(" ")[0])
        assert named <= cup.capacity_mL <= 1.1 * named
    assert len({cup.name for cup in USUAL_CUPS}) == len(USUAL_CUPS)


def one_sentence(said: str) -> bool:
    """One full stop, at the end; a point inside a figure is none."""
    return said.endswith(".") and ". " not in said and len(said) < 200
