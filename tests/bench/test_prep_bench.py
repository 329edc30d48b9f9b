"""P and the page of the plan, by the keys a painter presses."""

from functools import partial
from types import SimpleNamespace

import pytest
from builders import ETCH
from msgspec.structs import replace
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest

from benchtool.bench.prep import PrepPage
from benchtool.job import events as ev
from benchtool.job.cards import Hazard
from benchtool.job.events import Face, Prep, Shape
from benchtool.job.prepplan import Standing
from benchtool.trade.substrates import Flex


def press(bench: SimpleNamespace, key: Qt.Key) -> None:
    QTest.keyClick(bench.window.focusWidget() or bench.window, key)


def bring(bench: SimpleNamespace, substrate: str, face: Face = Face.OUTSIDE, shape: tuple[Shape, ...] = ()) -> None:
    piece = ev.Piece(
        id="part", name="Part", substrate=substrate, known=ev.Known.TOLD, flex=Flex.RIGID, face=face, shape=shape
    )
    bench.session.apply(partial(ev.PieceAdded, piece=piece))
    bench.session.pick("part")
    bench.window.refresh()


def steps(bench: SimpleNamespace) -> list[Prep]:
    return [s.step for s in bench.session.piece.steps]


def strip(bench: SimpleNamespace):
    return bench.window.doing.prepping.strip


def texts(bench: SimpleNamespace) -> list[str]:
    return [b.text() for b in strip(bench).buttons]


def said(bench: SimpleNamespace) -> str:
    return bench.window.status.said.text()


# --- P ---------------------------------------------------------------------------------------------------


def test_p_and_enter_log_what_is_next_and_say_what_follows(bench: SimpleNamespace) -> None:
    bring(bench, "steel")
    press(bench, Qt.Key.Key_P)
    assert strip(bench).isVisible()
    assert strip(bench).words.text().startswith("Next: wash it")
    assert strip(bench).reason.text()
    press(bench, Qt.Key.Key_Return)
    assert strip(bench).isHidden()
    assert steps(bench) == [Prep.WASH]
    assert "Wash logged" in said(bench)
    assert "Next: wipe it" in said(bench)
    press(bench, Qt.Key.Key_U)
    assert steps(bench) == []


def test_the_whole_plan_is_logged_by_p_and_its_first_digit(bench: SimpleNamespace) -> None:
    bring(bench, "steel")
    for _ in range(4):
        press(bench, Qt.Key.Key_P)
        press(bench, Qt.Key.Key_1)
    assert steps(bench) == [Prep.WASH, Prep.DEGREASE, Prep.ABRADE, Prep.DEGREASE]
    assert bench.session.piece.steps[1].agent == "degreaser-solvent"
    assert bench.session.piece.steps[2].grit == bench.session.tables.substrates["steel"].grit[1]
    press(bench, Qt.Key.Key_P)
    press(bench, Qt.Key.Key_1)
    assert "water" in strip(bench).words.text()  # ASTM F22 is asked about, never taken for granted
    press(bench, Qt.Key.Key_2)
    assert bench.session.piece.steps[-1].passed is False
    assert "it broke" in said(bench)
    press(bench, Qt.Key.Key_P)
    press(bench, Qt.Key.Key_1)
    press(bench, Qt.Key.Key_P)
    press(bench, Qt.Key.Key_1)
    press(bench, Qt.Key.Key_1)
    assert bench.session.piece.steps[-1].passed is True


@pytest.mark.parametrize("step", list(Prep))
def test_every_step_can_be_logged_by_digits_alone(bench: SimpleNamespace, step: Prep) -> None:
    from benchtool.job.prepwords import step_name

    bring(bench, "steel")
    press(bench, Qt.Key.Key_P)
    if step_name(step) not in texts(bench):
        press(bench, Qt.Key(Qt.Key.Key_0 + len(texts(bench))))
    press(bench, Qt.Key(Qt.Key.Key_1 + texts(bench).index(step_name(step))))
    if step is Prep.WATER_BREAK:
        press(bench, Qt.Key.Key_1)
    assert steps(bench) == [step]


def test_a_digit_in_the_strip_takes_no_other_piece_in_hand(bench: SimpleNamespace) -> None:
    bring(bench, "steel")
    press(bench, Qt.Key.Key_P)
    press(bench, Qt.Key.Key_2)
    assert bench.session.piece_id == "part"
    press(bench, Qt.Key.Key_2)
    assert bench.session.piece_id == "plate"


