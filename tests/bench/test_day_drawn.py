"""The plan as it is drawn: rows and times, blocks that can be hit, zoom and keys, labels that keep apart."""

from dataclasses import replace
from datetime import timedelta
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from PySide6.QtCore import QPoint, QPointF, QRectF, Qt
from PySide6.QtGui import QImage, QPainter
from PySide6.QtTest import QTest
from timetables import JOB, NOW, OTHER, Maker, at, opening, small_shop, ugly

from benchtool.bench import daymarks
from benchtool.bench.dayframe import Frame
from benchtool.bench.dayplot import DayPlot
from benchtool.bench.dayrows import (
    block_words,
    days,
    follower,
    is_tight,
    nearest,
    picture_of,
    step_across,
    step_along,
    summary,
    ticks,
    wait_words,
)
from benchtool.bench.daysteps import lines
from benchtool.bench.look import Look
from benchtool.plan.work import Work
from benchtool.trade.windows import FOR_GOOD, WindowKind

KEY = Qt.Key


def small():
    return picture_of(*small_shop(), opening(), NOW)


def many():
    return picture_of(*ugly(), opening(), NOW)


# --- rows and time ---------------------------------------------------------------------------------------


def test_every_step_has_its_block_and_every_piece_its_row():
    for made in (small_shop(), ugly()):
        picture = picture_of(*made, opening(), NOW)
        assert sum(len(r.blocks) for r in picture.rows) == len(made[0].placed)
        assert sum(len(r.waits) for r in picture.rows) == len(made[0].waits)
        assert {(r.job, r.piece) for r in picture.rows} == set(made[1].pieces)
        assert all(a.starts_at <= b.starts_at for r in picture.rows for a, b in pairwise(r.blocks))


def test_the_pieces_stand_by_their_first_work_and_what_cant_fit_stands_last():
    rows = small().rows
    assert [r.named.name for r in rows] == ["Left shell", "Right shell", "Grille", "Shop sign", "Brass bar"]
    assert rows[-1].because.startswith("The recoat window")
    assert not rows[-1].blocks


def test_all_work_lies_in_the_drawing_but_no_cure_of_weeks():
    for picture in (small(), many()):
        assert picture.begins_at <= min(b.starts_at for r in picture.rows for b in r.blocks)
        last = max(b.ends_at for r in picture.rows for b in r.blocks)
        assert last < picture.ends_at < last + timedelta(days=6)


def test_the_shop_is_shut_wherever_it_is_not_open():
    picture = small()
    shut = list(picture.closed())
    assert (at(16, 18), at(17, 8)) in shut
    whole = sum((b - a for a, b in (*shut, *picture.open)), timedelta())
    assert whole == picture.ends_at - picture.begins_at


def test_the_days_follow_on_each_other_and_fill_the_drawing():
    found = list(days(at(16, 9), at(19, 5)))
    assert found[0].starts_at == at(16, 9)
    assert found[-1].ends_at == at(19, 5)
    assert all(a.ends_at == b.starts_at for a, b in pairwise(found))


@given(st.integers(0, 8_000), st.integers(1, 200), st.sampled_from([1, 2, 3, 6, 12]))
@settings(max_examples=40, deadline=None)
def test_ticks_stand_at_whole_hours_of_the_wall_clock(begins, hours, every):
    start = at(1, 0) + timedelta(hours=begins)
    end = start + timedelta(hours=hours)
    for instant, hour in ticks(start, end, every):
        assert start <= instant <= end
        assert hour % every == 0
        assert instant.astimezone().hour == hour


def test_what_is_said_of_a_block_names_its_piece_its_times_and_its_deadline():
    picture = small()
    row = picture.rows[0]
    running = block_words(row, row.blocks[0], picture.names, NOW)
    assert running.startswith("Left shell, coat 2 of the primer, begun ")
    base = next(b for b in row.blocks if b.task.layer == "base" and b.task.work is Work.COAT)
    assert "It must be on before" in block_words(row, base, picture.names, NOW)
    assert "Booth 1." in block_words(row, base, picture.names, NOW)


def test_what_is_said_of_a_wait_says_when_it_is_over_and_whether_it_is_missed():
    picture = small()
    grille = picture.rows[2]
    missed = next(w for w in grille.waits if w.missed)
    assert "scuff first" in wait_words(grille, missed, NOW)
    m = Maker()
    m.piece(JOB, "p", "Panel", "Demo")
    m.wait(JOB, "p", WindowKind.CURE, "cure", NOW, 0)
    never = picture_of(m.table(NOW), m.names, (), NOW).rows[0]
    forever = never.waits[0].__class__(
        job=JOB, piece="p", layer=None, kind=WindowKind.CURE, words="cure", from_at=NOW, opens_at=FOR_GOOD
    )
    assert wait_words(never, forever, NOW) == "Panel, cure: not in this air."


