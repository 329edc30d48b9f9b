"""The page "On paper": what it lists and shows, and saving, printing and copying by key."""

from functools import partial
from pathlib import Path

import pytest
from photo_places import PLACE, jpeg
from pypdf import PdfReader
from PySide6.QtCore import QRectF, Qt
from PySide6.QtGui import QGuiApplication
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QFileDialog

from benchtool.bench.papers import PapersPage
from benchtool.job import events as ev
from benchtool.session.papers import Ending
from benchtool.store import photos

pytestmark = pytest.mark.qt_log_ignore("propagateSizeHints", "This plugin does not support")

CTRL = Qt.KeyboardModifier.ControlModifier


@pytest.fixture
def page(bench):
    page = PapersPage(bench.window.look, bench.session, "A4")
    page.heard = []
    page.said.connect(page.heard.append)
    bench.bot.addWidget(page)
    page.resize(1200, 560)
    page.show()
    bench.bot.waitExposed(page)
    page.ask()
    ready(bench, page)
    yield page
    page.close()


def ready(bench, page):
    bench.bot.waitUntil(lambda: page.made is not None and (page.made.pages is not None or not page.made.offer.is_sheet))


def press(page, key, mods=Qt.KeyboardModifier.NoModifier):
    QTest.keyClick(page.focusWidget() or page, key, mods)


def heard(bench, page, words):
    bench.bot.waitUntil(lambda: any(words in said for said in page.heard))


def with_photo(bench, data):
    document = bench.session.current
    name = photos.keep(document.path, data)
    picture = ev.Picture(name=name, sha256=photos.sha256_of(data), called="a.jpg")
    bench.session.apply(partial(ev.PhotoAdded, piece="dome", picture=picture, note="Before the prep"))
    return document.path.with_name(f"{document.path.name}.photos") / name


def test_the_job_sheet_is_shown_first_with_its_pages(bench, page):
    assert page.key == "job"
    assert page.made.pages.sheet.title.endswith("Harbour diorama")
    assert page.told.text() == f"{len(page.made.pages)} pages on A4"
    assert page.list.list.count() == 10
    bench.bot.waitUntil(lambda: 0 in page.view.column._drawn)
    first = page.view.column.spots()[0]
    assert first.height() / first.width() == pytest.approx(297 / 210, rel=0.01)


def test_arrow_keys_choose_another_paper(bench, page):
    press(page, Qt.Key.Key_Down)
    bench.bot.waitUntil(lambda: page.made is not None and page.made.offer.key == "care-dome")
    ready(bench, page)
    assert page.told.text() == "1 page on A4"
    assert page.note.isVisible()
    assert "Not all coats" in page.note.text()


def test_a_table_is_shown_with_straight_columns_and_can_not_be_printed(bench, page):
    page.choose("csv-mixes")
    bench.bot.waitUntil(lambda: page.made is not None and page.made.offer.key == "csv-mixes")
    assert page.view.text.toPlainText().startswith("cup  begun_utc")
    assert not page.print.isEnabled()
    page.ask_print()
    assert "another program" in page.heard[-1]


def test_another_paper_is_laid_out_anew_and_told(bench, page):
    told = []
    page.paper_chosen.connect(told.append)
    before = page.made.pages
    page.sizes.findChildren(type(page.save))[1].click()
    bench.bot.waitUntil(lambda: page.made is not None and page.made.pages not in (None, before))
    assert told == ["US Letter"]
    first = page.view.column.spots()[0]
    assert first.height() / first.width() == pytest.approx(279.4 / 215.9, rel=0.01)


@pytest.mark.parametrize(("ending", "begins"), [(Ending.PDF, b"%PDF"), (Ending.HTML, b"<!"), (Ending.TEXT, b"Job")])
def test_a_sheet_is_saved_as_what_it_is_named(bench, page, tmp_path, ending, begins):
    path = tmp_path / f"sheet{ending.value}"
    page.keep(page.made, path, ending)
    heard(bench, page, f"Written to {path.name}.")
    assert path.read_bytes().startswith(begins)
    path.write_bytes(b"a letter")
    page.keep(page.made, path, ending)
    heard(bench, page, "something else")
    assert path.read_bytes() == b"a letter"


