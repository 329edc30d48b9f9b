"""Values of a card that do not agree with each other: each is found, and a card that is right raises nothing."""

from datetime import timedelta
from typing import Any

import pytest
from builders import ADHESIVE_CLEAR, CLEAR, COLOUR, ONE_PART_PROMOTER
from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import replace
from strategies import cards as any_card
from strategies import examples

from benchtool.job.cardchecks import CardCheck, card_checks, only_over_cycles
from benchtool.job.cards import (
    Activator,
    Additive,
    AirRange,
    Card,
    CardTime,
    Carrier,
    Chemistry,
    DoublingPacing,
    Duty,
    EvaporationPacing,
    ForcedDry,
    Gun,
    Hazard,
    Reduction,
    Trait,
    Voc,
)
from benchtool.job.validate import card_faults
from benchtool.trade.substrates import Suits

LB_GAL = 453.59237 / 3.785411784
"""g/L of 1 lb/US gal, NIST Handbook 44 appendix C."""


def minutes(n: float) -> timedelta:
    return timedelta(minutes=n)


def hours(n: float) -> timedelta:
    return timedelta(hours=n)


GOOD = Card(
    id="clear",
    name="Two-part clear",
    duty=Duty.CLEAR,
    origins={"*": "made up for this test"},
    two_part=True,
    activators=(Activator(id="slow", name="Slow", suits=Suits.ANY, share="50 % of base", density_g_mL=1.05),),
    additives=(Additive(id="flex", name="Flex", suits=Suits.FLEXIBLE, share="10 % of base"),),
    reductions=(Reduction(gun=Gun.MINI, least="0 % of base", usual="5 % of base", most="10 % of base"),),
    chemistry=Chemistry.URETHANE,
    carrier=Carrier.SOLVENT,
    hazards=(Hazard.ISOCYANATES, Hazard.SOLVENT),
    density_g_mL=0.98,
    solids_percent=46,
    voc=Voc(voc_g_L=470),
    film_um=25,
    film_most_um=100,
    coats_least=2,
    coats_most=3,
    pot_life=hours(3),
    stand=minutes(5),
    flash=minutes(10),
    dust_free=minutes(25),
    recoat_opens=minutes(30),
    recoat_closes=hours(24),
    tape=hours(12),
    cure=hours(24 * 7),
)
"""A usual refinish clear. Common practice, no source; 470 g/L leaves 46.7 % beside solvent of 7.36 lb/gal
(30 TAC 115.423)."""


def found(card: Card) -> list[tuple[str, bool]]:
    return [(check.path, check.severe) for check in card_checks(card)]


@pytest.mark.parametrize("card", [GOOD, COLOUR, CLEAR, ADHESIVE_CLEAR, ONE_PART_PROMOTER], ids=lambda c: c.id)
def test_a_card_that_is_right_raises_nothing(card: Card) -> None:
    assert found(card) == []


def with_activator(**fields: Any) -> dict[str, Any]:
    return {"activators": (replace(GOOD.activators[0], **fields),)}


def reduced(**fields: Any) -> dict[str, Any]:
    return {"reductions": (replace(GOOD.reductions[0], **fields),)}


