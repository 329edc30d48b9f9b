"""One job driven through the real window by keys and mouse, the clock moved by hand."""

from types import SimpleNamespace

import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QAbstractButton, QWidget

from benchtool.bench.findings import FindingRow
from benchtool.bench.header import _wait_words
from benchtool.job import events as ev


def button(bench: SimpleNamespace, name: str) -> QAbstractButton:
    found = bench.window.findChild(QAbstractButton, name)
    assert isinstance(found, QAbstractButton), name
    return found


def click(bench: SimpleNamespace, name: str) -> None:
    bench.bot.mouseClick(button(bench, name), Qt.MouseButton.LeftButton)


def key(bench: SimpleNamespace, which: Qt.Key, modifier: Qt.KeyboardModifier = Qt.KeyboardModifier.NoModifier) -> None:
    target = bench.window.focusWidget() or bench.window
    bench.bot.keyClick(target, which, modifier)


def type_amount(bench: SimpleNamespace, text: str) -> None:
    edit = bench.window.mix.field.edit
    edit.setFocus()
    edit.clear()
    edit.setModified(True)
    bench.bot.keyClicks(edit, text)
    bench.bot.keyClick(edit, Qt.Key.Key_Return)


def shown_findings(bench: SimpleNamespace) -> list[str]:
    rows = bench.window.findings.findChildren(FindingRow)
    return [f"{r.finding.rule}: {r.finding.message}" for r in rows if r.isVisible() and r.finding is not None]


def about(bench: SimpleNamespace, rule: str) -> list[str]:
    return [f for f in shown_findings(bench) if f.startswith(rule)]


def pour_the_promoter(bench: SimpleNamespace) -> None:
    """A cup of the two-part promoter for the trim strip, poured right, stirred and stood."""
    click(bench, "piece-trim")
    click(bench, "activator-flexible")
    type_amount(bench, "60 mL")
    for _ in range(2):
        bench.bot.keyClick(bench.window.mix.field.edit, Qt.Key.Key_Return)
    click(bench, "mix-go")
    bench.beat(minutes=5, seconds=1)
    bench.bot.keyClick(bench.window.mix.field.edit, Qt.Key.Key_Return)
    click(bench, "mix-go")
    bench.beat(minutes=10, seconds=1)


def test_the_demo_says_that_it_is_one(bench: SimpleNamespace) -> None:
    assert bench.session.current.job.demo
    assert "Demo" in bench.window.header.sub.text()


def test_the_wrong_activator_is_a_stop_and_the_right_one_clears_it(bench: SimpleNamespace) -> None:
    click(bench, "piece-trim")
    click(bench, "activator-rigid")
    assert any("Rigid activator is for rigid parts" in f for f in about(bench, "promoter.activator-type"))
    click(bench, "activator-flexible")
    assert not about(bench, "promoter.activator-type")


def test_an_overpour_is_measured_and_mended(bench: SimpleNamespace) -> None:
    """Check value, common practice, no source: 2 % by volume, 1 US fl oz with 1 mL: 3.38 %, 69 % over, 20.4 mL."""
    click(bench, "piece-trim")
    click(bench, "activator-flexible")
    type_amount(bench, "60 mL")
    type_amount(bench, "1 fl oz")
    assert not about(bench, "mixing.off-ratio")
    type_amount(bench, "1 mL")
    [finding] = about(bench, "mixing.off-ratio")
    assert "69 % over" in finding
    assert "3.38 % of the base" in finding
    assert bench.window.mix.amount.text == "20 mL"  # 20.4 mL, as far as the marks of a 60 mL syringe go
    assert "60 mL syringe" in bench.window.mix.how.text()
    assert button(bench, "mix-go").text() == "Poured 20 mL"
    bench.bot.keyClick(bench.window.mix.field.edit, Qt.Key.Key_Return)
    assert not about(bench, "mixing.off-ratio")
    mix = bench.session.current.state.mix_for(bench.session.layer)
    assert mix.poured_mL["Base"] == pytest.approx(29.5735 + 20, rel=1e-6)


