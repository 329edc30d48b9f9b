"""Scale targets: one tare, then each part up to a figure that the display can show."""

import math
from itertools import pairwise
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from benchtool.trade.measuring import NotATool, Tool, ToolKind
from benchtool.trade.mixing import NotAShare, Part, PartKind, amounts_mL, fractions, measured_by, parse_share
from benchtool.trade.ratios import sizes
from benchtool.trade.weighing import MissingDensity, smallest_weighed_mL, weigh

LAW = settings(max_examples=200, deadline=None, derandomize=True, database=None)
BASE, ACTIVATOR, REDUCER = PartKind.BASE, PartKind.ACTIVATOR, PartKind.REDUCER
SCALE = Tool(name="bench scale", kind=ToolKind.SCALE, step=0.1, capacity=500)


def part(name: str, kind: PartKind, share: str, density: float | None) -> Part:
    return Part(name=name, kind=kind, share=parse_share(share), density_g_mL=density)


MIX = (
    part("Base", BASE, "100", 1.25),
    part("Activator", ACTIVATOR, "4:1 of base", 1.05),
    part("Reducer", REDUCER, "10 % of total", 0.87),
)


def test_the_display_is_read_on_after_one_tare() -> None:
    # By hand for 50 mL: 36 mL base x 1.25 is 45.0 g; a quarter of 36 mL is 9 mL x 1.05 or 9.45 g, so 54.4 or 54.5
    # on the display; a tenth of the total of 50 mL is 5 mL x 0.87 or 4.35 g more.
    got = weigh(MIX, 50, SCALE)
    assert [w.want_g for w in got] == pytest.approx([45.0, 9.45, 4.35])
    assert got[0].reading_g == 45.0
    assert got[1].reading_g in (54.4, 54.5)
    assert got[2].reading_g == pytest.approx(got[1].reading_g + 4.35, abs=0.051)
    assert got[0].words == "pour Base until the scale shows 45 g"
    assert [w.error_g for w in got] == pytest.approx([0.05, 0.1, 0.1])
    assert all(w.within for w in got)


def test_the_step_of_the_scale_counts_in_the_ratio() -> None:
    # By hand: 10 g of base and 0.2 g of activator, each 1 g/mL: (0.2 + 0.1) to (10 - 0.05) against 2 %.
    two = (part("Base", BASE, "100", 1.0), part("Activator", ACTIVATOR, "2 % of base", 1.0))
    base, dose = weigh(two, 10.2, SCALE)
    assert (base.g, dose.g, dose.reading_g) == (10, 0.2, 10.2)
    assert dose.off_percent == pytest.approx(0)
    assert dose.worst_percent == pytest.approx(100 * (0.3 / 9.95 / 0.02 - 1))
    assert not dose.within


def test_what_was_poured_is_what_the_rest_goes_by() -> None:
    base, dose, reducer = weigh(MIX, 50, SCALE, {"Base": 50.0})
    assert (base.poured, base.g, base.reading_g, base.words) == (True, 50, 50, "50 g Base is in")
    # 40 mL base: 10 mL or 10.5 g activator; a tenth of the total is 50 / 9 mL or 4.833 g.
    assert dose.reading_g == 60.5
    assert reducer.reading_g == 65.3
    got = weigh(MIX, 50, SCALE, {"Base": 45.0, "Activator": 10.0})
    # The reducer is a ninth of 36 + 9.5238 mL: 4.40 g on top of the 55 g that stand there.
    assert got[2].reading_g == 59.4
    assert got[1].off_percent == pytest.approx(100 * (10 / 9.45 - 1))


def test_a_dose_below_half_a_step_still_gets_one_and_says_how_wrong_it_is() -> None:
    two = (part("Base", BASE, "100", 1.0), part("Activator", ACTIVATOR, "2 % of base", 1.0))
    base, dose = weigh(two, 1.02, SCALE)
    assert (base.reading_g, dose.reading_g) == (1.0, 1.1)
    assert dose.off_percent == pytest.approx(400)
    assert not dose.within


