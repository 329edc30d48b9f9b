"""The page of rules: found by words and explained; the painter's own written, tried, changed, taken out and back."""

import json
from dataclasses import replace
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication

from benchtool.bench.controls import BenchButton
from benchtool.bench.findings import FindingsPane, explained
from benchtool.bench.rules import RulesPage
from benchtool.job.shoprules import Condition, ShopRule, Weight
from benchtool.rules.engine import ALL, every, grouped
from benchtool.rules.ownterms import understood
from benchtool.session.rulespage import rows
from benchtool.session.shoprules import OwnRules, RuleKeeper
from benchtool.sheets.rules_page import family_words

MINE = ShopRule(
    id="bare",
    name="No bare plastic",
    weight=Weight.CAUTION,
    words="Scuff it first.",
    when=(Condition(of="material", value="plastic"), Condition(of="goes on", value="the bare piece")),
)


@pytest.fixture
def rules(bench: Any, tmp_path: Path) -> Any:
    """The page over the demo job, with a file of rules of its own."""
    keeper = RuleKeeper(tmp_path / "rules", bench.session.tables.substrates)
    keeper.path.parent.mkdir()

    def take() -> None:
        bench.session.tables = keeper.own.into(bench.session.tables)
        for document in bench.session.documents:
            document._look()

    keeper.subscribe(take)
    page = RulesPage(bench.window.look, bench.session, keeper)
    said: list[str] = []
    page.said.connect(said.append)
    bench.window.near.pages.addWidget(page)
    bench.window.near.pages.setCurrentWidget(page)
    page.ask()
    return SimpleNamespace(page=page, keeper=keeper, said=said, bench=bench, list=page.list, form=page.form)


def click(page: Any, name: str) -> None:
    button = page.findChild(BenchButton, name)
    assert button is not None
    assert button.isVisibleTo(page), name
    button.click()


def press(sheet: Any, key: Qt.Key) -> None:
    QTest.keyClick(sheet.asks[sheet.first].stops()[0], key)


def keys(rules: Any) -> list[str]:
    picks = rules.list.picks.list
    return [picks.item(i).data(Qt.ItemDataRole.UserRole) for i in range(picks.count())]


def choose(form: Any, of: str, *values: str) -> None:
    """Choose a term, and what it is to be, and put it in no rule."""
    form.of.choose(of)
    form.of.chosen.emit(of)
    for value in values:
        form.values.buttons[value].click()


def put(rules: Any, group: str, of: str, *, typed: str = "", how: str = "", values: tuple[str, ...] = ()) -> None:
    form = rules.form
    form.findChild(BenchButton, f"rule-group-{group}").click()
    form.of.choose(of)
    form.of.chosen.emit(of)
    if how:
        form.how.buttons[how].click()
    for value in values:
        form.values.buttons[value].click()
    form.value.edit.setText(typed)
    click(rules.page, "rule-put-condition")


# --- the list ----------------------------------------------------------------------------------------


def test_every_rule_is_listed_and_each_is_told_in_full(rules: Any) -> None:
    assert sorted(keys(rules)) == sorted(r.id for r in ALL)
    for rule in ALL:
        rules.list.show_rule(rule.id)
        assert rules.list.top.text() == rule.title
        assert rules.list.family.text() == f"{family_words(rule.family)}, {rule.severity.value}"
        assert rules.list.about.text() == rule.reason
        assert rules.list.remedy.text() == f"What to do: {rule.remedy}"
        assert rule.source.rstrip(".") in rules.list.source.text()
        assert rule.id in rules.list.name.text()


def test_a_line_of_the_list_tells_title_family_and_severity(rules: Any) -> None:
    told = {row.key: (row.name, row.detail) for row in rules.list._listed}
    assert told["timing.tape"] == ("Tape on paint that has not hardened", "Timing, stop")
    rules.keeper.keep(MINE)
    rules.page.ask("shop.bare")
    assert ("shop.bare", "No bare plastic", "Your own rules, caution") in rules.list._listed
    assert rules.list.top.text() == "No bare plastic"
    assert not rules.list.remedy.isVisibleTo(rules.page)


