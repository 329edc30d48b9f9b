"""What the stage that compares shows: rows and columns, the plot, a system chosen, the figures counted in a thread."""

import csv
import io
from datetime import timedelta
from pathlib import Path
from types import SimpleNamespace

import pytest
from compared_trials import CLEAR, NONE, ONE_PART, TWO_PART, begun, graded, plan_of, shell, worn

from benchtool.job import events as ev
from benchtool.job.trialcompared import compared
from benchtool.session import trialcompare, trialcounting
from benchtool.session.document import Document
from benchtool.session.session import NotNow
from benchtool.session.trialcounting import Ranker
from benchtool.store import jobfile
from benchtool.trade.ranking import Graded, System, rank

Method = ev.Method


def view(b, **more) -> trialcompare.View:
    found = trialcompare.view_of(Document(Path("x"), b.job), "t1", **more)
    assert found is not None
    return found


# --- rows and columns ------------------------------------------------------------------------------------


def test_rows_stand_in_the_order_found_with_every_grade() -> None:
    b, _ = shell()
    shown = view(b)
    assert [(r.place, r.name) for r in shown.rows] == [("1", TWO_PART), ("2", CLEAR), ("3", ONE_PART), ("4", NONE)]
    assert [[c.code for c in cell] for cell in shown.rows[3].cells] == [["5"], ["0"], ["1"]]
    assert [t.short for t in shown.tests] == ["Plain tape", "Stick", "Fingernail"]
    assert shown.tests[0].remark
    assert not shown.tests[1].remark
    assert shown.rows[3].remark == "control"
    assert shown.piece == "shell"
    assert not shown.left


def test_a_row_is_spoken_with_its_place_and_grades() -> None:
    b, _ = shell()
    shown = view(b)
    spoken = shown.rows[3].spoken(shown.tests)
    assert spoken == (
        f"{NONE}; place 4; control; Plain tape, no cuts (5 is best): 5; Stick scratch (5 is best): 0; "
        "Fingernail (5 is best): 1"
    )


def test_no_such_trial_is_no_view() -> None:
    assert trialcompare.view_of(Document(Path("x"), shell()[0].job), "t9") is None


def test_what_is_left_is_said_together_with_how_many() -> None:
    water = ev.Ageing(kind=ev.AgeingKind.WATER, lasts=timedelta(hours=24))
    plan = plan_of((TWO_PART, NONE), 2, control=NONE, ageing=(water,))
    assert view(begun(plan)).left == (
        "24 grades are still to come: every test on every strip; after water, every test on every strip."
    )
    b = graded(begun(plan), plan, {n: dict.fromkeys((Method.PLAIN_TAPE, Method.STICK), "55") for n in (TWO_PART, NONE)})
    assert "16 grades are still to come: Fingernail on every strip; after water" in view(b).left


def test_what_was_graded_too_early_is_said_to_be_left() -> None:
    plan = plan_of((TWO_PART, NONE), 1, control=NONE, methods=(Method.STICK,))
    b = graded(begun(plan), plan, {n: {Method.STICK: "5"} for n in (TWO_PART, NONE)}, after=timedelta(hours=3))
    assert view(b).left == "2 grades are still to come: Stick on every strip."


def test_the_table_for_a_spreadsheet_has_a_line_for_each_strip_and_test() -> None:
    plan = plan_of((TWO_PART, NONE), 2, control=NONE)
    b = graded(begun(plan), plan, {TWO_PART: {Method.STICK: ["5", ""]}, NONE: {Method.STICK: "11"}})
    b.add(ev.Graded, trial="t1", strip="s0-0", method=Method.STICK, grade="4", note='=1+1\tand "quotes"\nbelow')
    rows = list(csv.reader(io.StringIO(trialcompare.tsv(view(b))), delimiter="\t", quoting=csv.QUOTE_NONE))
    assert len(rows) == 1 + 4
    assert {len(row) for row in rows} == {9}
    mine = next(row for row in rows if row[4] == "1")
    assert mine[5] == "4"
    assert mine[8].startswith("'=1+1 and")  # text, and no formula
    assert next(row for row in rows if row[4] == "3")[5:7] == ["", ""]


# --- the plot --------------------------------------------------------------------------------------------


def test_every_strip_is_in_the_plot_at_its_own_step() -> None:
    b, _ = shell()
    picture = view(b).picture
    assert [c.name for c in picture.columns] == [TWO_PART, CLEAR, ONE_PART, NONE]
    assert [c.control for c in picture.columns] == [False, False, False, True]
    stick = picture.lanes[1]
    assert [stick.steps[column[0].step] for column in stick.dots] == ["4", "3", "2", "0"]
    assert [column[0].number for column in stick.dots] == [3, 4, 1, 2]
    assert stick.limit is None
    tape = picture.lanes[0]
    assert tape.limit is not None
    assert tape.steps[tape.limit] == "4"  # the last that is usually allowed


def test_a_long_scale_is_cut_to_what_is_graded_and_a_step_beside() -> None:
    plan = plan_of((TWO_PART, NONE), 1, control=NONE, methods=(Method.PENCIL_ISO,))
    b = graded(begun(plan), plan, {TWO_PART: {Method.PENCIL_ISO: ["H"]}, NONE: {Method.PENCIL_ISO: ["HB"]}})
    lane = view(b).picture.lanes[0]
    assert lane.steps == ("2H", "H", "F", "HB", "B")
    assert [column[0].step for column in lane.dots] == [1, 3]