@pytest.mark.parametrize("name", ["Base", "Activator", "Reducer"])
def test_a_missing_density_names_the_value_to_fill_in(name: str) -> None:
    parts = [part(p.name, p.kind, p.share.words(), None if p.name == name else 1.0) for p in MIX]
    with pytest.raises(MissingDensity) as fault:
        weigh(parts, 50, SCALE)
    assert fault.value.part == name
    assert str(fault.value) == f"The card gives no density for {name}: fill in its density (g/mL) to weigh it."


def test_what_can_not_be_weighed_is_refused_in_a_sentence() -> None:
    with pytest.raises(NotATool, match="is no scale"):
        weigh(MIX, 50, Tool(name="cup", kind=ToolKind.CUP, step=5, capacity=100))
    with pytest.raises(NotATool, match="bears 500 g"):
        weigh(MIX, 5_000, SCALE)
    with pytest.raises(NotAShare, match="no such part"):
        weigh(MIX, 50, SCALE, {"Salt": 1})
    for wrong in (-1, math.nan, math.inf):
        with pytest.raises(NotAShare, match="zero g or more"):
            weigh(MIX, 50, SCALE, {"Base": wrong})


def test_the_smallest_batch_a_scale_keeps() -> None:
    two = (part("Base", BASE, "100", 1.0), part("Activator", ACTIVATOR, "2 % of base", 1.0))
    # By hand, the dose up to 0.1 g more and the base 0.05 g less: of 60 mL, 58.8 g of base and 1.2 g, (1.2 + 0.1) to
    # 58.75 is 10.6 % over 2 %; of 65 mL, 63.7 g and 1.3 g, 1.4 to 63.65 is 9.98 %. 50 and 55 mL are as far out.
    assert smallest_weighed_mL(two, 12, SCALE) == 65
    least = smallest_weighed_mL(two, 65, SCALE)
    assert least is not None
    assert least > 65
    # 5 g of a dose in 250 g: a scale that bears 200 g never gets there, and one with a step of 10 kg neither.
    assert smallest_weighed_mL(two, 12, Tool(name="s", kind=ToolKind.SCALE, step=0.5, capacity=200)) is None
    assert smallest_weighed_mL(two, 5_000, SCALE) is None
    assert smallest_weighed_mL(two, 600, SCALE) is None
    with pytest.raises(NotATool, match="is no scale"):
        smallest_weighed_mL(two, 12, Tool(name="cup", kind=ToolKind.CUP, step=5, capacity=100))
    with pytest.raises(NotAShare):
        smallest_weighed_mL(two, 0, SCALE)
    with pytest.raises(MissingDensity):
        smallest_weighed_mL((two[0], part("Activator", ACTIVATOR, "2 % of base", None)), 12, SCALE)


def test_nothing_allowed_has_room_for_the_noise_of_a_float() -> None:
    # 4.3 of 43 is a tenth but for a few parts in 1e16.
    exact = Tool(name="s", kind=ToolKind.SCALE, step=0.1, capacity=500, error=0.0)
    two = (
        part("Base", BASE, "100", 1.0),
        Part(name="Activator", kind=ACTIVATOR, share=parse_share("10 % of base"), density_g_mL=1.0, tolerance=0.0),
    )
    assert all(all(w.within for w in weigh(two, 11 * tens, exact)) for tens in range(1, 40))


def test_a_part_of_which_nothing_goes_in_needs_no_density() -> None:
    got = weigh((*MIX[:2], part("Reducer", REDUCER, "0 % of base", None)), 50, SCALE)
    assert (got[2].g, got[2].reading_g, got[2].words) == (0, got[1].reading_g, "no Reducer goes in")
    assert got[2].within


@st.composite
def mixes(draw: Any) -> tuple[Part, ...]:
    density = st.floats(0.7, 1.8)
    by = st.sampled_from(["", " by weight"])
    lines = [part("Base", BASE, "100" + draw(by), draw(density))]
    lines.append(part("Activator", ACTIVATOR, f"{draw(st.integers(1, 60))} % of base{draw(by)}", draw(density)))
    for name in ("Reducer", "Slow")[: draw(st.integers(0, 2))]:
        of = draw(st.sampled_from(["activated", "total", "base"]))
        lines.append(part(name, REDUCER, f"{draw(st.integers(1, 40))} % of {of}{draw(by)}", draw(density)))
    return tuple(lines)