def test_words_narrow_the_list(rules: Any) -> None:
    rules.list.picks.search.edit.setText("")
    QTest.keyClicks(rules.list.picks.search.edit, "Recoat stop")
    some = keys(rules)
    assert "timing.recoat-closed" in some
    assert len(some) < len(ALL) / 3
    QTest.keyClicks(rules.list.picks.search.edit, " nonsense")
    assert keys(rules) == []
    assert "No rule holds these words." in rules.list.picks.hint.text()


def test_a_finding_leads_to_its_rule_and_what_it_says_now(rules: Any) -> None:
    finding = next(f for f in every(rules.bench.session.findings()) if not f.rule.startswith("shop."))
    rules.page.ask(finding.rule)
    assert rules.list.picks.value == finding.rule
    assert finding.message in rules.list.now.text()


def test_escape_leaves_the_page_and_the_form_goes_back_to_the_list(rules: Any) -> None:
    gone: list[bool] = []
    rules.page.left.connect(lambda: gone.append(True))
    rules.page.write()
    press(rules.form, Qt.Key.Key_Escape)
    assert rules.page.pages.currentWidget() is rules.list
    assert not gone
    rules.list.back.click()
    assert gone == [True]


# --- a rule of one's own -----------------------------------------------------------------------------


def test_a_rule_is_written_read_back_tried_and_kept(rules: Any) -> None:
    click(rules.page, "rules-list-go")
    form = rules.form
    form.rule_name.edit.setText("Damp days")
    form.words.edit.setText("Wait for a dry day.")
    form.weight.buttons["stop"].click()
    put(rules, "when", "material", values=("plastic", "wood"))
    put(rules, "require", "air humidity", how="at most", typed="40 %")
    assert form.sentence.text() == (
        "Where the kind of material is plastic or wood, the humidity must be at most 40 %; else: stop."
    )
    assert form.tried.text().startswith("On this job it would speak ")
    assert "Your rule: " in form.tried.text()
    press(rules.form, Qt.Key.Key_Escape)
    rules.page.write()
    assert form.rule_name.text() == "Damp days"
    click(rules.page, "rule-form-go")
    [kept] = rules.keeper.own.rules
    assert kept == ShopRule(
        id="damp-days",
        name="Damp days",
        weight=Weight.STOP,
        words="Wait for a dry day.",
        when=(Condition(of="material", is_="one of", value=("plastic", "wood")),),
        require=(Condition(of="air humidity", is_="at most", value="40 %"),),
    )
    assert rules.said[-1] == "Damp days is among your rules."
    assert rules.list.picks.value == "shop.damp-days"
    assert any(f.rule == "shop.damp-days" for f in every(rules.bench.session.findings()))
    rules.page.write()
    assert form.rule_name.text() == ""


def test_a_condition_in_hand_counts_when_the_rule_is_kept(rules: Any) -> None:
    rules.page.write()
    form = rules.form
    form.rule_name.edit.setText("Clean hands")
    form.words.edit.setText("Wear gloves.")
    choose(form, "material", "plastic")
    click(rules.page, "rule-form-go")
    assert rules.keeper.rule("clean-hands").when == (Condition(of="material", value="plastic"),)
    rules.page.write("clean-hands")
    form.conditions.choose("when:0")
    form.conditions.chosen.emit("when:0")
    form.values.buttons["plastic"].click()
    form.values.buttons["metal"].click()
    click(rules.page, "rule-form-go")
    assert rules.keeper.rule("clean-hands").when == (Condition(of="material", value="metal"),)
    rules.page.write("clean-hands")
    form.conditions.choose("when:0")
    form.conditions.chosen.emit("when:0")
    click(rules.page, "rule-form-go")
    assert rules.keeper.rule("clean-hands").when == (Condition(of="material", value="metal"),)


