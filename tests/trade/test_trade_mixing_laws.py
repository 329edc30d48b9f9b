"""What holds for any mix, and a second reckoning of it in exact fractions, step by step as one does by hand."""

from collections.abc import Callable
from fractions import Fraction
from typing import Any

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from benchtool.trade.mixing import (
    NotAShare,
    Of,
    Part,
    PartKind,
    Share,
    amounts_mL,
    check_pours,
    fractions,
    parse_ratio,
    parse_share,
)

LAW = settings(max_examples=200, deadline=None, derandomize=True, database=None)
Draw = Callable[[st.SearchStrategy[Any]], Any]


@st.composite
def written(draw: Draw) -> list[tuple[str, PartKind, str]]:
    """A recipe as a card writes it: name, kind, share; every share can be worked out from those before it."""
    whole = st.integers(1, 400)
    percent = st.integers(0, 250)
    lines = [("base", PartKind.BASE, str(draw(whole)))]
    if draw(st.booleans()):
        lines.append(("second base", PartKind.BASE, str(draw(whole))))
    if draw(st.booleans()):
        lines.append(
            ("activator", PartKind.ACTIVATOR, draw(st.sampled_from(["{} % of base", "{} parts"])).format(draw(percent)))
        )
        if draw(st.booleans()):
            lines.append(("drier", PartKind.ADDITIVE, f"{draw(percent)} % of activator"))
    room = 90
    for name in ("reducer", "slow reducer")[: draw(st.integers(0, 2))]:
        share = draw(st.sampled_from(["{} % of base", "{} % of activated", "{} parts", "{} % of total"]))
        number = draw(st.integers(0, room)) if "total" in share else draw(percent)
        room -= number if "total" in share else 0
        lines.append((name, PartKind.REDUCER, share.format(number)))
    return lines


def parts_of(lines: list[tuple[str, PartKind, str]]) -> tuple[Part, ...]:
    return tuple(Part(name=name, kind=kind, share=parse_share(share)) for name, kind, share in lines)


def by_hand(lines: list[tuple[str, PartKind, str]]) -> dict[str, Fraction]:
    """Work a recipe out as one does on paper: parts, then percentages of what stands, shares of the total last."""
    amounts: dict[str, Fraction] = {}
    kinds = {name: kind for name, kind, _ in lines}
    of_total: dict[str, Fraction] = {}
    for name, _, share in lines:
        number, _, rest = share.partition(" ")
        if rest in ("", "parts"):
            amounts[name] = Fraction(int(number))
            continue
        factor, of = Fraction(int(number), 100), rest.removeprefix("% of ")
        if of == "total":
            of_total[name] = factor
            continue
        allowed = {"base": {PartKind.BASE}, "activated": {PartKind.BASE, PartKind.ACTIVATOR}}.get(of)
        amounts[name] = factor * sum(
            amount for other, amount in amounts.items() if (kinds[other] in allowed if allowed else other == of)
        )
    total = sum(amounts.values()) / (1 - sum(of_total.values()))
    amounts |= {name: factor * total for name, factor in of_total.items()}
    return {name: amounts[name] / total for name, _, _ in lines}


@LAW
@given(written())
def test_fractions_are_those_of_a_sum_by_hand(lines: list[tuple[str, PartKind, str]]) -> None:
    wanted = by_hand(lines)
    assert sum(wanted.values()) == 1
    assert fractions(parts_of(lines)) == pytest.approx([float(wanted[name]) for name, _, _ in lines], abs=1e-12)


@LAW
@given(written(), st.floats(0.01, 1e5), st.floats(0.1, 50))
def test_amounts_add_up_and_grow_with_the_cup(lines: list[tuple[str, PartKind, str]], make: float, more: float) -> None:
    parts = parts_of(lines)
    amounts = amounts_mL(parts, make)
    assert sum(amounts) == pytest.approx(make)
    assert min(amounts) >= 0
    assert amounts_mL(parts, make * more) == pytest.approx([a * more for a in amounts])


@LAW
@given(written(), st.randoms(use_true_random=False))
def test_the_order_of_the_parts_changes_nothing(lines: list[tuple[str, PartKind, str]], chance: Any) -> None:
    shuffled = list(lines)
    chance.shuffle(shuffled)
    there = dict(zip([name for name, _, _ in shuffled], fractions(parts_of(shuffled)), strict=True))
    assert fractions(parts_of(lines)) == pytest.approx([there[name] for name, _, _ in lines], abs=1e-12)


@LAW
@given(written(), st.lists(st.none() | st.just(0.0) | st.floats(0.001, 500), min_size=7, max_size=7))
def test_what_is_to_be_added_makes_every_ratio_exact_with_as_little_as_can_be(
    lines: list[tuple[str, PartKind, str]], pours: list[float | None]
) -> None:
    parts = parts_of(lines)
    share = fractions(parts)
    poured = {p.name: mL for p, mL, f in zip(parts, pours, share, strict=False) if mL is not None and f > 0}
    assume(any(poured.values()))
    checks = check_pours(parts, poured)
    assert all(c.add_mL >= 0 for c in checks)
    mended = {c.name: (c.poured_mL or 0) + c.add_mL for c in checks}
    total = sum(mended.values())
    assert [mended[p.name] for p in parts] == pytest.approx([f * total for f in share], abs=1e-6)
    # A smaller cup would need something taken out again: one part already fills its share of this one.
    assert min(c.add_mL for c, f in zip(checks, share, strict=True) if f > 0) == 0
    again = check_pours(parts, mended)
    assert all(c.off_percent is None or abs(c.off_percent) < 1e-4 for c in again)
    assert all(c.add_mL == pytest.approx(0, abs=1e-6) and c.within for c in again)