def test_ctrl_s_asks_for_a_name_and_writes_the_file(bench, page, tmp_path):
    press(page, Qt.Key.Key_S, CTRL)
    dialog = page.saving.dialog
    assert isinstance(dialog, QFileDialog)
    assert not dialog.isModal()
    assert [Path(f).name for f in dialog.selectedFiles()] == ["Harbour diorama job sheet.pdf"]
    dialog.fileSelected.emit(str(tmp_path / "mine.pdf"))
    heard(bench, page, "Written to mine.pdf.")
    dialog.close()
    reader = PdfReader(tmp_path / "mine.pdf")
    assert len(reader.pages) == len(page.made.pages)
    assert "Harbour diorama" in reader.pages[0].extract_text()


def test_a_full_disk_is_said_and_leaves_no_file(bench, page, tmp_path, full_disk):
    with full_disk():
        page.keep(page.made, tmp_path / "a.pdf", Ending.PDF)
        heard(bench, page, "full")
    assert list(tmp_path.glob("*.pdf")) == []


def test_the_file_is_that_of_the_job_it_was_asked_for(bench, page, tmp_path):
    made = page.made
    page.choose("csv-events")
    bench.bot.waitUntil(lambda: page.made is not made)
    page.keep(made, tmp_path / "a.pdf", Ending.PDF)
    heard(bench, page, "Written to a.pdf.")


def test_a_change_of_the_job_while_a_file_is_written_loses_no_file(bench, page, tmp_path):
    page.keep(page.made, tmp_path / "a.pdf", Ending.PDF)
    bench.session.apply(partial(ev.ReadingTaken, air_degC=21.0, humidity_percent=50.0))
    heard(bench, page, "Written to a.pdf.")
    ready(bench, page)


def test_what_is_done_on_the_bench_is_on_the_sheet(bench, page):
    before = page.made.sheet
    bench.session.apply(partial(ev.PrepDone, piece="dome", step=ev.Prep.DEGREASE))
    bench.bot.waitUntil(lambda: page.made is not None and page.made.sheet != before and page.made.pages is not None)


def test_photos_are_read_beside_the_window_and_go_out_without_their_place(bench, page, tmp_path):
    kept = with_photo(bench, jpeg(1))
    assert PLACE in kept.read_bytes()
    before = page.made.pages
    bench.bot.waitUntil(lambda: page.made is not None and page.made.pages not in (None, before))
    page.keep(page.made, tmp_path / "a.pdf", Ending.PDF)
    page.keep(page.made, tmp_path / "a.html", Ending.HTML)
    heard(bench, page, "Written to a.pdf.")
    heard(bench, page, "Written to a.html.")
    drawn = [x for p in PdfReader(tmp_path / "a.pdf").pages for x in p["/Resources"]["/XObject"].values()]
    assert [x.get_object()["/Subtype"] for x in drawn] == ["/Image"]
    for name in ("a.pdf", "a.html"):
        assert PLACE not in (tmp_path / name).read_bytes()


def test_a_photo_that_was_moved_away_is_told(bench, page):
    with_photo(bench, jpeg(1)).unlink()
    bench.bot.waitUntil(lambda: "1 photo can't be shown" in page.told.text())


def test_ctrl_c_copies_the_sheet_as_text(bench, page):
    press(page, Qt.Key.Key_C, CTRL)
    assert QGuiApplication.clipboard().text().startswith("Job sheet: Harbour diorama")
    assert page.heard == ["Job sheet is copied as text."]


def test_page_down_leafs_through_the_sheet_and_letters_are_no_acts(bench, page):
    before = page.view.area.verticalScrollBar().value()
    events = len(bench.session.current.job.events)
    press(page, Qt.Key.Key_PageDown)
    assert page.view.area.verticalScrollBar().value() > before
    press(page, Qt.Key.Key_PageUp)
    assert page.view.area.verticalScrollBar().value() == before
    press(page, Qt.Key.Key_S)
    press(page, Qt.Key.Key_U)
    assert len(bench.session.current.job.events) == events


