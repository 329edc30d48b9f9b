"""`benchtool rules`: every rule with its reason and its source, the painter's own file, and the manual's page."""

import json
from pathlib import Path
from typing import Any

import pytest
from cli.asking import ask

from benchtool.rules.engine import ALL, BY_ID
from benchtool.session.resources import resource
from benchtool.sheets.rules_page import built_in, family_words, matching, rules_page

MOON = {"id": "moon", "name": "Moon", "weight": "note", "words": "No.", "when": [{"of": "moon", "value": "full"}]}
DRY = {
    "id": "dry",
    "name": "Dry enough",
    "weight": "caution",
    "words": "Wait for the cleaner to leave",
    "remedy": "Have a coffee.",
    "require": [{"of": "cleaned", "is": "at least", "value": "30 min"}],
}


def kept(folder: Path, *rules: Any) -> str:
    path = folder / "shop-rules.json"
    path.write_text(json.dumps({"format": "bench rules", "schema": 1, "rules": rules}), encoding="utf-8")
    return str(path)


def test_every_rule_is_listed_with_its_title_reason_remedy_and_source() -> None:
    listed = ask("rules", "--json").values["rules"]
    assert [r["id"] for r in listed] == [line.id for line in built_in()]
    assert {r["id"] for r in listed} == set(BY_ID)
    assert len(listed) >= 60
    for row in listed:
        rule = BY_ID[row["id"]]
        assert (row["family"], row["severity"], row["own"]) == (rule.family, rule.severity.value, False)
        assert (row["title"], row["remedy"]) == (rule.title, rule.remedy)
        assert (row["reason"], row["source"]) == (rule.reason, rule.source)


def test_the_families_stand_together_under_a_name_of_their_own() -> None:
    families = [line.family for line in built_in()]
    runs = [f for i, f in enumerate(families) if i == 0 or families[i - 1] != f]
    assert len(runs) == len(set(runs))
    headings = [family_words(family) for family in runs]
    assert len(headings) == len(set(headings))


def test_words_narrow_the_list_wherever_they_stand() -> None:
    some = [r["id"] for r in ask("rules", "RECOAT", "stop", "--json").values["rules"]]
    assert "timing.recoat-early" in some
    assert 0 < len(some) < len(ALL)
    assert [line.id for line in matching(built_in(), "timing.tape")] == ["timing.tape"]
    assert [line.id for line in matching(built_in(), "UNCOUNTED")] == ["mixing.guessed"]  # in its title alone
    assert [line.id for line in matching(built_in(), "raking")] == ["surface.mark-disagrees"]  # in its remedy alone
    assert ask("rules", "no-such-word-anywhere").out == "No rule holds these words.\n"


def test_the_text_names_family_rule_reason_remedy_and_source() -> None:
    text = ask("rules", "promoter.paint-refused").out
    assert text.startswith(
        "Promoter and activator\n\n  No promoter on a material that refuses paint (stop)\n    PE, PP, "
    )
    assert "    What to do: Put an adhesion promoter under the first layer, and prove it on a test strip.\n" in text
    assert "    Source: published critical surface tensions" in text
    assert text.endswith("    Its name: promoter.paint-refused\n")
    assert all(len(row) <= 100 for row in ask("rules").out.splitlines())


def test_a_file_of_own_rules_is_listed_first(tmp_path: Path) -> None:
    said = ask("rules", "--own", kept(tmp_path, DRY), "--json")
    first = said.values["rules"][0]
    assert said.status == 0
    assert first == {
        "id": "shop.dry",
        "title": "Dry enough",
        "family": "shop",
        "severity": "caution",
        "reason": "In any job, the cleaning must be at least 30 min ago; else: caution.",
        "source": "your own rule",
        "remedy": "Have a coffee.",
        "own": True,
        "words": "Wait for the cleaner to leave",
    }
    text = ask("rules", "--own", kept(tmp_path, DRY), "coffee").out
    assert text.startswith(
        "Your own rules\n\n  Dry enough (caution)\n    Wait for the cleaner to leave\n    In any job, "
    )
    assert "    What to do: Have a coffee.\n    Source: your own rule.\n    Its name: shop.dry\n" in text


def test_a_rule_that_is_skipped_is_named_with_its_place_and_is_trouble(tmp_path: Path) -> None:
    said = ask("rules", "--own", kept(tmp_path, DRY, MOON), "--json")
    assert said.status == 1
    assert said.values["skipped"] == [
        {"name": "Moon", "message": "“moon” is nothing that a rule can look at.", "place": "$.rules[1].when[0].of"}
    ]
    assert [r["id"] for r in said.values["rules"] if r["own"]] == ["shop.dry"]
    assert "Moon: “moon” is nothing that a rule can look at. ($.rules[1].when[0].of)" in ask(
        "rules", "--own", kept(tmp_path, DRY, MOON)
    ).out.replace("\n    ", " ")


def test_a_broken_file_is_told(tmp_path: Path) -> None:
    path = tmp_path / "mine.json"
    path.write_text("[", encoding="utf-8")
    said = ask("rules", "--own", str(path), "--json")
    assert said.status == 1
    [skipped] = said.values["skipped"]
    assert skipped["message"].startswith("Your rules can't be read from mine.json: ")


@pytest.mark.parametrize("argv", [("--own", "no-such-file.json"), ("--page", "tape"), ("--nonsense",)])
def test_input_that_is_no_use_is_told_in_one_line(argv: tuple[str, ...]) -> None:
    assert ask("rules", *argv).status == 2


def test_the_manuals_page_is_made_from_the_rules_as_they_are() -> None:
    """Where this fails: benchtool rules --page > resources/rules.md."""
    page = ask("rules", "--page").out
    assert page == rules_page() == ask("rules", "--page", "--json").values["page"]
    assert resource("rules.md").read_text(encoding="utf-8") == page


def test_the_page_holds_every_rule() -> None:
    page = rules_page()
    for rule in ALL:
        assert f"**{rule.title}** ({rule.severity.value}). " in page
        assert f"- What to do: {rule.remedy}\n- Source: " in page
        assert f"- Its name: `{rule.id}`\n" in page
    assert page.count("\n## ") == len({rule.family for rule in ALL})