@LAW
@given(written(), st.floats(1, 500))
def test_poured_exactly_nothing_is_off(lines: list[tuple[str, PartKind, str]], make: float) -> None:
    parts = parts_of(lines)
    exact = {p.name: mL for p, mL in zip(parts, amounts_mL(parts, make), strict=True)}
    for check in check_pours(parts, exact):
        assert check.within
        assert check.add_mL == pytest.approx(0, abs=1e-6)
        assert check.off_percent is None or check.off_percent == pytest.approx(0, abs=1e-6)


@LAW
@given(st.floats(1, 500), st.floats(0.01, 20))
def test_how_far_off_is_a_plain_comparison_with_the_share(base: float, activator: float) -> None:
    parts = parts_of([("base", PartKind.BASE, "100"), ("activator", PartKind.ACTIVATOR, "2 % of base")])
    check = check_pours(parts, {"base": base, "activator": activator})[1]
    assert check.percent_of_base == pytest.approx(100 * activator / base)
    assert check.off_percent == pytest.approx(100 * (activator / (0.02 * base) - 1), abs=1e-6)
    assert check.within is (abs(activator / (0.02 * base) - 1) <= 0.10 * (1 + 1e-9))


@LAW
@given(st.integers(1, 1000), st.integers(0, 1000), st.integers(0, 1000))
def test_percent_of_base_and_parts_say_the_same(base: int, activator: int, reducer: int) -> None:
    by_parts = fractions(
        parts_of(
            [
                ("base", PartKind.BASE, str(base)),
                ("activator", PartKind.ACTIVATOR, str(activator)),
                ("reducer", PartKind.REDUCER, str(reducer)),
            ]
        )
    )
    by_share = fractions(
        (
            Part(name="base", kind=PartKind.BASE, share=Share(7, Of.PARTS)),
            Part(name="activator", kind=PartKind.ACTIVATOR, share=Share(activator / base, Of.BASE)),
            Part(name="reducer", kind=PartKind.REDUCER, share=Share(reducer / (base + activator), Of.ACTIVATED)),
        )
    )
    total = base + activator + reducer
    assert by_parts == pytest.approx((base / total, activator / total, reducer / total))
    assert by_share == pytest.approx(by_parts, abs=1e-12)


@LAW
@given(st.integers(0, 99))
def test_a_share_of_the_total_is_a_larger_share_of_the_rest(percent: int) -> None:
    of_total = fractions(
        parts_of([("base", PartKind.BASE, "1"), ("reducer", PartKind.REDUCER, f"{percent} % of total")])
    )
    of_rest = (Share(1, Of.PARTS), Share(percent / (100 - percent), Of.BASE))
    parts = [
        Part(name=kind.value, kind=kind, share=share)
        for kind, share in zip((PartKind.BASE, PartKind.REDUCER), of_rest, strict=True)
    ]
    assert of_total == pytest.approx(fractions(parts))
    assert of_total[1] == pytest.approx(percent / 100)


@LAW
@given(
    st.integers(1, 9999).map(lambda n: n / 100) | st.integers(0, 500).map(float),
    st.sampled_from([Of.PARTS, Of.BASE, Of.ACTIVATED, Of.TOTAL, Of.PART]),
)
def test_a_share_said_in_words_is_read_back_as_itself(number: float, of: Of) -> None:
    assume(of is not Of.TOTAL or number < 100)
    value = number if of is Of.PARTS else number / 100
    share = Share(value, of, "Resin A" if of is Of.PART else "")
    again = parse_share(share.words())
    assert (again.of, again.named) == (share.of, share.named)
    assert again.value == pytest.approx(share.value, rel=1e-12)


@LAW
@given(st.lists(st.integers(1, 9999).map(lambda n: n / 100), min_size=2, max_size=6))
def test_a_ratio_is_read_number_by_number(numbers: list[float]) -> None:
    assert parse_ratio(":".join(f"{n:g}" for n in numbers)) == tuple(numbers)


@LAW
@given(st.text(max_size=60) | st.text("0123456789.,/:%x of basetl½", max_size=30))
def test_any_text_at_all_is_a_share_or_refused_as_none(text: str) -> None:
    for read in (parse_share, parse_ratio):
        try:
            got = read(text)
        except NotAShare:
            continue
        numbers = [got.value] if isinstance(got, Share) else got
        assert all(0 <= n < float("inf") for n in numbers)


@LAW
@given(
    st.lists(
        st.tuples(st.sampled_from(Of), st.floats(0, 1e6), st.sampled_from(PartKind), st.sampled_from("abcd")),
        min_size=1,
        max_size=4,
    )
)
def test_any_shares_at_all_are_a_mix_or_refused_as_none(rows: list[tuple[Of, float, PartKind, str]]) -> None:
    parts = [
        Part(name="abcd"[i], kind=kind, share=Share(value, of, name)) for i, (of, value, kind, name) in enumerate(rows)
    ]
    try:
        found = fractions(parts)
    except NotAShare:
        return
    assert sum(found) == pytest.approx(1)
    assert min(found) >= 0
    for part, share in zip(parts, found, strict=True):
        if part.share.of is Of.TOTAL:
            assert share == pytest.approx(part.share.value, abs=1e-6)
        elif part.share.of is Of.BASE:
            bases = sum(f for p, f in zip(parts, found, strict=True) if p.kind is PartKind.BASE)
            assert share == pytest.approx(part.share.value * bases, abs=1e-6)