def test_a_deadline_is_tight_where_little_is_left_or_nothing_is_planned_in_it():
    m = Maker()
    m.piece(JOB, "p", "Panel", "Demo")
    m.wait(JOB, "p", WindowKind.RECOAT, "recoat", at(16, 10), 60, 300, "primer")
    m.work(JOB, "p", Work.COAT, at(16, 14, 30), 5, "coat 1 of the base", "base", 1)
    row = picture_of(m.table(NOW), m.names, opening(), NOW).rows[0]
    assert follower(row, row.waits[0]) is row.blocks[0]
    assert is_tight(row, row.waits[0])  # half an hour is left
    m.placed.clear()
    m.work(JOB, "p", Work.COAT, at(16, 11, 30), 5, "coat 1 of the base", "base", 1)
    row = picture_of(m.table(NOW), m.names, opening(), NOW).rows[0]
    assert not is_tight(row, row.waits[0])
    m.placed.clear()
    m.work(JOB, "p", Work.COAT, at(16, 11, 30), 5, "coat 3 of the primer", "primer", 3)
    row = picture_of(m.table(NOW), m.names, opening(), NOW).rows[0]
    assert follower(row, row.waits[0]) is None
    assert is_tight(row, row.waits[0])


def test_the_list_holds_every_step_in_the_order_of_time_with_its_deadline():
    picture = small()
    found = lines(picture)
    assert len(found) == sum(len(r.blocks) for r in picture.rows)
    assert [p.starts_at for _, _, p in found] == sorted(p.starts_at for _, _, p in found)
    assert [line[4] for line, row, p in found if row.piece == "left" and p.task.id and line[4]]


def test_the_summary_counts_what_is_wrong():
    words = summary(small())
    assert "5 pieces" in words
    assert "Windows missed: 1." in words
    assert "Pieces that can't fit: 1." in words


# --- from block to block ---------------------------------------------------------------------------------


def test_the_arrows_reach_every_block_and_stop_at_the_ends():
    picture = small()
    spot, seen = (1, 0), [(1, 0)]
    for _ in picture.rows[1].blocks:
        spot = step_along(picture, spot, 1)
        seen.append(spot)
    assert set(seen) == {(1, i) for i in range(len(picture.rows[1].blocks))}
    assert step_along(picture, (1, 0), -1) == (1, 0)
    assert step_across(picture, (0, 0), -1) == (0, 0)
    # the row that can't fit has no blocks: there is nothing below the last one
    assert step_across(picture, (3, 0), 1) == (3, 0)


@given(st.integers(0, 3), st.integers(0, 60))
@settings(max_examples=40, deadline=None)
def test_the_nearest_block_is_no_further_than_any_other(row, hours):
    picture = small()
    moment = picture.begins_at + timedelta(hours=hours)
    found = nearest(picture, row, moment)
    blocks = picture.rows[row].blocks
    assert abs(blocks[found[1]].starts_at - moment) == min(abs(b.starts_at - moment) for b in blocks)


# --- marks -----------------------------------------------------------------------------------------------


def test_what_is_missed_is_marked_first_then_what_is_promised():
    picture = small()
    ranks = [m.rank for m in daymarks.marks(picture.rows[2], picture)]
    assert ranks == sorted(ranks)
    first = daymarks.marks(picture.rows[2], picture)[0]
    assert (first.tone, first.bold, first.kind) == ("trouble", True, "edge")
    assert first.words[0].startswith("missed: closed")
    assert any(m.kind == "promise" for m in daymarks.marks(picture.rows[0], picture))


@pytest.mark.parametrize(("day", "kind", "arrow"), [(16, "promise", ""), (29, "beyond", "→"), (2, "beyond", "←")])
def test_a_promise_beyond_what_is_drawn_is_still_told(day, kind, arrow):
    m = Maker()
    m.piece(JOB, "p", "Panel", "Demo", at(day, 12))
    m.work(JOB, "p", Work.COAT, at(16, 10), 5, "coat 1", "base", 1)
    picture = picture_of(m.table(NOW), m.names, opening(), NOW)
    (mark,) = daymarks.marks(picture.rows[0], picture)
    assert mark.kind == kind
    assert "promised" in mark.words[0]
    assert arrow in mark.words[0]
    assert picture.begins_at <= mark.at <= picture.ends_at