def test_a_coat_before_its_time_needs_a_reason_and_time_clears_it(bench: SimpleNamespace) -> None:
    pour_the_promoter(bench)
    key(bench, Qt.Key.Key_S)
    assert bench.session.layer.open_coat is not None
    bench.beat(minutes=3)
    key(bench, Qt.Key.Key_D)
    assert bench.session.layer.coats_done == 1
    bench.beat(minutes=4)
    key(bench, Qt.Key.Key_S)
    waiver = bench.window.doing.waiver
    assert waiver.isVisible()
    assert "11:00" in waiver.message.text()
    assert bench.session.layer.open_coat is None
    bench.beat(minutes=1)
    assert "10:00" in waiver.message.text()
    bench.beat(minutes=10)
    assert waiver.isHidden()
    key(bench, Qt.Key.Key_S)
    assert bench.session.layer.open_coat.number == 2
    assert not bench.session.current.state.waivers


def test_going_on_anyway_signs_a_waiver(bench: SimpleNamespace) -> None:
    pour_the_promoter(bench)
    key(bench, Qt.Key.Key_S)
    bench.beat(minutes=3)
    key(bench, Qt.Key.Key_D)
    bench.beat(minutes=4)
    key(bench, Qt.Key.Key_S)
    waiver = bench.window.doing.waiver
    click(bench, "waiver-sign")
    assert waiver.isVisible()
    assert bench.session.layer.open_coat is None
    assert waiver.reason.fault.text()
    bench.bot.keyClicks(waiver.reason.edit, "hot shop, flashed off early")
    bench.bot.keyClick(waiver.reason.edit, Qt.Key.Key_Return)
    assert waiver.isHidden()
    assert bench.session.layer.open_coat.number == 2
    [signed] = bench.session.current.state.waivers
    assert signed.reason == "hot shop, flashed off early"
    key(bench, Qt.Key.Key_U)
    assert bench.session.layer.open_coat is None
    assert not bench.session.current.state.waivers


def test_undo_and_redo_are_events(bench: SimpleNamespace) -> None:
    click(bench, "piece-trim")
    count = len(bench.session.current.job.events)
    click(bench, "activator-flexible")
    key(bench, Qt.Key.Key_U)
    assert bench.session.layer.plan.activator is None
    key(bench, Qt.Key.Key_Z, Qt.KeyboardModifier.ControlModifier | Qt.KeyboardModifier.ShiftModifier)
    assert bench.session.layer.plan.activator == "flexible"
    added = bench.session.current.job.events[count:]
    assert [type(e) for e in added] == [ev.LayerChanged, ev.Withdrawn, ev.Withdrawn]


@pytest.mark.parametrize("text", ["abc", "-1 mL", "2 m", "1e400", "", "1 oz", "nan mL", "1" * 500 + " mL"])
def test_a_bad_amount_is_refused_with_a_sentence_and_kept(bench: SimpleNamespace, text: str) -> None:
    click(bench, "piece-trim")
    click(bench, "activator-flexible")
    before = bench.session.current.job
    type_amount(bench, text)
    field = bench.window.mix.field
    assert field.fault.text().endswith(".")
    assert field.fault.isVisible()
    assert bench.session.current.job is before
    bench.beat(seconds=1)
    assert field.text() == text


def test_masking_too_early_asks_first(bench: SimpleNamespace) -> None:
    click(bench, "piece-plaque")
    key(bench, Qt.Key.Key_P)
    answers = [button.text() for button in bench.window.doing.prepping.strip.buttons]
    key(bench, Qt.Key(Qt.Key.Key_1 + answers.index("Mask")))
    assert bench.window.doing.waiver.isVisible()
    assert "tape time" in bench.window.doing.waiver.message.text()
    key(bench, Qt.Key.Key_Escape)
    steps = [s.step for s in bench.session.piece.steps]
    assert ev.Prep.MASK not in steps


def test_a_reading_is_logged_by_keys_and_shown(bench: SimpleNamespace) -> None:
    key(bench, Qt.Key.Key_R)
    form = bench.window.doing.reading
    form.fields["humidity"].edit.setText("140")
    bench.bot.keyClick(form.fields["humidity"].edit, Qt.Key.Key_Return)
    assert form.isVisible()
    assert "at most 100 %" in form.fields["humidity"].fault.text()
    for name, text in (("air", "18,5"), ("humidity", "62")):
        form.fields[name].edit.setText(text)
    bench.bot.keyClick(form.fields["humidity"].edit, Qt.Key.Key_Return)
    assert form.isHidden()
    assert "18.5 °C" in bench.window.header.air.text()


