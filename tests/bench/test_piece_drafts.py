"""A piece half typed outlives the window: by its draft on disk, which goes once the piece is in the job."""

from pathlib import Path
from typing import Any

import pytest
from planning_page import Plan

from benchtool.bench.look import Look
from benchtool.bench.planforms import DRAFT_MS, PieceForm
from benchtool.job.events import Known, Shape
from benchtool.session.drafts import CardDrafts, PieceDrafts
from benchtool.session.planning import PieceText


@pytest.fixture
def plan(qtbot: Any, clock: Any, tmp_path: Path) -> Plan:
    made = Plan(qtbot, clock, tmp_path)
    made.session.drafts = lambda: CardDrafts(tmp_path / "drafts")
    made.page.piece.deleteLater()
    made.page.piece = PieceForm(made.look, made.session)
    made.page.pages.addWidget(made.page.piece)
    made.page.piece.entered.connect(lambda: made.page._enter(made.page.piece))
    return made


def next_window(plan: Plan) -> PieceForm:
    """The form of a window that knows only what is on disk."""
    form = PieceForm(Look(), plan.session)
    plan.bot.addWidget(form)
    form.ask(None)
    return form


def ask(plan: Plan) -> PieceForm:
    plan.page.ask("piece")
    plan.pages.setCurrentWidget(plan.page)
    return plan.page.piece


def on_disk(folder: Path, job: str) -> PieceText | None:
    return PieceDrafts(CardDrafts(folder / "drafts").file).find(job, "")


def test_a_new_piece_half_typed_is_there_after_a_crash(plan: Plan, tmp_path: Path) -> None:
    form, job = ask(plan), plan.session.writable().job.id
    form.name.edit.setText("Left fend")
    form.joined.edit.setText("brass insert")
    form.known.choose(Known.TOLD.value)
    form.shape.choose([Shape.NOOKS.value])
    typed = form.text()
    plan.bot.waitUntil(lambda: on_disk(tmp_path, job) == typed, timeout=DRAFT_MS + 5_000)
    assert next_window(plan).text() == typed  # as after kill -9: nothing was told to the first


def test_what_is_entered_or_emptied_again_is_kept_no_longer(plan: Plan, tmp_path: Path) -> None:
    form, job = ask(plan), plan.session.writable().job.id
    form.name.edit.setText("Left fender")
    form.save_draft()
    assert on_disk(tmp_path, job) is not None
    form.name.edit.setText("")
    form.save_draft()
    assert on_disk(tmp_path, job) is None
    form._fill(PieceText(name="Left fender", substrate="pp", known=Known.TOLD, flex=form.text().flex))
    form.flex.choose("rigid")
    form.save_draft()
    assert on_disk(tmp_path, job) is not None
    form.submit()
    assert not form._saver.isActive()
    assert on_disk(tmp_path, job) is None
    assert next_window(plan).name.text() == ""


def test_a_draft_that_is_no_piece_is_none(tmp_path: Path) -> None:
    drafts = PieceDrafts(CardDrafts(tmp_path).file)
    for told in ({"piece": 3}, {"typed": {}}, {"piece": {"known": "by magic"}}):
        drafts.file.put("piece|job|", told)
        assert drafts.find("job", "") is None