@given(st.lists(st.floats(0, 900), min_size=2, max_size=12))
@settings(max_examples=60, deadline=None)
def test_no_label_lies_over_another_or_out_of_view(xs):
    look, view, taken = _TYPE, QRectF(100, 0, 800, 60), []
    placed = [daymarks._free(look, x, "closes Tue 02:40", view, taken) for x in xs]
    assert len(taken) == sum(p is not None for p in placed)
    for i, (a, b) in enumerate(taken):
        assert a >= view.left() - 3.01
        assert b <= view.right() + 3.01
        assert all(b <= c or d <= a for c, d in taken[i + 1 :])


class _Type:
    @property
    def small(self):
        from PySide6.QtGui import QFont

        font = QFont()
        font.setPixelSize(13)
        return font


_TYPE = _Type()


@pytest.fixture(autouse=True)
def _screen(qapp):
    """Fonts are measured by the toolkit."""


# --- the widget ------------------------------------------------------------------------------------------


@pytest.fixture
def plot(qtbot):
    look = Look()
    made = DayPlot(look)
    made.resize(1_000, 420)
    qtbot.addWidget(made)
    made.show()
    qtbot.waitExposed(made)
    return made


def test_the_whole_plan_is_seen_at_first(plot):
    plot.show_picture(small())
    frame = plot.frame()
    assert frame.x(plot.picture.begins_at) == pytest.approx(frame.names)
    assert frame.x(plot.picture.ends_at) == pytest.approx(plot.viewport().width(), abs=1)
    assert plot.horizontalScrollBar().maximum() <= 1
    assert plot.accessibleName() == summary(plot.picture)


def test_zoom_keeps_the_place_under_the_cursor(plot):
    plot.show_picture(small())
    about = 600.0
    frame = plot.frame()
    before = (about - frame.names + frame.rolled) / frame.px_h
    plot.zoom(4, about)
    frame = plot.frame()
    assert (about - frame.names + frame.rolled) / frame.px_h == pytest.approx(before, abs=1 / frame.px_h)
    plot.zoom(1 / 100)
    assert plot.frame().px_h * plot.picture.hours == pytest.approx(plot.viewport().width() - plot.names_width(), abs=1)


def test_next_hours_show_now_and_a_day_of_work(plot):
    plot.show_picture(many())
    plot.show_today()
    frame = plot.frame()
    assert frame.names <= frame.x(NOW) <= frame.names + 2 * frame.px_h
    assert plot.viewport().width() - frame.names == pytest.approx(12 * frame.px_h, abs=1)


def test_keys_go_from_block_to_block_say_it_and_ask_for_the_layer(plot, qtbot):
    plot.show_picture(small())
    plot.setFocus()
    said = []
    plot.pointed.connect(said.append)
    QTest.keyClick(plot, KEY.Key_Down)
    QTest.keyClick(plot, KEY.Key_Right)
    assert plot.chosen == (0, 1)
    assert said[-1].startswith("Left shell")
    assert plot.accessibleDescription() == said[-1]
    with qtbot.waitSignal(plot.layer_asked) as asked:
        QTest.keyClick(plot, KEY.Key_Return)
    assert asked.args == [JOB, "left", "base"]


def test_a_click_near_a_thin_block_is_taken_for_it(plot, qtbot):
    plot.show_picture(small())
    box = plot.drawn().block(2, plot.picture.rows[2].blocks[0])
    with qtbot.waitSignal(plot.layer_asked) as asked:
        spot = QPoint(int(box.left()) - 15, int(box.center().y()))
        QTest.mouseClick(plot.viewport(), Qt.MouseButton.LeftButton, pos=spot)
    assert asked.args == [JOB, "grille", "epoxy-primer"]


def test_what_is_under_the_cursor_is_said(plot):
    plot.show_picture(small())
    frame, lane = plot.frame(), plot.drawn().lane(2)
    assert "closes" in plot.words_at(QPointF(frame.x(at(16, 20)), lane.center().y()))
    assert plot.words_at(QPointF(20, lane.center().y())).startswith("Grille")
    assert plot.words_at(QPointF(500, plot.drawn().lane(4).center().y())).startswith("The recoat window")
    assert plot.words_at(QPointF(500, 5)) == ""


