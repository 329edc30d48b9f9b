"""The page on which a job is done again, and that of the job itself, in the real window."""

from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest
from builders import COLOUR, PROMOTER, JobBuilder, minutes
from msgspec.structs import replace
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QApplication

from benchtool.bench.again import AgainPage
from benchtool.bench.jobs import Jobs
from benchtool.job import events as ev
from benchtool.job.events import Again
from benchtool.job.state import fold
from benchtool.session.session import NotNow
from benchtool.store import jobfile

ENTER, TAB, SPACE, DOWN, ESC = (
    Qt.Key.Key_Return, Qt.Key.Key_Tab, Qt.Key.Key_Space, Qt.Key.Key_Down, Qt.Key.Key_Escape,
)  # fmt: skip
CONTROL = Qt.KeyboardModifier.ControlModifier


def two_panels() -> JobBuilder:
    b = JobBuilder().add(ev.JobDescribed, title="Side panels", customer="Ann").card(PROMOTER, COLOUR)
    for name in ("left", "right"):
        b.piece(name, name=f"{name.capitalize()} panel").layer(f"{name}-colour", COLOUR, 2)
    b.add(ev.PieceChanged, piece=replace(b.state.pieces["left"].piece, area_m2=0.5))
    b.ready("left-colour", make_mL=40).coats(2, apart=minutes(14)).empty(left_mL=10)
    return b


@pytest.fixture
def earlier(tmp_path: Path) -> Path:
    path = tmp_path / "side-panels.json"
    jobfile.save(path, two_panels().job)
    return path


@pytest.fixture
def page(bench: SimpleNamespace, earlier: Path) -> AgainPage:
    with bench.bot.waitActive(bench.window):
        bench.window.activateWindow()
    made = AgainPage(bench.window.look, bench.session)
    pages = bench.window.pages
    pages.addWidget(made)
    made.left.connect(pages.left)
    made.said.connect(pages.said)
    made.ask(earlier)
    pages.setCurrentWidget(made)
    return made


def press(bench: SimpleNamespace, key: Any, modifier: Any = Qt.KeyboardModifier.NoModifier) -> None:
    here = QApplication.focusWidget()
    assert here is not None
    (bench.bot.keyClicks if isinstance(key, str) else bench.bot.keyClick)(here, key, modifier)


def focus() -> str:
    here = QApplication.focusWidget()
    return here.objectName() if here is not None else ""


def test_a_repeat_by_keyboard_alone(bench: SimpleNamespace, page: AgainPage, earlier: Path) -> None:
    before = earlier.read_bytes()
    opened: list[Path] = []
    said: list[str] = []
    page.opened.connect(opened.append)
    page.said.connect(said.append)
    assert focus() == "again-how-repeat"
    press(bench, TAB)
    assert focus() == "again-pieces-0"
    press(bench, TAB)
    assert focus() == "again-area-left"
    press(bench, "1 m2")
    press(bench, TAB)
    assert focus() == "again-pieces-1"
    press(bench, SPACE)  # only the left one
    press(bench, TAB)
    press(bench, TAB)
    assert focus() == "again-title"
    press(bench, "More side panels")
    press(bench, TAB)
    press(bench, "Bert")
    press(bench, TAB)
    press(bench, "friday 16:00")
    press(bench, TAB)
    assert focus() == "again-offers-0"
    press(bench, SPACE)
    press(bench, ENTER, CONTROL)
    assert opened == [earlier.parent / "more-side-panels.json"]
    document = bench.session.current
    assert document.path == opened[0]
    state = fold(jobfile.load(opened[0]).job)
    assert (state.title, state.customer) == ("More side panels", "Bert")
    assert state.promised is not None
    assert list(state.pieces) == ["left"]
    assert state.pieces["left"].piece.area_m2 == 1.0
    assert state.cards["colour"].flash == minutes(14)
    assert not state.layers["left-colour"].started
    assert bench.window.pages.on_bench
    assert said == ["More side panels is begun."]
    assert earlier.read_bytes() == before