def test_the_chromate_of_a_primer_is_cautioned_where_it_would_be_sanded(bench: SimpleNamespace, page: PrepPage) -> None:
    primer = replace(ETCH, name="Yellow primer", hazards=(Hazard.CHROMATE,))
    bring(bench, "steel")
    bench.session.apply(
        partial(ev.CardCopied, card=primer),
        *(partial(ev.LayerAdded, piece="part", layer=ev.Layer(id=x, card=primer.id, coats=1)) for x in ("low", "high")),
        partial(ev.CoatStarted, layer="low"),
        partial(ev.CoatDone, layer="low"),
    )
    for wait in ({"hours": 1}, {"hours": 30}):  # inside its window, and closed
        bench.beat(**wait)
        bench.window.setFocus()
        press(bench, Qt.Key.Key_P)
        strip(bench).buttons[texts(bench).index("Scuff")].setFocus()
        assert "chromate" in strip(bench).caution.text()  # 29 CFR 1910.1026
        press(bench, Qt.Key.Key_Escape)
    look_at(bench, page)
    [scuff] = [r.step for r in page.rows if r.step.step is Prep.SCUFF]
    assert "chromate" in scuff.cautions[0]


def test_the_words_go_with_the_answer_in_hand(bench: SimpleNamespace) -> None:
    bring(bench, "steel")
    press(bench, Qt.Key.Key_P)
    strip(bench).buttons[texts(bench).index("Abrade")].setFocus()
    assert "P80 to P180" in strip(bench).words.text()
    # 29 CFR 1910.1025 and the like: dust is cautioned where it is made; what decides is said with it
    assert "dust" in strip(bench).caution.text()
    assert "safety data sheet" in strip(bench).caution.text()


def test_another_cleaner_is_one_more_key(bench: SimpleNamespace) -> None:
    bring(bench, "steel")
    bench.session.apply(partial(ev.PrepDone, piece="part", step=Prep.WASH))
    press(bench, Qt.Key.Key_P)
    press(bench, Qt.Key.Key_0)
    at = texts(bench).index("Isopropanol")
    press(bench, Qt.Key(Qt.Key.Key_1 + at))
    assert bench.session.piece.steps[-1].agent == "isopropanol"
    assert "isopropanol" in said(bench)


def test_another_grade_is_one_more_key(bench: SimpleNamespace) -> None:
    bring(bench, "steel")
    for step in (Prep.WASH, Prep.DEGREASE):
        bench.session.apply(partial(ev.PrepDone, piece="part", step=step))
    press(bench, Qt.Key.Key_P)
    press(bench, Qt.Key.Key_0)
    press(bench, Qt.Key(Qt.Key.Key_1 + texts(bench).index("P240")))
    assert bench.session.piece.steps[-1].grit == 240


def harmful(bench: SimpleNamespace) -> None:
    """Say that acetone was used on polycarbonate."""
    bring(bench, "pc")
    bench.window.doing.prep_other(Prep.DEGREASE)
    while "Acetone" not in texts(bench):
        press(bench, Qt.Key.Key_9)
    press(bench, Qt.Key(Qt.Key.Key_1 + texts(bench).index("Acetone")))


def test_a_harmful_cleaner_is_told_before_it_is_logged_and_logged_all_the_same(bench: SimpleNamespace) -> None:
    harmful(bench)
    assert steps(bench) == []
    doing = bench.window.doing
    if doing.waiver.isVisible():  # a stop asks for a reason, which is as deliberate
        doing.waiver.reason.edit.setText("it was on the rag already")
        doing.waiver.sign.click()
    else:
        assert "craze" in strip(bench).words.text()
        press(bench, Qt.Key(Qt.Key.Key_1 + texts(bench).index("It was used: log it")))
    assert bench.session.piece.steps[-1].agent == "acetone"


def test_a_harmful_cleaner_can_be_changed(bench: SimpleNamespace) -> None:
    harmful(bench)
    bench.window.doing.put_away()
    assert steps(bench) == []


def test_a_piece_whose_plan_waits_preselects_nothing(bench: SimpleNamespace) -> None:
    bench.session.pick("dome")  # its promoter is wet
    before = len(bench.session.current.job.events)
    press(bench, Qt.Key.Key_P)
    press(bench, Qt.Key.Key_Return)
    assert len(bench.session.current.job.events) == before
    assert strip(bench).isHidden()


def test_an_unknown_material_leads_to_its_test_strip(bench: SimpleNamespace) -> None:
    bring(bench, "unknown")
    for step in (Prep.WASH, Prep.RELEASE_WASH, Prep.DEGREASE):
        bench.session.apply(partial(ev.PrepDone, piece="part", step=step))
    press(bench, Qt.Key.Key_P)
    assert texts(bench)[0] == "Test strip"
    press(bench, Qt.Key.Key_1)
    assert "test strip" in bench.window.doing.pick.question.text()


def test_abrading_a_clear_shell_still_asks_for_a_reason(bench: SimpleNamespace) -> None:
    bring(bench, "pc", Face.BEHIND_CLEAR)
    layer = bench.session.current.state.pieces["dome"].layers[0].plan
    bench.session.apply(partial(ev.LayerAdded, piece="part", layer=ev.Layer(id="own", card=layer.card, coats=1)))
    press(bench, Qt.Key.Key_P)
    assert "Abrade" not in texts(bench)
    press(bench, Qt.Key(Qt.Key.Key_0 + len(texts(bench))))
    press(bench, Qt.Key(Qt.Key.Key_1 + texts(bench).index("Abrade")))
    assert bench.window.doing.waiver.isVisible()
    assert steps(bench) == []


