"""Kinds of product: what each says by itself, that nothing typed is lost by another one, and a strict table."""

import dataclasses
import json
from pathlib import Path
from typing import Any

import pytest
from builders import CLEAR
from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import replace
from strategies import examples

from benchtool.job.cardchecks import card_checks
from benchtool.job.cards import Activator, Card, Carrier, Chemistry, Duty, Hazard, Trait
from benchtool.session.cardreading import CardText
from benchtool.session.cardtemplates import (
    FOLDABLE,
    Template,
    asks,
    read_templates,
    start_from,
    template_of,
    template_words,
    templates,
)
from benchtool.session.resources import resource
from benchtool.session.strictfile import TableFault
from benchtool.trade.substrates import Suits

ALL = list(templates().values())
AN_ACTIVATOR = Activator(id="a", name="A", suits=Suits.ANY, share="25 % of base")


def card_of(template: Template) -> Card:
    two_part = bool(template.two_part)
    return Card(
        id="c",
        name=template.name,
        duty=template.duty or Duty.BASE,
        origins={"*": "-"},
        two_part=two_part,
        activators=(AN_ACTIVATOR,) if two_part else (),
        pot_life=CLEAR.pot_life if two_part else None,
        chemistry=template.chemistry,
        carrier=template.carrier,
        traits=template.traits,
        hazards=template.hazards,
    )


def test_there_is_a_kind_for_each_of_the_trade_and_one_that_asks_everything() -> None:
    assert {t.chemistry for t in ALL} >= set(Chemistry) - {Chemistry.OTHER}
    [other] = [t for t in ALL if t.all]
    assert all(asks(other, question) for question in FOLDABLE)
    assert len(ALL) == 12


@pytest.mark.parametrize("template", ALL, ids=lambda t: t.id)
def test_what_a_kind_says_agrees_with_itself(template: Template) -> None:
    assert [check.message for check in card_checks(card_of(template))] == []


@pytest.mark.parametrize("template", [t for t in ALL if t.chemistry], ids=lambda t: t.id)
def test_a_card_is_known_again_by_its_kind(template: Template) -> None:
    assert template_of(card_of(template)) is template


def test_a_card_that_says_nothing_of_its_chemistry_is_of_no_kind() -> None:
    assert template_of(CLEAR) is None
    assert all(asks(None, question) for question in FOLDABLE)


@pytest.mark.parametrize("template", ALL, ids=lambda t: t.id)
def test_a_kind_gives_no_figure_and_asks_for_what_it_leaves_open(template: Template) -> None:
    text = start_from(CardText(), template, None)
    assert dataclasses.replace(
        text, kind="", duty=None, chemistry=None, carrier=None, two_part=None, traits=frozenset(), hazards=frozenset()
    ) == CardText()  # fmt: skip
    for question, value in (("duty", template.duty), ("parts", template.two_part)):
        assert value is not None or asks(template, question)
    assert (Hazard.ISOCYANATES in template.hazards) is (template.chemistry is Chemistry.URETHANE)


def test_another_kind_keeps_what_was_typed_and_what_the_painter_chose() -> None:
    lacquer, epoxy = templates()["lacquer"], templates()["epoxy-primer"]
    text = start_from(CardText(), lacquer, None)
    text = dataclasses.replace(
        text, name="Grey", duty=Duty.SEALER, carrier=Carrier.WATER, hazards=text.hazards | {Hazard.DUST},
        traits=frozenset({Trait.DARK}), times={"flash": "10"}, maker="A maker",
    )  # fmt: skip
    text = start_from(text, epoxy, lacquer)
    assert (text.kind, text.name, text.maker, text.times) == ("epoxy-primer", "Grey", "A maker", {"flash": "10"})
    assert (text.duty, text.carrier) == (Duty.SEALER, Carrier.WATER)  # chosen by hand
    assert (text.chemistry, text.two_part) == (Chemistry.EPOXY, True)  # not touched
    assert text.hazards == {Hazard.DUST, Hazard.EPOXY, Hazard.SOLVENT}
    assert text.traits == {Trait.DARK}


@examples(100)
@given(st.lists(st.sampled_from(ALL), min_size=1, max_size=4))
def test_whatever_kinds_were_tried_the_last_alone_speaks(tried: list[Template]) -> None:
    text, before = CardText(name="N", film="20"), None
    for template in tried:
        text, before = start_from(text, template, before), template
    assert text == start_from(CardText(name="N", film="20"), tried[-1], None)


def test_a_kind_says_what_it_chose() -> None:
    assert template_words(templates()["epoxy-primer"]) == (
        "Epoxy primer: two-part, primer, epoxy, solvent leaves it. "
        "It can hurt by epoxy resin, solvent vapour; its safety data sheet decides."
    )
    assert template_words(templates()["other"]) == "Something else: every question is asked."


# --- the table -------------------------------------------------------------------------------------


def broken(tmp_path: Path, change: Any) -> Path:
    table = json.loads(resource("templates.json").read_text(encoding="utf-8"))
    change(table)
    path = tmp_path / "templates.json"
    path.write_text(json.dumps(table), encoding="utf-8")
    return path


@pytest.mark.parametrize(
    ("change", "place"),
    [
        (lambda t: t["templates"][1].update(id="lacquer"), "$.templates[1].id"),
        (lambda t: t["templates"][2]["asks"].append("colour"), "$.templates[2].asks"),
        (lambda t: t["templates"][0].update(chemistry="lead"), "$.templates[0].chemistry"),
        (lambda t: t["templates"][3].update(flash="PT10M"), "flash"),
        (lambda t: t["templates"][4].pop("source"), "source"),
        (lambda t: t["templates"][5]["hazards"].append("cold"), "$.templates[5].hazards"),
    ],
)
def test_a_slip_in_the_table_is_named_with_its_place(tmp_path: Path, change: Any, place: str) -> None:
    with pytest.raises(TableFault) as fault:
        read_templates(broken(tmp_path, change))
    assert place in str(fault.value)


def test_the_table_as_it_is_reads_whole(tmp_path: Path) -> None:
    assert read_templates(broken(tmp_path, lambda _: None)) == templates()
    assert replace(ALL[0], id="x") != ALL[0]