def test_nothing_is_taken_that_is_not_ticked(bench: SimpleNamespace, page: AgainPage) -> None:
    assert [t.words for t in page.offers.ticks.values()] == [
        "Base colour: between coats you waited 14 min, the card says 10 min (1 case). Take your own as its flash."
    ]
    assert page.offers.ticked == ()
    page.create_job()
    assert bench.session.current.state.cards["colour"] == COLOUR


def test_the_sentences_follow_what_is_chosen(page: AgainPage) -> None:
    assert any("Left panel (0.5 m²), Right panel" in words for words in page.told.said)
    page.pieces.fields["left"].edit.setText("1 m2")
    page.pieces.fields["left"].edit.textEdited.emit("1 m2")
    assert "Base colour on Left panel: mix about 60 mL. Last time it took 30 mL." in page.told.said
    page.pieces.ticks["right"].click()
    assert not any("Right panel" in words for words in page.told.said)
    page.how.buttons["touch-up"].click()
    assert any("Left panel: Base colour (2 coats); the last coat on 02 Mar 2026." in w for w in page.told.said)
    assert page.name.text() == "Side panels, touch-up"
    assert not page.offered.isVisible()
    assert not any(f.isVisible() for f in page.pieces.fields.values())


def test_a_name_that_was_typed_is_not_changed_with_the_choice(page: AgainPage) -> None:
    page.name.edit.setText("My own")
    page.how.buttons["touch-up"].click()
    assert page.name.text() == "My own"


def test_a_piece_without_paint_is_not_ticked_for_a_touch_up(page: AgainPage) -> None:
    assert page.pieces.ticked == ("left", "right")
    page.how.buttons["touch-up"].click()
    assert page.pieces.ticked == ("left",)
    page.ask(page.earlier.path)
    assert page.pieces.ticked == ("left",)
    page.how.buttons["repeat"].click()
    assert page.pieces.ticked == ("left", "right")
    page.how.buttons["touch-up"].click()
    page.pieces.ticks["right"].click()  # and whoever wants it there has it
    page.ask(page.earlier.path)
    assert page.pieces.ticked == ("left", "right")


def test_a_touch_up_opens_with_the_paint_on(bench: SimpleNamespace, page: AgainPage) -> None:
    page.how.buttons["touch-up"].click()
    page.create_job()
    state = bench.session.current.state
    assert state.taken_from.how is Again.TOUCH_UP
    assert state.layers["left-colour"].coats_done == 2
    assert list(state.pieces) == ["left"]


def test_what_is_wrong_is_said_where_it_stands_and_nothing_typed_is_lost(
    bench: SimpleNamespace, page: AgainPage
) -> None:
    before = bench.session.current
    page.pieces.fields["left"].edit.setText("as a door")
    page.promised.edit.setText("3/4")
    page.name.edit.setText(" ")
    page.create_job()
    assert "Give the job a name" in page.name.fault.text()
    assert "is no day" in page.promised.fault.text()
    page.name.edit.setText("New")
    page.promised.edit.setText("")
    page.create_job()
    assert page.pieces.fields["left"].fault.text()
    assert focus() == "again-area-left"
    assert page.pieces.fields["left"].text() == "as a door"
    page.pieces.fields["left"].edit.setText("")
    for tick in page.pieces.ticks.values():
        tick.click()
    page.create_job()
    assert page.pieces.fault.text() == "Choose at least one piece."
    assert bench.session.current is before


def test_what_was_typed_is_there_on_coming_back_and_gone_for_another_job(
    bench: SimpleNamespace, page: AgainPage, earlier: Path, tmp_path: Path
) -> None:
    page.name.edit.setText("Half typed")
    page.pieces.fields["left"].edit.setText("2 m2")
    page.pieces.ticks["right"].click()
    press(bench, ESC)
    assert bench.window.pages.on_bench
    page.ask(earlier)
    assert page.name.text() == "Half typed"
    assert page.pieces.fields["left"].text() == "2 m2"
    assert page.pieces.ticked == ("left",)
    other = tmp_path / "other.json"
    jobfile.save(other, JobBuilder().add(ev.JobDescribed, title="Other").piece("left", name="Lid").job)
    page.ask(other)
    assert page.name.text() == "Other, again"
    assert page.pieces.ticked == ("left",)
    assert page.pieces.fields["left"].text() == ""