def test_an_alarm_calls_once_is_shown_until_heard_and_can_be_silenced(bench: SimpleNamespace) -> None:
    bench.beat(seconds=1)
    bench.beat(minutes=7)
    bench.beat(seconds=30)
    [ring] = bench.voice.rung
    assert ring.call == "now"
    assert "Name plate" in ring.words
    assert "Name plate" in bench.window.doing.alarm.words.text()
    key(bench, Qt.Key.Key_H)
    assert bench.window.doing.alarm.isHidden()
    key(bench, Qt.Key.Key_X)
    key(bench, Qt.Key.Key_2)
    bench.beat(minutes=5)
    assert len(bench.voice.rung) == 1
    assert "Clear dome" in bench.window.doing.alarm.words.text()


def test_the_far_view_and_back(bench: SimpleNamespace) -> None:
    key(bench, Qt.Key.Key_F)
    assert bench.window.views.currentWidget() is bench.window.far
    assert "Name plate" in bench.window.far.accessibleName()
    bench.bot.keyClick(bench.window.far, Qt.Key.Key_Escape)
    assert bench.window.views.currentWidget() is bench.window.near


def test_every_target_is_large_enough_and_named(bench: SimpleNamespace) -> None:
    pour_the_promoter(bench)
    for piece in ("dome", "plate", "trim", "plaque"):
        click(bench, f"piece-{piece}")
        for widget in bench.window.findChildren(QWidget):
            if not widget.isVisible() or widget.focusPolicy() == Qt.FocusPolicy.NoFocus:
                continue
            if isinstance(widget, QAbstractButton):
                assert widget.accessibleName(), widget.objectName()
                assert widget.height() >= 48, widget.objectName()


def test_no_key_does_two_things() -> None:
    from benchtool.bench.keys import ACTIONS

    keys = [k for a in ACTIONS for k in a.keys] + [str(n) for n in range(1, 10)] + ["Esc"]
    assert len(keys) == len(set(keys))


def test_countdowns_are_the_same_after_reopening(bench: SimpleNamespace, folders: object) -> None:
    from benchtool.session.due import due_now
    from benchtool.session.session import Session

    pour_the_promoter(bench)
    key(bench, Qt.Key.Key_S)
    bench.beat(minutes=3)
    key(bench, Qt.Key.Key_D)
    bench.beat(seconds=90)
    path = bench.session.current.path
    before = [(d.place, d.numerals) for d in due_now(bench.session, bench.clock.now())]
    again = Session(bench.clock, bench.session.tables, bench.session.measures)
    document = again.open(path)
    assert [(d.place, d.numerals) for d in due_now(again, bench.clock.now())] == before
    assert "another window" in document.read_only
    again.close_all()


def test_a_question_goes_when_another_piece_is_taken_in_hand(bench: SimpleNamespace) -> None:
    """Else its answer would land on the wrong piece."""
    click(bench, "piece-dome")
    key(bench, Qt.Key.Key_S)
    assert bench.window.doing.waiver.isVisible()
    click(bench, "piece-trim")
    assert bench.window.doing.waiver.isHidden()
    key(bench, Qt.Key.Key_T)
    key(bench, Qt.Key.Key_1)
    assert bench.window.doing.trial.isVisible()
    click(bench, "piece-plate")
    assert bench.window.doing.trial.isHidden()
    assert not any(p.trials for p in bench.session.current.state.pieces.values())


def test_an_amount_half_typed_does_not_follow_to_another_cup(bench: SimpleNamespace) -> None:
    click(bench, "piece-trim")
    click(bench, "activator-flexible")
    type_amount(bench, "60 mL")
    bench.bot.keyClicks(bench.window.mix.field.edit, "29")
    key(bench, Qt.Key.Key_Up)
    assert bench.session.layer_id == "trim-promoter"
    click(bench, "piece-plate")
    assert "29" not in bench.window.mix.field.text()


def test_a_layer_out_of_turn_is_a_stop(bench: SimpleNamespace) -> None:
    click(bench, "piece-dome")
    click(bench, "layer-dome-sea")
    key(bench, Qt.Key.Key_S)
    assert bench.window.doing.waiver.isVisible()
    assert bench.session.current.state.layers["dome-sea"].coats == []


