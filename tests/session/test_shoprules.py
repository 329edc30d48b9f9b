"""The keeper of the painter's own rules: keeping, removing and bringing back, and what is skipped."""

import json
from pathlib import Path
from typing import Any

import pytest

from benchtool.job.shoprules import Condition, ShopRule, Weight
from benchtool.session.shoprules import OwnRules, RuleKeeper, RuleNotKept, own_rules
from benchtool.session.tables import load_tables
from benchtool.store import shoprules
from benchtool.store.shoprules import written

SUBSTRATES = load_tables().substrates


def rule(rule_id: str = "one", of: str = "layer", value: Any = "primer", **more: Any) -> ShopRule:
    fields = {"name": rule_id.capitalize(), "weight": Weight.STOP, "words": "No.", **more}
    return ShopRule(id=rule_id, when=(Condition(of=of, value=value),), **fields)


@pytest.fixture
def keeper(tmp_path: Path) -> RuleKeeper:
    return RuleKeeper(tmp_path, SUBSTRATES)


def ids(keeper: RuleKeeper) -> list[str]:
    return [r.id for r in keeper.own.rules]


def test_what_is_kept_is_there_in_order_and_in_another_window_too(keeper: RuleKeeper, tmp_path: Path) -> None:
    other, told = RuleKeeper(tmp_path, SUBSTRATES), []
    assert other.own == OwnRules()
    keeper.subscribe(lambda: told.append(ids(keeper)))
    keeper.keep(rule("one"))
    keeper.keep(rule("two"))
    keeper.keep(rule("one", words="Never."))
    assert told == [["one"], ["one", "two"], ["one", "two"]]
    assert other.own == keeper.own == own_rules(tmp_path, SUBSTRATES) == own_rules(keeper.path, SUBSTRATES)
    assert other.rule("one") == rule("one", words="Never.")
    assert other.rule("three") is None


def test_a_rule_removed_is_brought_back_in_its_place(keeper: RuleKeeper) -> None:
    for name in ("one", "two", "three"):
        keeper.keep(rule(name))
    assert not keeper.can_put_back
    assert keeper.remove("two") == rule("two")
    assert ids(keeper) == ["one", "three"]
    assert keeper.can_put_back
    assert keeper.put_back() == rule("two")
    assert ids(keeper) == ["one", "two", "three"]
    assert not keeper.can_put_back
    for act in (keeper.put_back, lambda: keeper.remove("four")):
        with pytest.raises(RuleNotKept):
            act()


def test_one_whose_id_was_taken_meanwhile_is_not_brought_back_over_it(keeper: RuleKeeper) -> None:
    keeper.keep(rule("one"))
    keeper.remove("one")
    keeper.keep(rule("one", words="Another."))
    with pytest.raises(RuleNotKept, match="Another rule has its id"):
        keeper.put_back()
    assert keeper.rule("one") == rule("one", words="Another.")


def test_what_can_t_be_understood_is_not_kept(keeper: RuleKeeper) -> None:
    with pytest.raises(RuleNotKept, match="no substrate of this tool"):
        keeper.keep(rule(of="substrate", value="cheese"))
    assert not keeper.path.exists()


def test_an_unknown_condition_is_skipped_with_its_place_and_stays_in_the_file(keeper: RuleKeeper) -> None:
    moon = written(rule("moon", of="moon", value="full"))
    keeper.path.write_text(json.dumps({"format": "bench rules", "schema": 1, "rules": [moon, 7]}), encoding="utf-8")
    assert keeper.own.rules == ()
    assert [(s.name, s.place) for s in keeper.own.skipped] == [
        ("Moon", "$.rules[0].when[0].of"),
        ("number 2", "$.rules[1]"),
    ]
    keeper.keep(rule("one"))
    keeper.remove("one")
    keeper.put_back()
    assert json.loads(keeper.path.read_text(encoding="utf-8"))["rules"] == [moon, 7, written(rule("one"))]
    assert ids(keeper) == ["one"]
    tables = keeper.own.into(load_tables())
    assert (tables.shop_rules, len(tables.skipped)) == ((rule("one"),), 2)


def test_a_rule_that_is_skipped_is_never_written_over_by_one_of_its_name(keeper: RuleKeeper) -> None:
    misshapen = {**written(rule("one")), "weight": "grave"}
    moon = written(rule("moon", of="moon", value="full"))
    held = [misshapen, written(rule("one", words="The good one.")), moon]
    keeper.path.write_text(json.dumps({"format": "bench rules", "schema": 1, "rules": held}), encoding="utf-8")
    assert ids(keeper) == ["one"]
    assert {"one", "moon"} <= set(keeper.taken)
    keeper.keep(rule("one", words="Changed."))
    assert [r["words"] for r in rules_of(keeper)] == ["No.", "Changed.", "No."]
    assert rules_of(keeper)[0] == misshapen
    assert keeper.remove("one").words == "Changed."
    assert rules_of(keeper) == [misshapen, moon]
    keeper.put_back()
    assert [r["words"] for r in rules_of(keeper)] == ["No.", "Changed.", "No."]
    keeper.remove("one")
    keeper.keep(rule("one", words="New."))
    assert rules_of(keeper) == [misshapen, moon, written(rule("one", words="New."))]


def rules_of(keeper: RuleKeeper) -> list[Any]:
    held: list[Any] = json.loads(keeper.path.read_text(encoding="utf-8"))["rules"]
    return held


def test_a_broken_file_is_told_and_left_alone(keeper: RuleKeeper) -> None:
    keeper.path.write_text("{", encoding="utf-8")
    assert keeper.fault
    assert [(s.name, s.why) for s in keeper.own.skipped] == [("", keeper.fault)]
    with pytest.raises(RuleNotKept):
        keeper.keep(rule())
    assert keeper.path.read_text(encoding="utf-8") == "{"
    keeper.path.unlink()
    keeper.keep(rule())
    assert (keeper.fault, ids(keeper)) == ("", ["one"])


def test_a_full_disk_is_told_and_nothing_is_lost(keeper: RuleKeeper, full_disk: Any) -> None:
    keeper.keep(rule())
    with full_disk(), pytest.raises(RuleNotKept, match="full"):
        keeper.remove("one")
    assert ids(keeper) == ["one"]
    assert not keeper.can_put_back


def test_the_file_has_the_name_that_the_painter_is_told() -> None:
    assert shoprules.NAME == "shop-rules.json"