def test_the_block_in_hand_stays_when_the_plan_is_made_anew(plot):
    plot.show_picture(small())
    plot.choose((1, 3))
    held = plot.placed(plot.chosen)
    table, names = small_shop()
    later = picture_of(table, names, opening(), NOW + timedelta(hours=1))
    plot.show_picture(later)
    assert plot.placed(plot.chosen).task.id == held.task.id
    plot.show_picture(many())
    assert plot.chosen is None


@pytest.mark.parametrize("theme", ["light", "dark"])
@pytest.mark.parametrize("made", [small, many])
def test_every_zoom_and_place_can_be_drawn(plot, made, theme):
    plot.look.choose(theme)
    plot.show_picture(made())
    whole = plot.grab().toImage()
    for act in (
        plot.show_today,
        lambda: plot.zoom(30),
        lambda: plot.verticalScrollBar().setValue(200),
        plot.show_whole,
    ):
        act()
        assert not plot.grab().isNull()
    plot.verticalScrollBar().setValue(0)
    assert plot.grab().toImage() == whole


def test_waits_and_work_differ_in_shape_not_only_in_colour(plot):
    """Drawn in one colour, a coat fills its block and a wait leaves gaps in its own."""
    from benchtool.bench.daydraw import DayDraw
    from benchtool.bench.dayprint import PrintType

    picture = small()
    frame = Frame(names=0, head=0, row=70, begins_at=picture.begins_at, px_h=240)
    drawn = DayDraw(PrintType(), picture, frame)
    image = QImage(9_000, 400, QImage.Format.Format_RGB32)
    image.fill(Qt.GlobalColor.white)
    painter = QPainter(image)
    drawn.draw_row(painter, 1, QRectF(0, 0, 9_000, 400))
    painter.end()
    row = picture.rows[1]
    coat = drawn.block(1, next(b for b in row.blocks if b.task.work is Work.COAT))
    wait = next(w for w in row.waits if w.kind is WindowKind.RECOAT)
    lane = drawn.lane(1)

    def dark(x_from, x_to, y):
        xs = range(int(x_from) + 2, int(x_to) - 2)
        return sum(image.pixelColor(x, int(y)).lightness() < 128 for x in xs) / len(xs)

    assert dark(coat.left(), coat.right(), coat.top() + 3) == 1.0
    assert 0.05 < dark(frame.x(wait.from_at) + 30, frame.x(wait.opens_at) - 10, lane.center().y() + 1) < 0.6


def test_text_of_a_file_is_text(plot):
    m = Maker()
    m.piece(OTHER, "p", "<b>Panel</b> & more", "<i>Demo</i>")
    m.work(OTHER, "p", Work.COAT, at(16, 10), 5, "<img src=x>", "l", 1)
    plot.show_picture(picture_of(m.table(NOW), m.names, opening(), NOW))
    plot.choose((0, 0))
    assert "<b>Panel</b>" in plot.accessibleDescription()
    assert not plot.grab().isNull()


def test_a_missed_window_stays_hatched_until_its_scuff_wherever_it_is_rolled(plot):
    """Rolled past the instant at which it closed, the time lost is still told by its pattern."""
    plot.show_picture(small())
    plot.zoom(12)
    missed = next(w for w in plot.picture.rows[2].waits if w.missed)
    room = plot.viewport().width() - plot.names_width()
    hours = (missed.closes_at - plot.picture.begins_at).total_seconds() / 3_600
    plot.horizontalScrollBar().setValue(round(hours * plot.px_h + room / 4))
    lane, frame = plot.drawn().lane(2), plot.frame()
    assert frame.x(missed.closes_at) < frame.names
    image, y = plot.viewport().grab().toImage(), round(lane.center().y())
    trouble = plot.look.theme.color("trouble")
    reds = [image.pixelColor(x, y) for x in range(int(frame.names) + 10, int(frame.names + room) - 10)]
    share = sum(c.red() > 120 and c.green() < 100 for c in reds) / len(reds)
    assert trouble.red() > 120
    assert 0.1 < share < 0.9


def test_the_list_has_the_job_beside_the_piece_where_there_are_several():
    found = picture_of(*small_shop(), opening(), NOW)
    assert len({r.job for r in found.rows}) > 1
    assert all(line[2] == f"{row.named.name} ({row.named.job_title})" for line, row, _ in lines(found))
    alone = replace(found, rows=tuple(r for r in found.rows if r.job == JOB))
    assert all(line[2] == row.named.name for line, row, _ in lines(alone))
