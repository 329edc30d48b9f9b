"""Where words or pieces have too little room: what is cut says so, and what lies beyond the edge is counted."""

from types import SimpleNamespace

import pytest
from PySide6.QtCore import QRect
from PySide6.QtGui import QFontMetricsF, QImage, QRegion
from PySide6.QtWidgets import QApplication, QWidget

from benchtool.bench.controls import BigText
from benchtool.bench.farsheet import days_alone
from benchtool.bench.header import Header
from benchtool.bench.look import Look, elided_amid
from benchtool.bench.strips import AlarmStrip


def test_the_row_of_pieces_counts_what_lies_beyond_its_ends(bench: SimpleNamespace) -> None:
    window = bench.window
    header: Header = window.near.header
    names = list(header._chips.values())
    assert len(names) >= 4
    window.resize(1900, 800)
    QApplication.processEvents()
    window.refresh()
    QApplication.processEvents()
    assert all(mark.isHidden() for mark in header.marks)
    header.area.setFixedWidth(3 * 13 * 8)
    QApplication.processEvents()
    bench.session.pick(names[0].piece_id)
    window.refresh()
    QApplication.processEvents()
    before, after = header.marks
    assert before.isHidden()
    assert not after.isHidden()
    assert after.count >= 1
    bench.session.pick(names[3].piece_id)
    window.refresh()
    QApplication.processEvents()
    chip = header._chips[names[3].piece_id]
    assert QRegion(chip.visibleRegion()).boundingRect().width() == chip.width()
    assert not before.isHidden()
    before.click()
    assert header.area.horizontalScrollBar().value() < header.area.horizontalScrollBar().maximum()


def test_letters_with_tails_stay_in_their_own_line(qtbot: object) -> None:
    big = BigText(Look(), "numerals")
    big.resize(500, big.height())
    big.make_room(60)
    big.show_text("All quiet")
    image = QImage(500, 60, QImage.Format.Format_ARGB32)
    image.fill(0xFFFFFFFF)
    big.render(image)
    paper = image.pixel(499, 0)
    assert all(image.pixel(x, 59) == paper for x in range(500))
    assert any(image.pixel(x, 50) != paper for x in range(500))


@pytest.mark.parametrize(
    ("numerals", "said"), [("4 d 03:46", "4 d"), ("12 d 00:01", "12 d"), ("3:46", "3:46"), ("Done", "Done"), ("", "")]
)
def test_from_afar_days_are_told_without_their_hours_where_room_is_short(numerals: str, said: str) -> None:
    assert days_alone(numerals) == said


def test_titles_that_begin_alike_show_their_ends(qtbot: object) -> None:
    look = Look()
    width = QFontMetricsF(look.strong).horizontalAdvance("Tea tray and lamp shade")
    cut = elided_amid("Tea tray and lamp shade, touch-up", look.strong, width)
    assert cut.startswith("Tea tray")
    assert cut.endswith("touch-up")


def test_a_call_is_told_as_far_as_its_line_reaches(qtbot: object) -> None:
    over = QWidget()
    strip = AlarmStrip(Look())
    strip.setParent(over)
    line = "Name plate, Lighthouse red: Gloss clear may go on now, for 23:39:44 (called 10:46, not heard)"
    over.setGeometry(QRect(0, 0, 1280, 100))
    assert strip.brief(line, 90) == line
    over.setGeometry(QRect(0, 0, 700, 100))
    assert len(strip.brief(line, 90)) == 90
    over.deleteLater()