ODD: list[tuple[str, dict[str, Any], str, bool]] = [
    ("flash longer than recoat", {"flash": minutes(40)}, ".flash", True),
    ("flash at most past the closing", {"flash_most": hours(25)}, ".flash_most", False),
    ("closes as it opens", {"recoat_closes": minutes(30)}, ".recoat_closes", True),
    ("pot life shorter than the stand", {"pot_life": minutes(4)}, ".stand", True),
    ("both stands as long as the pot life", {"stand_reduced": minutes(175)}, ".stand_reduced", True),
    ("dust after tape", {"tape": minutes(20), "recoat_opens": minutes(12)}, ".dust_free", True),
    ("dust an hour after the next layer", {"dust_free": hours(3), "recoat_opens": hours(2)}, ".dust_free", False),
    ("tape after the cure", {"tape": hours(200)}, ".tape", True),
    ("next layer after the cure", {"recoat_opens": hours(200), "recoat_closes": None}, ".recoat_opens", False),
    ("two-part without a pot life", {"pot_life": None, "stand": None}, ".pot_life", False),
    ("pot life of 24 s", {"pot_life": timedelta(seconds=24), "stand": None}, ".pot_life", True),
    ("pot life of nothing", {"pot_life": timedelta(0), "stand": None}, ".pot_life", True),
    ("flash of 30 h", {"flash": hours(30), "recoat_opens": None, "recoat_closes": None}, ".flash", False),
    ("cured in 7 min", {"cure": minutes(7), "tape": None, "dust_free": None, "recoat_opens": None,
                        "recoat_closes": None}, ".cure", False),
    ("keeps an hour", {"keeps": hours(1)}, ".keeps", False),
    ("least coats too thick", {"film_um": 60}, ".film_most_um", True),
    ("most coats too thick", {"film_um": 40}, ".coats_most", False),
    ("density in lb/gal", {"density_g_mL": 8.2}, ".density_g_mL", True),
    ("too light", {"density_g_mL": 0.5, "voc": None}, ".density_g_mL", True),
    ("activator too heavy", with_activator(density_g_mL=3.0), ".activators[0].density_g_mL", True),
    ("reducer in lb/gal", {"reducer_density_g_mL": 7.2}, ".reducer_density_g_mL", True),
    ("ratio the wrong way round", with_activator(share="1:4 of base"), ".activators[0].share", False),
    ("hardly any activator", with_activator(share="0.2 % of base"), ".activators[0].share", False),
    ("more additive than base", {"additives": (replace(GOOD.additives[0], share="150 % of base"),)},
     ".additives[0].share", False),
    ("reduction upside down", reduced(least="10 % of base", most="5 % of base"), ".reductions[0].usual", True),
    ("five times reduced", reduced(most="500 % of base"), ".reductions[0].most", False),
    ("isocyanates not named", {"hazards": (Hazard.SOLVENT,)}, ".hazards", True),
    ("waterborne urethane, isocyanates not named",
     {"carrier": Carrier.WATER, "hazards": (), "voc": None}, ".hazards", True),
    ("solvent not named", {"hazards": (Hazard.ISOCYANATES,)}, ".hazards", False),
    ("no solvent in solvent-borne", {"voc": Voc(voc_g_L=0), "solids_percent": None}, ".voc", False),
    ("waterborne without water", {"carrier": Carrier.WATER, "voc": Voc(voc_g_L=80)}, ".voc", False),
    ("more solvent than water", {"carrier": Carrier.WATER, "voc": Voc(voc_g_L=400, water_g_L=50)}, ".voc", False),
    ("nothing leaves, and 470 g/L do", {"carrier": Carrier.NONE}, ".voc", False),
    ("solids by weight", {"solids_percent": 85}, ".solids_percent", False),
    ("solids far too low", {"solids_percent": 20}, ".solids_percent", False),
    ("dry film lighter than any", {"density_g_mL": 0.75}, ".density_g_mL", False),
    ("high solids of 30 %", {"traits": (Trait.HIGH_SOLIDS,), "solids_percent": 30, "voc": None}, ".solids_percent",
     False),
    ("brittle and flexible", {"traits": (Trait.BRITTLE, Trait.FLEXIBLE)}, ".traits", True),
    ("one-part with an activator", {"two_part": False}, ".two_part", True),
    ("two-part without", {"activators": ()}, ".activators", True),
    ("acrylic dispersion in solvent", {"chemistry": Chemistry.ACRYLIC}, ".carrier", True),
    ("fast solvent in water", {"carrier": Carrier.WATER, "voc": None, "fast_solvent": True}, ".fast_solvent", False),
    ("bake of 120 °C", {"forced": {CardTime.CURE: ForcedDry(degC=120, wait=minutes(20))}}, '.forced["cure"].degC',
     False),
    ("times hold where it may not be sprayed",
     {"air": AirRange(least_degC=25), "paces": {CardTime.FLASH: DoublingPacing()}}, '.paces["flash"]', False),
    ("times hold in air too damp", {"air": AirRange(most_percent=40), "paces": {CardTime.FLASH: EvaporationPacing()}},
     '.paces["flash"]', False),
    ("beyond the cup", reduced(flow_cup="ISO 4 mm", flow_s=160), ".reductions[0].flow_s", False),
    ("no viscosity at all", reduced(flow_cup="DIN 4", flow_s=6), ".reductions[0].flow_s", False),
    ("only over itself", {"only_over": ("clear",)}, ".only_over", True),
]  # fmt: skip