def test_a_disk_that_takes_nothing_keeps_the_page_and_says_so(
    bench: SimpleNamespace, page: AgainPage, full_disk: Any
) -> None:
    said: list[str] = []
    page.said.connect(said.append)
    with full_disk():
        page.create_job()
    assert said
    assert bench.window.pages.currentWidget() is page
    assert page.earlier is not None
    page.create_job()
    assert bench.window.pages.on_bench


def test_a_file_that_is_there_is_never_written_over(page: AgainPage, earlier: Path) -> None:
    said: list[str] = []
    page.said.connect(said.append)
    page.keep_at(earlier)
    assert said == ["side-panels.json exists already: choose another name."]
    assert "side-panels-again.json" in page.where.text()
    page.keep_at(earlier.parent / "elsewhere.json")
    page.create_job()
    assert (earlier.parent / "elsewhere.json").exists()


def test_a_damaged_file_is_said_and_the_page_stays_with_what_it_had(page: AgainPage, tmp_path: Path) -> None:
    broken = tmp_path / "broken.json"
    broken.write_text('{"format": "bench job"')
    with pytest.raises(NotNow, match="broken"):
        page.ask(broken)
    assert page.earlier is not None
    assert page.earlier.title == "Side panels"


def test_the_letters_of_the_bench_are_dead_on_the_page(bench: SimpleNamespace, page: AgainPage) -> None:
    events = len(bench.session.current.job.events)
    for letter in "sdpuUJ":
        press(bench, letter)
    assert bench.window.pages.currentWidget() is page
    assert len(bench.session.current.job.events) == events


@pytest.mark.parametrize("size", [(1280, 720), (1920, 1080), (1024, 600)])
def test_a_long_name_takes_lines_and_is_not_cut(
    bench: SimpleNamespace, page: AgainPage, tmp_path: Path, size: tuple[int, int]
) -> None:
    path = tmp_path / "long.json"
    jobfile.save(path, JobBuilder().piece("p", name="A panel " * 20).job)
    bench.window.resize(*size)
    page.ask(path)
    QApplication.processEvents()
    tick = page.pieces.ticks["p"]
    assert tick.height() >= tick.heightForWidth(tick.width())
    assert tick.height() >= 40


# --- the job itself ----------------------------------------------------------------------------------


@pytest.fixture
def jobs(bench: SimpleNamespace, earlier: Path, tmp_path: Path) -> Jobs:
    with bench.bot.waitActive(bench.window):
        bench.window.activateWindow()
    bench.session.open(earlier)
    found = bench.window.findChild(Jobs)
    return found if found is not None else Jobs(bench.window, bench.session, tmp_path, (), lambda _: earlier)


def test_the_customer_and_the_day_are_typed_on_the_page_of_the_job(bench: SimpleNamespace, jobs: Jobs) -> None:
    jobs.describe()
    assert bench.window.pages.currentWidget() is jobs.form
    assert focus() == "job-title"
    press(bench, TAB)
    press(bench, "Bert")
    press(bench, TAB)
    press(bench, "20 March 16:00")
    assert "20 Mar 2026, 16:00" in jobs.form.promised.told.text()
    press(bench, ENTER)
    state = bench.session.current.state
    assert (state.title, state.customer) == ("Side panels", "Bert")
    assert state.promised is not None
    assert bench.window.pages.on_bench
    jobs.describe()
    assert jobs.form.customer.text() == "Bert"
    assert "2026-03-20" in jobs.form.promised.text()


def test_a_day_that_is_none_is_said_and_the_job_stays(bench: SimpleNamespace, jobs: Jobs) -> None:
    jobs.describe()
    events = len(bench.session.current.job.events)
    jobs.form.promised.edit.setText("soon")
    jobs.form.submit()
    assert "is no day" in jobs.form.promised.fault.text()
    assert len(bench.session.current.job.events) == events


def test_of_a_job_that_is_only_looked_at_nothing_is_asked(bench: SimpleNamespace, jobs: Jobs, earlier: Path) -> None:
    bench.session.current.read_only = "It is shown read-only."
    jobs.describe()
    assert bench.window.pages.currentWidget() is not jobs.form
