"""A card half typed outlives the window: by its draft on disk, which goes once the card is kept."""

from dataclasses import replace
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest
from builders import CLEAR, PROMOTER
from planning_page import Plan

from benchtool.bench.cardform import DRAFT_MS, CardForm
from benchtool.bench.look import Look
from benchtool.session.cardreading import CardText
from benchtool.session.drafts import CardDraft, CardDrafts
from benchtool.session.planning import CardChoice, Where


@pytest.fixture
def plan(qtbot: Any, clock: Any, tmp_path: Path) -> Plan:
    made = Plan(qtbot, clock, tmp_path)
    made.page.card.drafts = CardDrafts(tmp_path)
    for card in (CLEAR, PROMOTER):
        made.session.library.keep(card)
    return made


def ask(plan: Plan, choice: CardChoice | None = None) -> CardForm:
    plan.page.ask_card(choice)
    plan.pages.setCurrentWidget(plan.page)
    return plan.page.card


def next_window(plan: Plan, tmp_path: Path, choice: CardChoice | None = None) -> CardForm:
    """The form of a window that knows only what is on disk."""
    form = CardForm(Look(), plan.session, CardDrafts(tmp_path))
    plan.bot.addWidget(form)
    form.ask(choice)
    return form


def test_what_is_typed_is_on_disk_before_the_window_has_any_word_of_it(plan: Plan, tmp_path: Path) -> None:
    form = ask(plan)
    form.take_kind("lacquer")
    plan.type_in("card-name", "Half a name")
    plan.type_in("card-flash", "12")
    plan.bot.waitUntil(lambda: CardDrafts(tmp_path).find("") is not None, timeout=DRAFT_MS + 5_000)
    again = next_window(plan, tmp_path)  # as after kill -9: nothing was told to the first
    assert again.name.text() == "Half a name"
    assert again.times["flash"].text() == "12"
    assert again.text().kind == "lacquer"
    assert "What you had typed is here again" in again.again_words.text()
    assert not again.again_words.isHidden()
    form.save_draft()
    again._saver.stop()


def test_leaving_the_form_writes_it_at_once(plan: Plan, tmp_path: Path) -> None:
    form = ask(plan, CardChoice(CLEAR, Where.LIBRARY))
    assert form.again_words.isHidden()
    plan.type_in("card-name", "Another clear")
    plan.page.left.emit()
    assert not form._saver.isActive()
    again = next_window(plan, tmp_path, CardChoice(CLEAR, Where.LIBRARY))
    assert again.name.text() == "Another clear"
    again._saver.stop()
    other = next_window(plan, tmp_path, CardChoice(PROMOTER, Where.LIBRARY))
    assert other.name.text() == PROMOTER.name
    assert other.again_words.isHidden()
    assert next_window(plan, tmp_path).name.text() == ""


def test_a_card_that_is_kept_leaves_no_draft(plan: Plan, tmp_path: Path) -> None:
    form = ask(plan, CardChoice(CLEAR, Where.LIBRARY))
    plan.type_in("card-name", "Another clear")
    form.save_draft()
    assert CardDrafts(tmp_path).find(form._draft[0]) is not None  # type: ignore[index]
    plan.click("plan-card-go")
    assert not (tmp_path / "drafts.json").exists()
    plan.page.left.emit()
    assert not (tmp_path / "drafts.json").exists()


def test_starting_over_and_typing_it_back_leave_no_draft(plan: Plan, tmp_path: Path) -> None:
    form = ask(plan, CardChoice(CLEAR, Where.LIBRARY))
    for undo in (lambda: plan.click("card-again"), lambda: plan.type_in("card-name", CLEAR.name)):
        plan.type_in("card-name", "Another clear")
        form.save_draft()
        assert (tmp_path / "drafts.json").exists()
        undo()
        form.save_draft()
        assert not (tmp_path / "drafts.json").exists()
    form._saver.stop()


def test_a_draft_of_a_card_changed_since_says_so(plan: Plan, tmp_path: Path) -> None:
    drafts = CardDrafts(tmp_path)
    choice = CardChoice(CLEAR, Where.LIBRARY)
    drafts.keep(choice.key, CardDraft(CardText(name="Mine"), CardText(name="As it was")))
    again = next_window(plan, tmp_path, choice)
    assert again.name.text() == "Mine"
    assert "changed since" in again.again_words.text()
    again._saver.stop()


def test_a_card_of_a_job_goes_with_its_job(plan: Plan, tmp_path: Path) -> None:
    plan.piece()
    plan.layer()
    choice = CardChoice(plan.state.cards[PROMOTER.id], Where.JOB)
    ask(plan, choice)
    plan.type_in("card-name", "For this job only")
    plan.page.left.emit()
    plan.session.create(tmp_path / "other.json", "Another job")
    plan.session.current.job = replace_id(plan.session.current.job)
    assert next_window(plan, tmp_path, choice).name.text() == PROMOTER.name


def replace_id(job: Any) -> Any:
    from msgspec.structs import replace as anew

    return anew(job, id="job-of-another-day")


def test_a_disk_that_takes_nothing_stops_no_key(plan: Plan, tmp_path: Path, full_disk: Any) -> None:
    form = ask(plan)
    form.take_kind("lacquer")
    with full_disk():
        plan.type_in("card-name", "Half")
        form.save_draft()
    assert form.name.text() == "Half"
    form.save_draft()
    assert CardDrafts(tmp_path).find("") is not None
    assert replace(form.text(), name="x") != form.text()


def test_the_window_has_its_drafts(bench: SimpleNamespace, folders: Any) -> None:
    form = bench.window.pages.plan.card
    assert form.drafts is not None
    bench.window.do("library")
    bench.window.pages.library.card_asked.emit(None)
    form.take_kind("lacquer")
    form.name.edit.setText("Half")
    bench.window.close()
    assert (folders.state / "drafts.json").exists()