@pytest.mark.parametrize(("changed", "path", "severe"), [row[1:] for row in ODD], ids=[row[0] for row in ODD])
def test_each_slip_is_found_at_its_value_and_nothing_else_is(changed: dict[str, Any], path: str, severe: bool) -> None:
    assert found(replace(GOOD, **changed)) == [(path, severe)]


QUIET: list[tuple[str, dict[str, Any]]] = [
    ("wet on wet: dust after the next layer", {"dust_free": minutes(30), "recoat_opens": minutes(15)}),
    ("dust after the next coat", {"flash": minutes(5), "dust_free": minutes(30)}),
    ("flash as long as the recoat", {"flash": minutes(30)}),
    ("at once", {"flash": timedelta(0), "recoat_opens": timedelta(0)}),
    ("pot life of two days, an epoxy", {"pot_life": hours(48)}),
    ("films that round", {"film_um": 34}),
    ("a sheet's 18 s below the cup's range", reduced(flow_cup="DIN 4", flow_s=18)),
    ("a 4:1 mix", with_activator(share="4:1 of base")),
    ("a 1:1 mix", with_activator(share="1:1 of base")),
    ("a peroxide paste", with_activator(share="2 % of base", density_g_mL=1.15)),
    ("reduced 200 %", reduced(most="2x base")),
    ("a low bake", {"forced": {CardTime.CURE: ForcedDry(degC=80, wait=minutes(30))}}),
    ("cured by light in seconds", {
        "chemistry": Chemistry.UV, "two_part": False, "activators": (), "pot_life": None, "stand": None,
        "hazards": (Hazard.UV_LAMP, Hazard.SOLVENT), "cure": timedelta(seconds=30), "tape": timedelta(seconds=30),
        "dust_free": None, "recoat_opens": None, "recoat_closes": None, "flash": minutes(5),
    }),
    ("water given", {"carrier": Carrier.WATER, "voc": Voc(voc_g_L=90, water_g_L=520), "solids_percent": 36,
                     "density_g_mL": 1.05, "hazards": (Hazard.ISOCYANATES,)}),
    ("only over a primer", {"only_over": ("primer",)}),
]  # fmt: skip


@pytest.mark.parametrize("changed", [row[1] for row in QUIET], ids=[row[0] for row in QUIET])
def test_what_sheets_really_say_raises_nothing(changed: dict[str, Any]) -> None:
    """Common practice, no source, each of them."""
    assert found(replace(GOOD, **changed)) == []