SCALES = st.sampled_from([0.01, 0.1, 0.5, 1.0]).map(
    lambda step: Tool(name="scale", kind=ToolKind.SCALE, step=step, capacity=10_000)
)


@LAW
@given(mixes(), st.floats(1, 500), SCALES)
def test_targets_rise_by_whole_steps_and_each_part_is_within_half_a_step_of_what_the_cup_asks_for(
    parts: tuple[Part, ...], make: float, scale: Tool
) -> None:
    got = weigh(parts, make, scale)
    readings = [0.0, *(w.reading_g for w in got)]
    assert all(b > a for a, b in pairwise(readings))
    assert all(r / scale.step == pytest.approx(round(r / scale.step), abs=1e-6) for r in readings)
    assert sum(w.g for w in got) == pytest.approx(readings[-1])
    shares, ideal = fractions(parts), amounts_mL(parts, make)
    mL = [w.g / (p.density_g_mL or 0) for w, p in zip(got, parts, strict=True)]
    step, base_g = scale.step, ideal[0] * (parts[0].density_g_mL or 0)
    assert got[0].g == pytest.approx(max(base_g, step), abs=step / 2 + 1e-9)
    for i, (p, w) in enumerate(zip(parts, got, strict=True)):
        if i == 0:
            continue
        by = measured_by(parts, i)
        target = shares[i] / sum(shares[j] * c for j, c in by.items())
        # what it is measured by, as weighed; parts that come later stand at their share of the base as weighed
        rest = sum(c * (mL[j] if j < i else shares[j] * mL[0] / shares[0]) for j, c in by.items() if j != i)
        asked_g = target * rest / (1 - target * by.get(i, 0.0)) * (p.density_g_mL or 0)
        assert w.g == pytest.approx(max(asked_g, step), abs=step / 2 + 1e-6 * make)


@LAW
@given(mixes(), st.floats(1, 200), SCALES)
def test_the_smallest_batch_is_kept_and_no_size_before_it_is(parts: tuple[Part, ...], make: float, scale: Tool) -> None:
    least = smallest_weighed_mL(parts, make, scale)
    for size in sizes(make):
        kept = all(w.within for w in weigh(parts, size, scale))
        assert kept is (size == least)
        if kept:
            return
    assert least is None


@LAW
@given(st.floats(0.7, 1.8), st.floats(0.7, 1.8), st.floats(5, 300), SCALES)
def test_two_parts_come_within_a_step_of_the_ideal_sum(d1: float, d2: float, make: float, scale: Tool) -> None:
    two = (part("Base", BASE, "4", d1), part("Activator", ACTIVATOR, "4:1 of base by weight", d2))
    got = weigh(two, make, scale)
    ideal = sum(mL * d for mL, d in zip(amounts_mL(two, make), (d1, d2), strict=True))
    assert got[-1].reading_g == pytest.approx(ideal, abs=(1 + 0.25) * scale.step / 2 + scale.step / 2)


@LAW
@given(mixes(), st.floats(20, 500))
def test_a_fine_scale_comes_to_the_ideal_and_rounds_to_nothing(parts: tuple[Part, ...], make: float) -> None:
    fine = Tool(name="scale", kind=ToolKind.SCALE, step=0.001, capacity=1_000)
    got = weigh(parts, make, fine)
    assert [w.g for w in got] == pytest.approx([w.want_g for w in got], abs=0.02)
    assert all(w.off_percent is None or abs(w.off_percent) < 1 for w in got)
    assert all(abs(w.worst_percent or 0) >= abs(w.off_percent or 0) for w in got)


@LAW
@given(mixes(), st.floats(5, 300), SCALES, st.floats(0.5, 1.5))
def test_poured_as_planned_changes_nothing_that_is_still_to_come(
    parts: tuple[Part, ...], make: float, scale: Tool, slip: float
) -> None:
    plan = weigh(parts, make, scale)
    for n in range(1, len(parts)):
        poured = {w.part: w.g for w in plan[:n]}
        assert [w.reading_g for w in weigh(parts, make, scale, poured)] == pytest.approx([w.reading_g for w in plan])
    over = {"Base": plan[0].g * slip}
    assert weigh(parts, make, scale, over)[0].reading_g == pytest.approx(over["Base"])