@pytest.mark.parametrize("of", ["material", "substrate", "air humidity"])
def test_the_button_that_puts_a_condition_in_is_always_in_view(rules: Any, of: str) -> None:
    rules.page.resize(1280, 576)
    rules.page.show()
    rules.page.write()
    assert rules.form.put.isHidden()
    choose(rules.form, of)
    QApplication.processEvents()
    assert rules.form.put.isVisible()
    assert rules.form.put.visibleRegion().boundingRect() == rules.form.put.rect()


def test_a_condition_that_is_half_done_keeps_nothing_and_says_so(rules: Any) -> None:
    rules.keeper.keep(MINE)
    rules.page.write("bare")
    form = rules.form
    form.words.edit.setText("Scuff it twice.")
    choose(form, "layer")
    click(rules.page, "rule-form-go")
    assert rules.keeper.rule("bare").words == "Scuff it first."
    assert rules.said[-1].startswith("Not yet: the condition in hand is not finished. Say with what “layer”")
    click(rules.page, "rule-new-condition")
    click(rules.page, "rule-form-go")
    assert rules.keeper.rule("bare").words == "Scuff it twice."


def test_a_condition_is_changed_moved_and_taken_out(rules: Any) -> None:
    rules.keeper.keep(MINE)
    rules.page.ask("shop.bare")
    press(rules.list, Qt.Key.Key_Return)
    form = rules.form
    assert form.rule_name.text() == "No bare plastic"
    form.conditions.choose("when:0")
    form.conditions.chosen.emit("when:0")
    assert form.values.values == {"plastic"}
    form.values.buttons["plastic"].click()
    form.values.buttons["metal"].click()
    click(rules.page, "rule-put-condition")
    form.conditions.choose("when:1")
    form.conditions.chosen.emit("when:1")
    form.group.buttons["require"].click()
    click(rules.page, "rule-put-condition")
    assert form.sentence.text() == (
        "Where the kind of material is metal, what the layer goes on must be the bare piece; else: caution."
    )
    form.conditions.choose("require:0")
    form.conditions.chosen.emit("require:0")
    click(rules.page, "rule-drop-condition")
    assert form.sentence.text() == "Where the kind of material is metal: caution."
    click(rules.page, "rule-form-go")
    assert rules.keeper.rule("bare").when == (Condition(of="material", value="metal"),)
    assert rules.keeper.rule("bare").require == ()


def test_what_is_wrong_is_told_at_its_field_and_stays_as_typed(rules: Any) -> None:
    rules.page.write()
    click(rules.page, "rule-form-go")
    assert rules.said[-1] == "Not yet: give the rule a name."
    assert rules.form.words.fault.text() == "Write what you want to be told."
    assert rules.form.conditions.fault.text()
    put(rules, "require", "abraded", typed="4")
    assert rules.form.value.fault.text().startswith("“4” of what?")
    assert rules.form.value.text() == "4"
    put(rules, "when", "layer")
    assert rules.form.values.fault.text() == "Say with what “layer” is compared."
    assert rules.form.text.when == ()
    assert rules.form.text.require == ()


def test_the_values_of_a_substrate_are_those_of_the_table(rules: Any) -> None:
    rules.page.write()
    form = rules.form
    form.of.choose("substrate")
    form.of.chosen.emit("substrate")
    click(rules.page, "rule-put-condition")
    assert form.substrates.fault.text() == "Choose the substrate from the list."
    form.substrates.choose("abs")
    click(rules.page, "rule-put-condition")
    assert form.text.when == (Condition(of="substrate", value="abs"),)