ONLY_CONTENTS = {
    "id": "c", "name": "C", "duty": Duty.PRIMER, "origins": {"*": "a published sheet"}, "carrier": Carrier.SOLVENT,
    "hazards": (Hazard.SOLVENT,),
}  # fmt: skip
SHEETS: list[tuple[str, dict[str, Any]]] = [
    # 5 CCR 1001-29 appendix E: 3.7 lb/gal of 7.36 lb/gal solvent is 50 % by volume, which leaves 50 % of solids
    ("3.7 lb/gal", {"voc": Voc(voc_g_L=3.7 * LB_GAL), "solids_percent": 50}),
    # Florida 62-296.500, table 296.500-1: 3.0 lb/gal leaves 0.592 gal of solids a gallon
    ("3.0 lb/gal", {"voc": Voc(voc_g_L=3.0 * LB_GAL), "solids_percent": 59.2}),
    # a published sheet of a two-pack epoxy zinc phosphate primer: sg 1.35, 25 % thinner by weight, 53 % by volume
    ("zinc phosphate epoxy", {"density_g_mL": 1.35, "voc": Voc(voc_g_L=0.25 * 1_350), "solids_percent": 53}),
    # the same maker's red oxide primer: sg 1.35, 38 % thinner by weight, 37 % by volume
    ("red oxide epoxy", {"density_g_mL": 1.35, "voc": Voc(voc_g_L=0.38 * 1_350), "solids_percent": 37}),
    # a resin maker's starting formulation of a zinc-rich primer: 28.6 lb/gal, VOC 347 g/L, 59.5 % by volume
    ("zinc-rich", {"density_g_mL": 28.6 * LB_GAL / 1_000, "voc": Voc(voc_g_L=347), "solids_percent": 59.5,
                   "traits": (Trait.ZINC_RICH,)}),
    # paintcenter.org, worked example of March 2004: 8.52 lb/gal, 20.8 % solids and 53 % water by weight, VOC 2.23
    # lb/gal; beside its water (0.541 L) and solvent (0.303 L of 0.882 g/mL) 15.6 % by volume is left
    ("waterborne", {"carrier": Carrier.WATER, "density_g_mL": 8.52 * LB_GAL / 1_000, "solids_percent": 15.6,
                    "voc": Voc(voc_g_L=2.23 * LB_GAL, water_g_L=0.53 * 8.52 * LB_GAL)}),
]  # fmt: skip


@pytest.mark.parametrize("values", [row[1] for row in SHEETS], ids=[row[0] for row in SHEETS])
def test_published_sheets_and_worked_examples_raise_nothing(values: dict[str, Any]) -> None:
    assert found(Card(**{**ONLY_CONTENTS, **values})) == []


@pytest.mark.parametrize(("sheet", "by_weight"), [("red oxide epoxy", 62), ("zinc-rich", 89.9)])
def test_solids_by_weight_in_place_of_volume_are_found(sheet: str, by_weight: float) -> None:
    """The figures by weight of the same two sheets: 38 % of thinner leaves 62 %, and 89.9 % is printed."""
    values = {**ONLY_CONTENTS, **dict(SHEETS)[sheet], "solids_percent": by_weight}
    assert found(Card(**values)) == [(".solids_percent", False)]


def test_a_zinc_rich_weight_is_no_weight_of_another_paint() -> None:
    values = {**ONLY_CONTENTS, **dict(SHEETS)["zinc-rich"], "traits": ()}
    assert (".density_g_mL", True) in found(Card(**values))


def test_a_density_in_pounds_a_gallon_is_told_with_what_to_write() -> None:
    """1 lb/US gal is 0.1198 g/mL (NIST Handbook 44)."""
    [check] = card_checks(replace(GOOD, density_g_mL=8.2))
    assert check.message == "No such product weighs 8.2 g/mL: if that is lb/gal, write 0.983."


# --- a card that is right, whatever it is ----------------------------------------------------------


