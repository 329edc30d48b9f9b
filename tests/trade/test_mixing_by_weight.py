"""Shares by weight, alone and beside shares by volume, against exact sums in grams."""

from collections.abc import Callable
from fractions import Fraction
from typing import Any

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from benchtool.trade.mixing import (
    MissingDensity,
    NotAShare,
    Of,
    Part,
    PartKind,
    Share,
    amounts_mL,
    check_pours,
    fractions,
    measured_by,
    parse_share,
    reduction_of,
)

LAW = settings(max_examples=200, deadline=None, derandomize=True, database=None)
Draw = Callable[[st.SearchStrategy[Any]], Any]
BASE, ACTIVATOR, REDUCER, ADDITIVE = PartKind.BASE, PartKind.ACTIVATOR, PartKind.REDUCER, PartKind.ADDITIVE


def part(name: str, kind: PartKind, share: str, density: float | None = None) -> Part:
    return Part(name=name, kind=kind, share=parse_share(share), density_g_mL=density)


@pytest.mark.parametrize(
    ("text", "share"),
    [
        ("2 % of base by weight", Share(0.02, Of.BASE, by_weight=True)),
        ("2 % by weight of base", Share(0.02, Of.BASE, by_weight=True)),
        ("2 % by weight of the base", Share(0.02, Of.BASE, by_weight=True)),
        ("2 % w/w of base", Share(0.02, Of.BASE, by_weight=True)),
        ("2%w/w base", Share(0.02, Of.BASE, by_weight=True)),
        ("20 parts by weight", Share(20, Of.PARTS, by_weight=True)),
        ("20 parts by wt.", Share(20, Of.PARTS, by_weight=True)),
        ("20 by wt", Share(20, Of.PARTS, by_weight=True)),
        ("20 parts BY MASS", Share(20, Of.PARTS, by_weight=True)),
        ("4:1 of base by weight", Share(0.25, Of.BASE, by_weight=True)),
        ("4:1 by weight of base", Share(0.25, Of.BASE, by_weight=True)),
        ("10 % of total by weight", Share(0.1, Of.TOTAL, by_weight=True)),
        ("5 % of Resin A by weight", Share(0.05, Of.PART, "Resin A", by_weight=True)),
        ("2 % of base by volume", Share(0.02, Of.BASE)),
        ("2 % v/v of base", Share(0.02, Of.BASE)),
        ("20 parts by vol.", Share(20, Of.PARTS)),
        ("5 % of Standby Weightless", Share(0.05, Of.PART, "Standby Weightless")),
    ],
)
def test_by_weight_is_read_as_the_card_writes_it(text: str, share: Share) -> None:
    assert parse_share(text) == share


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("2 % by weight", "of what"),
        ("1:1 w/w", "of what"),
        ("20 spoons by weight", "is not a share"),
        ("100 % of total by weight", "no room"),
        ("by weight", "does not start with a number"),
    ],
)
def test_what_is_no_share_by_weight_says_what_to_write(text: str, words: str) -> None:
    with pytest.raises(NotAShare, match=words):
        parse_share(text)


@pytest.mark.parametrize("text", ["1 part", "20 parts", "2 % of the base", "1:1 with the base", "5 % of Resin A"])
def test_a_share_by_weight_is_said_and_read_back(text: str) -> None:
    assert parse_share(text + " by weight").words() == text + " by weight"
    assert parse_share(text).words() == text


@pytest.mark.parametrize(
    ("resin", "hardener", "parts_by_weight", "by_volume"),
    # Worked by hand: 100 g of 1.15 g/mL is 86.957 mL; 30 g of 0.95 g/mL is 31.579 mL; 31.579 / 86.957 is 0.36316.
    [(1.15, 0.95, 30, 0.363158), (1.0, 1.0, 30, 0.3), (1.2, 0.96, 40, 0.5)],
)
def test_parts_by_weight_become_parts_by_volume_over_the_density(
    resin: float, hardener: float, parts_by_weight: float, by_volume: float
) -> None:
    kit = (
        part("Resin", BASE, "100 parts by weight", resin),
        part("Hardener", ACTIVATOR, f"{parts_by_weight} parts by weight", hardener),
    )
    a, b = amounts_mL(kit, 100)
    assert b / a == pytest.approx(by_volume, abs=1e-6)
    assert b * hardener / (a * resin) == pytest.approx(parts_by_weight / 100)