WRITTEN = [
    Condition(of="substrate", value="abs"),
    Condition(of="substrate", is_="is not", value="abs"),
    Condition(of="substrate", is_="one of", value=("steel", "aluminium", "glass")),
    Condition(of="Layer", is_="One of", value=("Base", "clear")),
    Condition(of="face", is_="is not", value="behind clear"),
    Condition(of="card", is_="contains", value="Blue, deep"),
    Condition(of="maker", is_="one of", value=("Corner shop", "Other")),
    Condition(of="coats", is_="at most", value=3),
    Condition(of="film", is_="at least", value="1.5 mil"),
    Condition(of="air temperature", is_="at most", value="-2.5 °C"),
    Condition(of="stirred", is_="at most", value="90 min"),
]


@pytest.mark.parametrize("condition", WRITTEN, ids=lambda c: f"{c.of} {c.is_}")
def test_a_condition_that_is_opened_and_put_back_says_the_same(rules: Any, condition: Condition) -> None:
    before = understood(condition)
    rules.keeper.keep(ShopRule(id="any", name="Any", weight=Weight.NOTE, words="x", when=(condition,)))
    rules.page.write("any")
    form = rules.form
    form.conditions.choose("when:0")
    form.conditions.chosen.emit("when:0")
    click(rules.page, "rule-put-condition")
    [after] = form.text.when
    assert (after.of, understood(after).compare) == (before.term.id, before.compare)
    assert set(understood(after).values) == set(before.values)


def test_several_substrates_of_the_file_give_way_to_another_that_is_chosen(rules: Any) -> None:
    several = Condition(of="substrate", is_="one of", value=("steel", "glass"))
    rules.keeper.keep(ShopRule(id="any", name="Any", weight=Weight.NOTE, words="x", when=(several,)))
    rules.page.write("any")
    form = rules.form
    form.conditions.choose("when:0")
    form.conditions.chosen.emit("when:0")
    form.substrates.choose("abs")
    click(rules.page, "rule-put-condition")
    assert form.text.when == (Condition(of="substrate", value="abs"),)


def test_a_new_rule_takes_the_place_of_none_that_is_skipped(rules: Any) -> None:
    moon = {"id": "moon", "name": "Moon", "weight": "note", "words": "x", "when": [{"of": "moon", "value": "full"}]}
    text = json.dumps({"format": "bench rules", "schema": 1, "rules": [moon]})
    rules.keeper.path.write_text(text, encoding="utf-8")
    rules.page.write()
    rules.form.rule_name.edit.setText("Moon")
    rules.form.words.edit.setText("No.")
    put(rules, "when", "gun", values=("airbrush",))
    click(rules.page, "rule-form-go")
    held = json.loads(rules.keeper.path.read_text(encoding="utf-8"))["rules"]
    assert held[0] == moon
    assert [r["id"] for r in held] == ["moon", "moon-2"]


def test_a_rule_is_taken_out_and_put_back(rules: Any) -> None:
    rules.keeper.keep(MINE)
    rules.page.ask("shop.bare")
    click(rules.page, "rules-remove")
    assert rules.keeper.own.rules == ()
    assert "shop.bare" not in keys(rules)
    click(rules.page, "rules-put-back")
    assert rules.keeper.own.rules == (MINE,)
    assert rules.list.picks.value == "shop.bare"


def test_the_rules_of_the_tool_can_not_be_changed(rules: Any) -> None:
    rules.page.ask("timing.tape")
    for name in ("rules-change", "rules-remove", "rules-put-back"):
        assert not rules.page.findChild(BenchButton, name).isVisibleTo(rules.page)


def test_a_rule_that_is_skipped_is_listed_with_its_place(rules: Any) -> None:
    moon = {"id": "m", "name": "Moon", "weight": "note", "words": "x", "when": [{"of": "moon", "value": "full"}]}
    text = json.dumps({"format": "bench rules", "schema": 1, "rules": [moon]})
    rules.keeper.path.write_text(text, encoding="utf-8")
    rules.page.ask("skipped:0")
    assert rules.list.top.text() == "Skipped: Moon"
    assert "$.rules[0].when[0].of" in rules.list.source.text()
    assert str(rules.keeper.path) in rules.list.name.text()