@st.composite
def right_cards(draw: Any) -> Card:
    """A card drawn so that its values agree: times in the order of drying, solids that fill what the solvent leaves."""
    solvent = draw(st.floats(0.82, 0.93))
    solids = draw(st.integers(10, 80))
    voc = (100 - solids) * 10 * solvent
    dry = draw(st.floats(1.0, 3.0))
    flash = draw(st.integers(0, 30))
    opens = flash + draw(st.integers(0, 120))
    dust = draw(st.integers(1, 40))
    tape = max(opens, dust) + draw(st.integers(0, 2_880))
    cure = tape + draw(st.integers(600, 20_000))
    film = draw(st.integers(5, 60))
    most = draw(st.integers(1, 4))
    two_part = draw(st.booleans())
    activators = (
        Activator(id="a", name="A", suits=Suits.ANY, share=draw(st.sampled_from(["25 % of base", "1:1 of base"]))),
    )
    return Card(
        id="right",
        name="Right",
        duty=draw(st.sampled_from(Duty)),
        origins={"*": "drawn"},
        two_part=two_part,
        activators=activators if two_part else (),
        pot_life=minutes(draw(st.integers(30, 2_000))) if two_part else None,
        stand=minutes(draw(st.integers(1, 15))),
        stand_reduced=minutes(draw(st.integers(1, 14))),
        chemistry=draw(
            st.sampled_from([Chemistry.URETHANE, Chemistry.LACQUER, Chemistry.ENAMEL, Chemistry.OTHER, None])
        ),
        carrier=Carrier.SOLVENT,
        hazards=tuple(Hazard),
        voc=Voc(voc_g_L=voc),
        solids_percent=solids,
        density_g_mL=voc / 1_000 + solids / 100 * dry,
        flash=minutes(flash),
        recoat_opens=minutes(opens),
        recoat_closes=minutes(opens + draw(st.integers(10, 10_000))),
        dust_free=minutes(min(dust, max(opens, 59))),
        tape=minutes(tape),
        cure=minutes(cure),
        film_um=film,
        film_most_um=film * most,
        coats_most=most,
    )


@examples(200)
@given(card=right_cards())
def test_a_card_whose_values_agree_raises_nothing(card: Card) -> None:
    assert list(card_faults(card)) == []
    heavy = card.density_g_mL is not None and card.density_g_mL > 2.5
    assert found(card) == ([(".density_g_mL", True)] if heavy else [])


@examples(150)
@given(card=any_card())
def test_any_card_can_be_checked_and_each_place_is_there(card: Card) -> None:
    for check in card_checks(card):
        assert isinstance(check, CardCheck)
        assert check.message.endswith((".", "?"))
        assert "{" not in check.message
        assert getattr(card, check.path[1:].split(".")[0].split("[")[0], None) is not None or check.path == ".pot_life"


# --- only over -------------------------------------------------------------------------------------


def over(card_id: str, *ids: str) -> Card:
    return Card(id=card_id, name=card_id.upper(), duty=Duty.BASE, origins={"*": "-"}, only_over=ids)


@pytest.mark.parametrize(
    ("cards", "rings"),
    [
        ([over("a", "b"), over("b", "a")], (("a", "b"),)),
        ([over("b", "a"), over("a", "b"), over("c", "a")], (("a", "b"),)),
        ([over("a", "a")], (("a",),)),
        ([over("c", "a"), over("a", "b"), over("b", "c")], (("a", "b", "c"),)),
        ([over("a", "b"), over("b", "a"), over("x", "y"), over("y", "x")], (("a", "b"), ("x", "y"))),
        ([over("a", "b"), over("b", "a", "c"), over("c")], ()),
        ([over("a", "b"), over("b", "a", "elsewhere")], ()),
        ([over("a", "b"), over("b")], ()),
        ([], ()),
    ],
)
def test_cards_that_wait_for_each_other_are_found(cards: list[Card], rings: tuple[tuple[str, ...], ...]) -> None:
    assert only_over_cycles(cards) == rings


@examples(200)
@given(
    st.dictionaries(
        st.sampled_from("abcdef"), st.lists(st.sampled_from("abcdefg"), max_size=3, unique=True), max_size=6
    )
)
def test_where_there_is_no_ring_every_card_can_be_begun(under: dict[str, list[str]]) -> None:
    cards = [over(card_id, *ids) for card_id, ids in under.items()]
    begun: set[str] = set()
    while (
        more := {c.id for c in cards if not c.only_over or any(u in begun or u not in under for u in c.only_over)}
        - begun
    ):
        begun |= more
    rings = only_over_cycles(cards)
    assert (not rings) == (begun == set(under))
    for ring in rings:
        assert not begun & set(ring)
        assert all(below in under[above] for above, below in zip(ring, (*ring[1:], ring[0]), strict=True))