def test_a_start_in_the_far_view_asks_where_it_can_be_seen(bench: SimpleNamespace) -> None:
    click(bench, "piece-dome")
    key(bench, Qt.Key.Key_F)
    key(bench, Qt.Key.Key_S)
    assert bench.window.views.currentWidget() is bench.window.near
    assert bench.window.doing.waiver.isVisible()


def test_the_far_view_says_what_calls(bench: SimpleNamespace) -> None:
    bench.beat(seconds=1)
    key(bench, Qt.Key.Key_F)
    before = bench.window.far.lines[0].numerals
    bench.beat(minutes=7, seconds=30)
    assert "Name plate" in bench.window.far.calls
    assert bench.window.far.lines[0].numerals != before


def test_a_cup_out_of_ratio_can_still_be_stirred(bench: SimpleNamespace) -> None:
    click(bench, "piece-trim")
    click(bench, "activator-flexible")
    type_amount(bench, "60 mL")
    type_amount(bench, "1 fl oz")
    type_amount(bench, "1 mL")
    click(bench, "mix-stir-anyway")
    mix = bench.session.current.state.mix_for(bench.session.layer)
    assert ev.Stirred.REDUCED in mix.stirred


def test_enter_logs_one_pour_wherever_the_focus_is(bench: SimpleNamespace) -> None:
    click(bench, "piece-trim")
    click(bench, "activator-flexible")
    type_amount(bench, "60 mL")
    mix = bench.session.current.state.mix_for(bench.session.layer)
    assert mix.poured_mL == {}
    bench.window.bench.setFocus()
    bench.bot.keyClick(bench.window.bench, Qt.Key.Key_Return)
    mix = bench.session.current.state.mix_for(bench.session.layer)
    assert list(mix.poured_mL) == ["Base"]


def test_a_key_pressed_twice_is_no_reason(bench: SimpleNamespace) -> None:
    click(bench, "piece-dome")
    key(bench, Qt.Key.Key_S)
    waiver = bench.window.doing.waiver
    bench.bot.keyClick(waiver.reason.edit, Qt.Key.Key_S)
    bench.bot.keyClick(waiver.reason.edit, Qt.Key.Key_Return)
    assert waiver.isVisible()
    assert bench.session.layer.open_coat is None


def test_a_trial_is_logged_by_keys_alone(bench: SimpleNamespace) -> None:
    click(bench, "piece-trim")
    key(bench, Qt.Key.Key_T)
    key(bench, Qt.Key.Key_1)
    assert bench.window.focusWidget() is bench.window.doing.trial.fields["note"].edit
    bench.bot.keyClicks(bench.window.focusWidget(), "tape and nail")
    key(bench, Qt.Key.Key_Return)
    [trial] = bench.session.piece.trials
    assert trial.held
    assert trial.note == "tape and nail"


def test_a_part_picked_by_hand_is_left_again(bench: SimpleNamespace) -> None:
    pour_the_promoter(bench)
    click(bench, "part-Base")
    assert bench.window.mix.field.isVisible()
    key(bench, Qt.Key.Key_Escape)
    assert bench.window.mix.amount.text == "Ready"


def test_an_activator_is_chosen_before_a_cup_is_begun(bench: SimpleNamespace) -> None:
    click(bench, "piece-trim")
    type_amount(bench, "60 mL")
    assert bench.session.current.state.mix_for(bench.session.layer) is None
    assert "activator" in bench.window.status.said.text()


def test_a_page_half_typed_is_not_left_without_a_question(bench: SimpleNamespace) -> None:
    bench.window.do("piece")
    bench.window.close()
    assert bench.window.isVisible()
    assert "not kept" in bench.window.doing.pick.question.text()
    bench.window._escape()
    bench.window.show_bench()


@pytest.mark.parametrize(
    ("left_s", "told"),
    [
        (59.2, "Wait 1:00"),
        (600, "Wait 10:00"),
        (600.5, "Wait 11 min"),
        (3_541, "Wait 1 h 00 min"),
        (5_110, "Wait 1 h 26 min"),
    ],
)
def test_a_piece_tells_its_wait_by_the_minute_and_the_last_ten_by_the_second(left_s: float, told: str) -> None:
    assert _wait_words(left_s) == told