def test_esc_leaves_the_strip(bench: SimpleNamespace) -> None:
    bring(bench, "steel")
    press(bench, Qt.Key.Key_P)
    press(bench, Qt.Key.Key_Escape)
    assert strip(bench).isHidden()
    assert steps(bench) == []


def test_the_strip_leads_to_the_whole_plan(bench: SimpleNamespace) -> None:
    asked: list[int] = []
    bench.window.doing.prep_plan_asked.connect(lambda: asked.append(1))
    bring(bench, "steel")
    press(bench, Qt.Key.Key_P)
    strip(bench).plan.click()
    assert asked == [1]


# --- the page --------------------------------------------------------------------------------------------


@pytest.fixture
def page(bench: SimpleNamespace) -> PrepPage:
    page = PrepPage(bench.window.look, bench.session)
    bench.window.pages.addWidget(page)
    page.log_asked.connect(bench.window.doing.log_prep)
    page.other_asked.connect(bench.window.doing.prep_other)
    return page


def look_at(bench: SimpleNamespace, page: PrepPage) -> None:
    page.ask(bench.session.piece)
    bench.window.pages.setCurrentWidget(page)
    page.setFocus()


def shown(page: PrepPage) -> dict[str, Standing]:
    return {row.step.name: row.step.state for row in page.rows}


def test_the_page_shows_every_step_and_a_digit_logs_it(bench: SimpleNamespace, page: PrepPage) -> None:
    bring(bench, "steel")
    look_at(bench, page)
    assert "Part" in page.title.text()
    assert shown(page)["Wash"] is Standing.NEXT
    assert shown(page)["Promoter"] is Standing.NOT_HERE
    press(bench, Qt.Key.Key_1)
    assert shown(page)["Wash"] is Standing.DONE
    assert shown(page)["Degrease"] is Standing.NEXT
    press(bench, Qt.Key.Key_Return)
    assert steps(bench) == [Prep.WASH, Prep.DEGREASE]
    assert "Next: abrade it" in said(bench)


@pytest.mark.parametrize(
    ("substrate", "name"), [("unknown", "unknown material"), ("paint-unknown", "unknown old paint")]
)
def test_a_material_without_a_name_has_a_short_one_in_the_title(
    bench: SimpleNamespace, page: PrepPage, substrate: str, name: str
) -> None:
    bring(bench, substrate)
    look_at(bench, page)
    assert page.title.text() == f"Prep plan: Part, {name}"


def test_the_page_asks_how_the_water_ran_off_and_goes_on(bench: SimpleNamespace, page: PrepPage) -> None:
    bring(bench, "glass")
    look_at(bench, page)
    [row] = [r for r in page.rows if r.step.step is Prep.WATER_BREAK]
    press(bench, Qt.Key(Qt.Key.Key_0 + row.digit))
    assert strip(bench).isVisible()
    press(bench, Qt.Key.Key_2)
    assert bench.session.piece.steps[-1].passed is False
    assert shown(page)["Degrease again"] is not Standing.DONE
    press(bench, Qt.Key.Key_1)
    assert steps(bench)[-1] is Prep.WASH


def test_the_page_follows_an_undo_and_another_piece(bench: SimpleNamespace, page: PrepPage) -> None:
    bring(bench, "steel")
    look_at(bench, page)
    press(bench, Qt.Key.Key_1)
    bench.window.doing.undo()
    assert shown(page)["Wash"] is Standing.NEXT
    bench.session.pick("trim")
    assert "Trim" in page.title.text()


def test_with_something_else_from_the_page(bench: SimpleNamespace, page: PrepPage) -> None:
    bring(bench, "steel")
    look_at(bench, page)
    press(bench, Qt.Key.Key_0)
    assert strip(bench).isVisible()
    press(bench, Qt.Key.Key_2)
    assert steps(bench) == [Prep.WASH]


def test_esc_leaves_the_page(bench: SimpleNamespace, page: PrepPage) -> None:
    left: list[int] = []
    page.left.connect(lambda: left.append(1))
    bring(bench, "steel")
    look_at(bench, page)
    page.keyPressEvent(_escape())
    assert left == [1]


def _escape():
    from PySide6.QtGui import QKeyEvent

    return QKeyEvent(QKeyEvent.Type.KeyPress, Qt.Key.Key_Escape, Qt.KeyboardModifier.NoModifier)


@pytest.mark.parametrize("scale", [(1280, 720), (900, 600)])
def test_every_target_is_large_enough_and_named(bench: SimpleNamespace, page: PrepPage, scale: tuple[int, int]) -> None:
    bench.window.resize(*scale)
    bring(bench, "pc", Face.BEHIND_CLEAR, (Shape.NOOKS,))
    look_at(bench, page)
    buttons = [r.button for r in page.rows if r.button is not None]
    assert buttons
    press(bench, Qt.Key.Key_0)
    for button in (*buttons, page.go, page.other, *strip(bench).buttons):
        assert button.height() >= 48
        assert button.accessibleName()