def test_escape_leaves(bench, page):
    left = []
    page.left.connect(lambda: left.append(True))
    press(page, Qt.Key.Key_Escape)
    assert left == [True]


def test_without_a_printer_it_is_said(bench, page, monkeypatch):
    from PySide6.QtPrintSupport import QPrinterInfo

    monkeypatch.setattr(QPrinterInfo, "availablePrinterNames", staticmethod(list))
    press(page, Qt.Key.Key_P, CTRL)
    assert "No printer is known" in page.heard[-1]


def test_pages_are_printed_as_they_are_laid_out(bench, page, tmp_path):
    from PySide6.QtPrintSupport import QPrinter

    from benchtool.bench.sheetpdf import page_layout

    printer = QPrinter(QPrinter.PrinterMode.HighResolution)
    printer.setOutputFormat(QPrinter.OutputFormat.PdfFormat)
    printer.setOutputFileName(str(tmp_path / "printed.pdf"))
    printer.setFullPage(True)
    printer.setPageLayout(page_layout(page.paper))
    page.printing.print_on(printer, page.made.pages)
    heard(bench, page, "sent to the printer")
    reader = PdfReader(tmp_path / "printed.pdf")
    assert len(reader.pages) == len(page.made.pages)
    box = reader.pages[0].mediabox
    assert (round(box.width), round(box.height)) == (595, 842)


def test_without_a_job_the_page_says_what_to_do(bench, page):
    bench.session.close(bench.session.current)
    page.ask()
    assert page.made is None
    assert "No job is open" in page.view.words.text()
    page.ask_save()
    assert "No job is open" in page.heard[-1]


def test_hiding_it_half_way_and_coming_back_shows_it_whole(bench, page):
    page.made = None
    page._begin()
    page.hide()
    page.show()
    ready(bench, page)
    assert page.view.column.pages is page.made.pages


def test_a_sheet_that_can_not_be_made_is_said_and_the_page_stays(bench, page, monkeypatch):
    from benchtool.bench import papermaking

    def broken(*_):
        raise ValueError("the record holds no such thing")

    monkeypatch.setattr(papermaking, "sheet_of", broken)
    page.ask("care-plate")
    bench.bot.waitUntil(lambda: "no such thing" in page.view.words.text())
    monkeypatch.undo()
    page.ask("care-plate")
    ready(bench, page)


def test_what_is_asked_for_while_a_sheet_is_made_is_done_when_it_is_there(bench, page):
    page.ask("care-plate")
    assert page.made.pages is None
    press(page, Qt.Key.Key_C, CTRL)
    heard(bench, page, "Care sheet, Name plate is copied as text.")
    assert QGuiApplication.clipboard().text().startswith("How to care for Name plate")


@pytest.mark.parametrize(("ending", "what"), [(Ending.PDF, "finished_pages"), (Ending.HTML, "html_made")])
def test_a_file_that_can_not_be_made_is_said_and_the_next_is_written(bench, page, tmp_path, monkeypatch, ending, what):
    from benchtool.bench import papers

    def broken(*_):
        raise KeyError("nothing")

    path = tmp_path / f"a{ending.value}"
    with monkeypatch.context() as patch:
        patch.setattr(papers, what, broken)
        page.keep(page.made, path, ending)
        heard(bench, page, "is not written")
    assert not path.exists()
    page.keep(page.made, path, ending)
    heard(bench, page, f"Written to {path.name}.")


def test_a_second_file_waits_for_the_first(bench, page, tmp_path):
    page.keep(page.made, tmp_path / "a.pdf", Ending.PDF)
    page.keep(page.made, tmp_path / "b.pdf", Ending.PDF)
    assert "Another file" in page.heard[-1]
    heard(bench, page, "Written to a.pdf.")


def test_every_target_is_large_enough_and_has_a_name(bench, page):
    for button in (page.save, page.print, page.copy, page.back, *page.sizes.findChildren(type(page.save))):
        assert button.height() >= 48
        assert button.accessibleName()
    assert QRectF(page.view.geometry()).width() > 400
