"""The file of the painter's own rules: a wrong rule spoils no other, and a broken file is left alone."""

import json
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from strategies import examples

from benchtool.job.shoprules import Condition, ShopRule, SkippedRule, Weight
from benchtool.store.shoprules import NotWritten, RuleFile, read_rules, rules_file, written

RULE = ShopRule(
    id="abraded",
    name="Metal skins over",
    weight=Weight.STOP,
    when=(Condition(of="material", value="metal"), Condition(of="substrate", is_="one of", value=("steel", "iron"))),
    require=(Condition(of="abraded", is_="at most", value="4 h"), Condition(of="coats", is_="at least", value=2)),
    words="Abrade it again.",
)
GOOD = written(RULE)


def kept(folder: Path, *rules: Any, **head: Any) -> Path:
    path = folder / "shop-rules.json"
    path.write_text(json.dumps({"format": "bench rules", "schema": 1, "rules": rules, **head}), encoding="utf-8")
    return path


def _in(folder: Path, *rules: Any) -> RuleFile:
    kept(folder, *rules)
    return rules_file(folder).read()


def test_a_rule_comes_back_as_it_was_kept(tmp_path: Path) -> None:
    rules_file(tmp_path).change(lambda _: RuleFile(rules=(GOOD,)))
    assert list(read_rules(rules_file(tmp_path).read())) == [RULE]
    text = json.loads((tmp_path / "shop-rules.json").read_text(encoding="utf-8"))
    assert (text["format"], text["schema"]) == ("bench rules", 1)
    assert text["rules"][0]["require"][0] == {"of": "abraded", "is": "at most", "value": "4 h"}


def test_without_a_file_there_are_no_rules(tmp_path: Path) -> None:
    file = rules_file(tmp_path)
    assert (file.read(), file.fault) == (RuleFile(), "")


KINDS = "A whole number or a number or text or a list belongs here and not a group of fields in { }"
NAMED = "Metal skins over"


def told(why: str, place: str, name: str = NAMED) -> SkippedRule:
    return SkippedRule(name=name, why=why, place=f"$.rules[1]{place}")


WRONG: list[tuple[Any, SkippedRule]] = [
    ({**GOOD, "weight": "grave"}, told("“grave” is none of the words that may stand here", ".weight")),
    ({**GOOD, "code": "rm"}, told("“code” is no field that belongs here", ".code")),
    ({**GOOD, "when": [{"of": "layer", "value": {"a": 1}}]}, told(KINDS, ".when[0].value")),
    ({"id": "x y"}, told("", "", "x y")),
    ("nonsense", told("A group of fields in { } belongs here and not text", "", "number 2")),
    (GOOD, told("Another rule above it has the id “abraded” already", ".id")),
]


@pytest.mark.parametrize(("raw", "said"), WRONG, ids=lambda x: str(x)[:40])
def test_a_wrong_rule_is_named_with_its_place_and_the_others_work(tmp_path: Path, raw: Any, said: SkippedRule) -> None:
    last = {**GOOD, "id": "last"}
    first, wrong, third = read_rules(_in(tmp_path, GOOD, raw, last))
    assert (first, third) == (RULE, ShopRule(**{**_fields(RULE), "id": "last"}))
    assert isinstance(wrong, SkippedRule)
    assert (wrong.name, wrong.place[: len(said.place)]) == (said.name, said.place)
    assert not said.why or sorted(wrong.why.lower().split()) == sorted(said.why.lower().split())


def _fields(rule: ShopRule) -> dict[str, Any]:
    return {name: getattr(rule, name) for name in rule.__struct_fields__}


BROKEN = ["", "[", '{"format": "bench rules", "schema": 1, "rules": [', '{"format": "bench job", "schema": 1}',
          '{"format": "bench rules", "schema": 0}', '{"format": "bench rules", "schema": 1, "rules": 3}',
          '{"format": "bench rules", "schema": 1, "more": 3}']  # fmt: skip


@pytest.mark.parametrize("text", BROKEN)
def test_a_broken_file_is_told_and_never_written_over(tmp_path: Path, text: str) -> None:
    path = tmp_path / "shop-rules.json"
    path.write_text(text, encoding="utf-8")
    file = rules_file(tmp_path)
    assert file.read() == RuleFile()
    assert file.fault.startswith("Your rules can't be read from shop-rules.json: ")
    with pytest.raises(NotWritten):
        file.change(lambda _: RuleFile(rules=(GOOD,)))
    assert path.read_text(encoding="utf-8") == text


def test_a_newer_file_is_read_and_not_written_to(tmp_path: Path) -> None:
    path = kept(tmp_path, GOOD, schema=2, colour="new")
    before, file = path.read_bytes(), rules_file(tmp_path)
    assert list(read_rules(file.read())) == [RULE]
    assert "newer version" in file.fault
    with pytest.raises(NotWritten):
        file.change(lambda _: RuleFile())
    assert path.read_bytes() == before


JSON = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats(allow_nan=False) | st.text(max_size=8),
    lambda inner: (
        st.lists(inner, max_size=3)
        | st.dictionaries(
            st.sampled_from(["id", "name", "weight", "when", "require", "words", "of", "is", "value"]), inner
        )
    ),
    max_leaves=8,
)


@examples(150)
@given(st.lists(JSON, max_size=4))
def test_whatever_stands_there_is_a_rule_or_is_named(raws: list[Any]) -> None:
    found = list(read_rules(RuleFile(rules=tuple(raws))))
    assert len(found) == len(raws)
    for i, each in enumerate(found):
        assert not isinstance(each, SkippedRule) or (each.name and each.why and each.place.startswith(f"$.rules[{i}]"))