def test_a_kit_of_volume_and_weight() -> None:
    # By hand: 100 mL base of 1.2 g/mL is 120 g; 10 % of that is 12 g, at 0.8 g/mL 15 mL; as much reducer: 115 mL.
    kit = (
        part("Base", BASE, "100", 1.2),
        part("Activator", ACTIVATOR, "10 % of base by weight", 0.8),
        part("Reducer", REDUCER, "1:1 of activated"),
    )
    assert amounts_mL(kit, 230) == pytest.approx((100, 15, 115))
    # 100 mL beside 20 g
    kit = (part("Base", BASE, "100"), part("Activator", ACTIVATOR, "20 parts by weight", 0.8))
    assert amounts_mL(kit, 125) == pytest.approx((100, 25))
    check = check_pours(kit, {"Base": 50, "Activator": 15})
    assert check[1].off_percent == pytest.approx(20)
    assert check[0].add_mL == pytest.approx(10)
    assert (check[1].percent_of_base, check[1].why) == (
        None,
        "The card gives no density for Base: fill in its density (g/mL) to weigh it.",
    )


def test_pours_are_judged_by_weight_where_the_share_is() -> None:
    # 60 mL of 1.5 g/mL and 20 mL of 1.0: 90 + 20 g; a tenth of 110 g is 11 g or 13.75 mL.
    kit = (
        part("Base", BASE, "3", 1.5),
        part("Second", BASE, "1", 1.0),
        part("Activator", ACTIVATOR, "10 % of base by weight", 0.8),
    )
    exact = {"Base": 60.0, "Second": 20.0, "Activator": 13.75}
    checks = check_pours(kit, exact)
    assert all(c.within and c.add_mL == pytest.approx(0, abs=1e-9) for c in checks)
    assert checks[2].percent_of_base == pytest.approx(10)
    assert checks[1].percent_of_base == pytest.approx(25)  # its own share is one of volume
    # Less of the heavy base, 80 + 20 g: a tenth is 10 g, and the 11 g are a tenth too much.
    off = check_pours(kit, exact | {"Base": 80 / 1.5})[2].off_percent
    assert off == pytest.approx(10)
    assert measured_by(kit, 2) == {0: 1.5, 1: 1.0}
    assert measured_by(kit, 1) == {0: 1.0}


def test_a_reduction_by_weight_is_said_in_mL_of_the_reducer() -> None:
    kit = (
        part("Base", BASE, "100", 1.2),
        part("Activator", ACTIVATOR, "10 % of base by weight", 0.8),
        part("Reducer", REDUCER, "50 % of base by weight", 0.75),
    )
    poured = {"Base": 100.0, "Activator": 15.0, "Reducer": 80.0}
    for text, mL in (
        ("50 % of base by weight", 80),  # 60 g
        ("50 % of activated by weight", 88),  # of 132 g: 66 g
        ("20 % of total by weight", 44),  # a quarter of 132 g: 33 g
        ("60 parts by weight", 80),  # the base's 100 parts are 100 mL: 60 g
        ("50 % of base", 50),
    ):
        share = parse_share(text)
        assert share.value * reduction_of(kit, share, poured) == pytest.approx(mL), text
    heavy = (part("Base", BASE, "100 parts by weight", 1.25), kit[2])
    # 80 mL are 100 g: 60 parts to it are 60 g or 80 mL.
    share = parse_share("60 parts by weight")
    assert share.value * reduction_of(heavy, share, {"Base": 80.0}) == pytest.approx(80)
    with pytest.raises(MissingDensity, match="reducer"):
        reduction_of(kit[:2], parse_share("50 % of base by weight"), poured)