def test_what_was_graded_early_is_in_the_plot_and_marked() -> None:
    plan = plan_of((TWO_PART, NONE), 1, control=NONE, methods=(Method.PLAIN_TAPE,))
    early = {n: {Method.PLAIN_TAPE: "0"} for n in (TWO_PART, NONE)}
    dots = view(graded(begun(plan), plan, early, after=timedelta(hours=1))).picture.lanes[0].dots
    assert [(d.early, d.came_off) for column in dots for d in column] == [(True, False), (True, False)]


# --- one is chosen ---------------------------------------------------------------------------------------


@pytest.fixture
def opened(bench: SimpleNamespace, tmp_path: Path) -> SimpleNamespace:
    b, _ = shell()
    jobfile.save(tmp_path / "shell.json", b.job)
    bench.session.open(tmp_path / "shell.json")
    return bench


def test_a_system_chosen_becomes_the_stack_and_it_is_said_what_the_trial_proves(opened: SimpleNamespace) -> None:
    session = opened.session
    assert trialcompare.chosen_words(session, "t1") == ""
    words = trialcompare.choose(session, "t1", "sys2", "shell")
    state = session.current.state
    assert state.trials["t1"].chosen[-1].system == "sys2"
    assert TWO_PART in words
    assert "The trial speaks for Shell" in words
    assert trialcompare.chosen_words(session, "t1").startswith(f"{TWO_PART} is chosen for Shell.")
    session.undo()
    assert not session.current.state.trials["t1"].chosen


def test_the_same_is_not_chosen_twice(opened: SimpleNamespace) -> None:
    trialcompare.choose(opened.session, "t1", "sys2", "shell")
    before = opened.session.current.job
    with pytest.raises(NotNow, match="already"):
        trialcompare.choose(opened.session, "t1", "sys2", "shell")
    assert opened.session.current.job is before
    trialcompare.choose(opened.session, "t1", "sys3", "shell")
    trialcompare.choose(opened.session, "t1", "sys2", "shell")
    assert [c.system for c in opened.session.current.state.pieces["shell"].chosen] == ["sys2", "sys3", "sys2"]


def test_only_pieces_that_are_painted_for_somebody_are_offered(opened: SimpleNamespace) -> None:
    assert trialcompare.pieces_for(opened.session.current.state) == (("shell", "Shell"),)


# --- counting --------------------------------------------------------------------------------------------


SYSTEMS = (System("a"), System("b", control=True))
TESTS = (Graded(label="stick", scores={"a": (5, 4, 5, 3), "b": (1, 2, 0, 4)}),)


def test_what_the_thread_counts_is_what_is_counted_without_one() -> None:
    ranker = Ranker(quick_steps=1)
    quick = ranker(SYSTEMS, TESTS)
    assert quick.tests[0].p is None
    assert quick.order == rank(SYSTEMS, TESTS).order  # the order never waits
    ranker.wait()
    assert not ranker.counting
    assert ranker.turns == 1
    assert ranker(SYSTEMS, TESTS) == rank(SYSTEMS, TESTS)


def test_what_is_quick_starts_no_thread() -> None:
    ranker = Ranker()
    assert ranker(SYSTEMS, TESTS) == rank(SYSTEMS, TESTS)
    assert not ranker.counting
    assert ranker.turns == 0


def test_what_was_asked_last_is_what_is_given() -> None:
    ranker = Ranker(quick_steps=1)
    ranker(SYSTEMS, TESTS)
    other = (Graded(label="stick", scores={"a": (5, 4, 5, 3), "b": (1, 2, 0, 5)}),)
    ranker(SYSTEMS, other)
    ranker.wait()
    assert ranker(SYSTEMS, other) == rank(SYSTEMS, other)
    assert not ranker.counting


def test_what_can_never_be_counted_is_said_in_the_end() -> None:
    b, _ = worn(6, 4)
    ranker = Ranker(quick_steps=10, most_steps=20)
    state = b.state
    compared(state, state.trials["t1"], ranker)
    ranker.wait()
    shown = view(b, ranker=ranker)
    assert any("no other is given" in words for words in shown.figures)


def test_a_count_that_breaks_off_leaves_the_quick_figures_and_the_next_is_counted(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    ranker = Ranker(quick_steps=1)
    real, calls = trialcounting.rank, []

    def broken(*asked: object) -> object:
        calls.append(asked)
        if len(calls) == 2:
            raise MemoryError
        return real(*asked)  # type: ignore[arg-type]

    monkeypatch.setattr(trialcounting, "rank", broken)
    quick = ranker(SYSTEMS, TESTS)
    ranker.wait()
    assert not ranker.counting
    assert ranker(SYSTEMS, TESTS) is quick
    ranker(SYSTEMS, (*TESTS, Graded(label="nail", scores={"a": (5, 4, 5, 3), "b": (1, 2, 0, 5)})))
    ranker.wait()
    assert not ranker.counting
    assert len(calls) == 4
