"""What a card says of contents, shelf life, tolerance and spray viscosity: into the recipe, and what can't be so."""

from datetime import timedelta
from typing import Any

import pytest
from builders import CLEAR, PROMOTER
from msgspec.structs import replace

from benchtool.job.cards import Card, Gun, RecipePart, Voc, recipe
from benchtool.job.validate import card_faults
from benchtool.trade.mixing import PartKind

DENSE = replace(PROMOTER, density_g_mL=0.9, reducer_density_g_mL=0.86)


def places(card: Card) -> list[str]:
    return [path for path, _ in card_faults(card)]


def test_the_tolerance_of_the_card_goes_into_the_recipe_and_into_the_sums() -> None:
    rigid, *others = PROMOTER.activators
    card = replace(PROMOTER, tolerance_percent=3, activators=(replace(rigid, tolerance_percent=8), *others))
    parts = recipe(card, card.activators[0], Gun.AIRBRUSH)
    assert [p.kind for p in parts] == [PartKind.BASE, PartKind.ACTIVATOR, PartKind.REDUCER]
    assert [p.tolerance for p in parts] == pytest.approx([0.03, 0.08, 0.03])
    assert [p.part().allowed for p in parts] == pytest.approx([0.03, 0.08, 0.03])


def test_without_a_tolerance_on_the_card_the_usual_one_holds() -> None:
    parts = recipe(PROMOTER, PROMOTER.activators[0], Gun.AIRBRUSH)
    assert [p.tolerance for p in parts] == [None, None, None]
    assert [p.part().allowed for p in parts] == [0.05, 0.10, 0.05]
    assert RecipePart(name="Base", kind=PartKind.BASE, share="100").tolerance is None


@pytest.mark.parametrize("density", [None, 0.9])
def test_what_evaporates_is_handed_on_as_it_stands(density: float | None) -> None:
    voc = Voc(voc_g_L=300, water_g_L=100, exempt_g_L=150, exempt_density_g_mL=0.79)
    contents = voc.contents("Base", 20, density)
    assert (contents.name, contents.mL, contents.density_g_mL) == ("Base", 20, density)
    assert (contents.voc_g_L, contents.water_g_L, contents.exempt_g_L) == (300, 100, 150)
    assert contents.exempt_density_g_mL == 0.79


@pytest.mark.parametrize(
    ("changed", "place"),
    [
        ({"voc": Voc(voc_g_L=910)}, ".voc"),
        ({"voc": Voc(voc_g_L=400, water_g_L=300, exempt_g_L=250)}, ".voc"),
        ({"density_g_mL": None, "voc": Voc(voc_g_L=10, water_g_L=1_050)}, ".voc"),
        ({"reducer_voc": Voc(voc_g_L=870)}, ".reducer_voc"),
        ({"keeps": timedelta(days=-1)}, ".keeps"),
        ({"keeps_opened": timedelta(days=40_000)}, ".keeps_opened"),
        ({"keeps": timedelta(days=30), "keeps_opened": timedelta(days=31)}, ".keeps"),
        ({"reducer_keeps": timedelta(days=-1)}, ".reducer_keeps"),
        ({"reducer_keeps_opened": timedelta(days=40_000)}, ".reducer_keeps_opened"),
        ({"reducer_keeps": timedelta(days=30), "reducer_keeps_opened": timedelta(days=31)}, ".reducer_keeps"),
    ],
)
def test_what_can_not_be_so_is_found_in_its_place(changed: dict[str, Any], place: str) -> None:
    assert places(DENSE) == []
    assert places(replace(DENSE, **changed)) == [place]


@pytest.mark.parametrize(
    "changed",
    [
        {"voc": Voc(voc_g_L=0)},
        {"voc": Voc(voc_g_L=400, water_g_L=300, exempt_g_L=200)},
        {"reducer_voc": Voc(voc_g_L=860)},
        {"keeps": timedelta(days=30), "keeps_opened": timedelta(days=30)},
        {"keeps_opened": timedelta(days=365)},
        {"keeps": timedelta(days=30), "reducer_keeps_opened": timedelta(days=60)},
        {"reducer_keeps": timedelta(days=30), "reducer_keeps_opened": timedelta(days=30)},
    ],
)
def test_what_can_be_so_is_no_fault(changed: dict[str, Any]) -> None:
    assert places(replace(DENSE, **changed)) == []


@pytest.mark.parametrize(
    ("changed", "place"),
    [
        ({"voc": Voc(voc_g_L=1_100)}, ".activators[0].voc"),
        ({"keeps_opened": timedelta(days=-1)}, ".activators[0].keeps_opened"),
        ({"keeps": timedelta(days=40_000)}, ".activators[0].keeps"),
        ({"keeps": timedelta(days=30), "keeps_opened": timedelta(days=31)}, ".activators[0].keeps"),
    ],
)
def test_an_activator_is_looked_at_too(changed: dict[str, Any], place: str) -> None:
    first, *others = CLEAR.activators
    assert places(replace(CLEAR, activators=(replace(first, density_g_mL=1.05, **changed), *others))) == [place]


@pytest.mark.parametrize(
    ("cup", "seconds", "place"),
    [
        ("DIN 4", None, ".reductions[0].flow_s"),
        (None, 18.0, ".reductions[0].flow_cup"),
        ("tea cup", 18.0, ".reductions[0].flow_cup"),
        ("DIN 4", 18.0, None),
        (None, None, None),
    ],
)
def test_a_spray_viscosity_is_seconds_out_of_a_cup_that_is_known(
    cup: str | None, seconds: float | None, place: str | None
) -> None:
    first, *others = PROMOTER.reductions
    card = replace(PROMOTER, reductions=(replace(first, flow_cup=cup, flow_s=seconds), *others))
    assert places(card) == ([place] if place else [])