@pytest.mark.parametrize("missing", ["Base", "Activator"])
def test_a_share_by_weight_asks_for_the_densities_it_needs(missing: str) -> None:
    kit = [
        part("Base", BASE, "100", None if missing == "Base" else 1.2),
        part("Activator", ACTIVATOR, "10 % of base by weight", None if missing == "Activator" else 0.8),
        part("Reducer", REDUCER, "1:1 of activated"),
    ]
    with pytest.raises(MissingDensity) as fault:
        fractions(kit)
    assert fault.value.part == missing
    assert isinstance(fault.value, NotAShare)
    assert f"The card gives no density for {missing}:" in str(fault.value)


@pytest.mark.parametrize("density", [0.0, -1.0, float("nan"), float("inf")])
def test_a_density_that_no_liquid_has_is_as_good_as_none(density: float) -> None:
    with pytest.raises(MissingDensity):
        fractions([part("Base", BASE, "100 parts by weight", density)])


@st.composite
def kits(draw: Draw) -> list[tuple[str, PartKind, str, Fraction]]:
    density = st.integers(60, 200).map(lambda n: Fraction(n, 100))
    by = st.sampled_from(["", " by weight"])
    lines = [("base", BASE, f"{draw(st.integers(1, 400))} parts{draw(by)}", draw(density))]
    if draw(st.booleans()):
        lines.append(("second", BASE, f"{draw(st.integers(1, 400))} parts{draw(by)}", draw(density)))
    lines.append(("activator", ACTIVATOR, f"{draw(st.integers(0, 200))} % of base{draw(by)}", draw(density)))
    if draw(st.booleans()):
        lines.append(("drier", ADDITIVE, f"{draw(st.integers(0, 200))} % of activator{draw(by)}", draw(density)))
    of = draw(st.sampled_from(["base", "activated", "total"]))
    lines.append(("reducer", REDUCER, f"{draw(st.integers(0, 90))} % of {of}{draw(by)}", draw(density)))
    return lines


def by_hand(lines: list[tuple[str, PartKind, str, Fraction]]) -> dict[str, Fraction]:
    """Work out mL part by part: parts as mL or g, a share by weight of grams and back over the density."""
    mL: dict[str, Fraction] = {}
    kind = {name: k for name, k, _, _ in lines}
    dense = {name: d for name, _, _, d in lines}
    for name, _, text, density in lines:
        number, _, rest = text.partition(" ")
        heavy = rest.endswith("by weight")
        rest = rest.removesuffix(" by weight")
        if rest == "parts":
            amount = Fraction(int(number))
        else:
            of = rest.removeprefix("% of ")
            members = {
                "base": [n for n in mL if kind[n] is BASE],
                "activated": [n for n in mL if kind[n] in (BASE, ACTIVATOR)],
                "total": list(mL),
            }.get(of, [of])
            reference = sum((mL[n] * (dense[n] if heavy else 1) for n in members), Fraction(0))
            percent = Fraction(int(number), 100)
            amount = reference * (percent / (1 - percent) if of == "total" else percent)
        mL[name] = amount / density if heavy else amount
    return mL


@LAW
@given(kits())
def test_mixed_kits_are_those_of_exact_sums(lines: list[tuple[str, PartKind, str, Fraction]]) -> None:
    wanted = by_hand(lines)
    total = sum(wanted.values())
    parts = [part(name, kind, text, float(d)) for name, kind, text, d in lines]
    assert fractions(parts) == pytest.approx([float(wanted[p.name] / total) for p in parts], abs=1e-12)
    exact = {p.name: float(wanted[p.name]) for p in parts if wanted[p.name] > 0}
    assume(exact)
    for check in check_pours(parts, exact):
        assert check.within
        assert check.off_percent is None or check.off_percent == pytest.approx(0, abs=1e-6)


@LAW
@given(kits(), st.integers(60, 200))
def test_with_one_density_for_all_weight_and_volume_are_the_same(
    lines: list[tuple[str, PartKind, str, Fraction]], density: int
) -> None:
    heavy = [part(n, k, t.removesuffix(" by weight") + " by weight", density / 100) for n, k, t, _ in lines]
    plain = [part(n, k, t.removesuffix(" by weight")) for n, k, t, _ in lines]
    assert fractions(heavy) == pytest.approx(fractions(plain), abs=1e-12)