def test_a_broken_file_is_told_and_nothing_is_lost(rules: Any) -> None:
    rules.keeper.path.write_text("[", encoding="utf-8")
    rules.page.ask()
    assert "can't be read" in rules.list.fault.text()
    rules.page.write()
    rules.form.rule_name.edit.setText("Mine")
    rules.form.words.edit.setText("No.")
    put(rules, "when", "gun", values=("airbrush",))
    click(rules.page, "rule-form-go")
    assert "can't be read" in rules.said[-1]
    assert rules.page.pages.currentWidget() is rules.form
    assert rules.form.rule_name.text() == "Mine"
    assert rules.keeper.path.read_text(encoding="utf-8") == "["


def test_words_of_the_painter_are_never_markup(rules: Any) -> None:
    made = ShopRule(id="b", name="<b>B</b>", weight=Weight.NOTE, words="<i>no</i> {x} &amp;", when=MINE.when)
    rules.keeper.keep(made)
    rules.page.ask("shop.b")
    assert rules.list.top.text() == "<b>B</b>"
    assert rules.list.about.text().startswith("<i>no</i> {x} &amp;\n")
    assert rules.list.about.textFormat() is Qt.TextFormat.PlainText


def test_without_a_keeper_the_rules_are_there_and_nothing_can_be_written(bench: Any) -> None:
    page, said = RulesPage(bench.window.look, bench.session), []
    bench.bot.addWidget(page)
    page.said.connect(said.append)
    page.ask("timing.tape")
    assert page.list.top.text() == "Tape on paint that has not hardened"
    page.list.go.click()
    assert page.pages.currentWidget() is page.list
    assert said
    listed = rows(OwnRules(), bench.session.tables)
    assert [row.key for row in listed] == [row.key for row in rows(OwnRules(), bench.session.tables, " ")]


# --- the findings ------------------------------------------------------------------------------------


def test_one_cause_is_one_row_that_tells_the_others_when_it_is_opened(bench: Any, monkeypatch: Any) -> None:
    pane = bench.window.findChild(FindingsPane)
    now = bench.clock.now()
    alone = [f for f in every(bench.session.findings(now)) if not f.routine and f.clears_at is None][:2]
    assert len(alone) == 2
    both = [replace(f, cause="one") for f in alone]
    monkeypatch.setattr(bench.session, "findings", lambda _=None: grouped(both))
    pane.refresh(now)
    [row] = [r for r in pane._rows if not r.isHidden()]
    lead, echo = row.finding, row.finding.echoes[0]
    assert row.also.text() == "And one more of the same cause."
    assert echo.message not in row.why.text()
    asked: list[str] = []
    pane.why_asked.connect(asked.append)
    row._toggle()
    assert row.also.isHidden()
    assert f"Also, {echo.severity.value}: {echo.message} {echo.remedy}" in row.why.text()
    assert row.why.text().splitlines() == list(explained(lead))
    assert sum(line.startswith("Why: ") for line in explained(lead)) == 2
    row.rule_page.click()
    assert asked == [lead.rule]


def test_what_is_not_shown_in_the_pane_hides_nothing_of_its_cause(bench: Any, monkeypatch: Any) -> None:
    pane = bench.window.findChild(FindingsPane)
    now = bench.clock.now()
    lasting = next(f for f in every(bench.session.findings(now)) if f.clears_at is None and not f.routine)
    waits = replace(lasting, key="waits", layer="another", clears_at=now)
    routine = replace(lasting, key="routine", routine=True)
    found = grouped([replace(f, cause="one") for f in (routine, waits, lasting)])
    monkeypatch.setattr(bench.session, "findings", lambda _=None: found)
    pane.refresh(now)
    assert [(r.finding.key, r.finding.echoes) for r in pane._rows if not r.isHidden()] == [(lasting.key, ())]
