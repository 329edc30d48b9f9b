"""The plan on paper: pages, what stands on them, and no file written over."""

import pytest
from PySide6.QtCore import QSize
from PySide6.QtWidgets import QFileDialog, QWidget
from timetables import FOUND, JOB, NOW, Maker, at, opening, small_shop, ugly

from benchtool.bench import daysave
from benchtool.bench.dayprint import PlanPaper, cut, draw_plan, page_layout, plan_pdf, stretches
from benchtool.bench.dayrows import picture_of
from benchtool.bench.daysave import PlanSave
from benchtool.plan.work import Work
from benchtool.session.planpaper import SaveFault, save_plan, suggested_name
from benchtool.sheets.blocks import Paper
from benchtool.trade.windows import WindowKind


@pytest.fixture(autouse=True)
def _screen(qapp):
    """Type is measured by the toolkit."""


def paper(made, title="The plan of the work"):
    picture = picture_of(*made, opening(), NOW)
    return PlanPaper(title=title, made="made 2026-03-16 09:20", picture=picture, said=FOUND)


def read(data):
    pypdf = pytest.importorskip("pypdf")
    from io import BytesIO

    return pypdf.PdfReader(BytesIO(data))


def text_of(page):
    return " ".join(page.extract_text().replace("\t", " ").split())


@pytest.mark.parametrize(("size", "points"), [(Paper.A4, (842, 595)), (Paper.LETTER, (792, 612))])
def test_the_pages_are_landscape_numbered_and_dated(size, points):
    reader = read(plan_pdf(paper(small_shop()), size))
    for i, page in enumerate(reader.pages):
        assert (round(page.mediabox.width), round(page.mediabox.height)) == points
        assert f"Page {i + 1} of {len(reader.pages)}" in text_of(page)
        assert "made 2026-03-16 09:20" in text_of(page)
    assert reader.metadata.title == "The plan of the work"


def test_the_first_page_shows_the_days_and_the_next_the_steps_and_what_was_found():
    pages = [text_of(page) for page in read(plan_pdf(paper(small_shop()))).pages]
    for words in ("Left shell", "Brass bar", "can't fit", "missed: closed", "Mon 16 Mar", "Tue 17 Mar"):
        assert words in pages[0]
    listed = " ".join(pages[1:])
    assert all(said.sentence in listed for said in FOUND)
    assert listed.count("coat 1 of the") == sum(p.task.coat == 1 for p in small_shop()[0].placed)


def opened(path):
    """Read a file back with the toolkit's own reader, which is not what wrote it."""
    pdf = pytest.importorskip("PySide6.QtPdf")
    document = pdf.QPdfDocument()
    assert document.load(str(path)) is pdf.QPdfDocument.Error.None_
    return document


def test_every_step_of_a_long_plan_is_on_some_page(tmp_path):
    made, path = ugly(), tmp_path / "plan.pdf"
    path.write_bytes(plan_pdf(paper(made)))
    document = opened(path)
    whole = " ".join(document.getAllText(i).text() for i in range(document.pageCount()))
    document.close()
    assert whole.count("clean the gun") == sum(p.task.words == "clean the gun" for p in made[0].placed)


def test_text_is_text_on_paper(tmp_path):
    m = Maker()
    m.piece(JOB, "p", "<b>Panel</b> & more", "<i>Demo</i>")
    m.work(JOB, "p", Work.PREP, NOW, 20, "wash <img src=x>")
    plan = PlanPaper(title="<h1>Plan</h1>", made="", picture=picture_of(m.table(NOW), m.names, opening(), NOW))
    pages = [text_of(page) for page in read(plan_pdf(plan)).pages]
    for words in ("<h1>Plan</h1>", "<b>Panel</b>", "<i>Demo</i>"):
        assert words in pages[0]
    assert "wash <img src=x>" in pages[1]


def test_a_printer_gets_the_same_pages(tmp_path):
    printing = pytest.importorskip("PySide6.QtPrintSupport")
    printer = printing.QPrinter(printing.QPrinter.PrinterMode.HighResolution)
    printer.setOutputFormat(printing.QPrinter.OutputFormat.PdfFormat)
    printer.setOutputFileName(str(tmp_path / "printed.pdf"))
    printer.setFullPage(True)
    printer.setPageLayout(page_layout(Paper.A4))
    plan = paper(small_shop())
    assert draw_plan(printer, plan, Paper.A4, printer.resolution())
    printed, written = opened(tmp_path / "printed.pdf"), read(plan_pdf(plan))
    assert printed.pageCount() == len(written.pages)
    assert "Left shell" in printed.getAllText(0).text()
    printed.close()


def test_without_a_printer_it_says_what_to_do_instead(qtbot, monkeypatch):
    printing = pytest.importorskip("PySide6.QtPrintSupport")
    monkeypatch.setattr(printing.QPrinterInfo, "availablePrinterNames", list)
    window = QWidget()
    qtbot.addWidget(window)
    save, said = PlanSave(window), []
    save.said.connect(said.append)
    save.ask_printer(paper(small_shop()), Paper.A4)
    assert said == ["No printer is set up on this laptop: save a PDF instead."]
    monkeypatch.setattr(daysave, "can_print", lambda: False)
    save.ask_printer(paper(small_shop()), Paper.A4)
    assert "save a PDF" in said[-1]
    assert save.dialog is None


def test_all_work_is_on_some_stretch_and_days_without_any_are_left_out():
    for made in (small_shop(), ugly()):
        picture = picture_of(*made, opening(), NOW)
        spans = list(stretches(picture))
        for row in picture.rows:
            for block in row.blocks:
                assert any(a <= block.starts_at < b for a, b in spans)
                assert any(
                    row.piece == r.piece for a, b in spans if a <= block.starts_at < b for r in cut(picture, a, b).rows
                )
        assert all(any(a < b.ends_at and b.starts_at < e for r in picture.rows for b in r.blocks) for a, e in spans)


def test_a_stretch_begins_shortly_before_its_first_work_and_holds_its_deadlines():
    m = Maker()
    m.piece(JOB, "p", "Panel", "Demo")
    for day in (18, 20, 22):
        m.work(JOB, "p", Work.COAT, at(day, 10, 20), 5, "coat 1", "base", 1)
    m.wait(JOB, "p", WindowKind.RECOAT, "recoat", at(18, 10, 25), 60, 16 * 60 + 15, "base")
    spans = list(stretches(picture_of(m.table(NOW), m.names, opening(), NOW)))
    assert spans[0] == (at(18, 9), at(19, 3, 40))  # it closes at 02:40
    assert spans[1] == (at(20, 9), at(20, 21))  # twelve hours at least
    assert len(spans) == 3


def test_a_plan_of_nothing_is_one_page_that_says_so():
    m = Maker()
    plan = PlanPaper(title="Plan", made="", picture=picture_of(m.table(NOW), m.names, (), NOW))
    reader = read(plan_pdf(plan))
    assert len(reader.pages) == 1
    assert "Nothing is planned." in text_of(reader.pages[0])


def test_only_black_white_and_grey_are_printed(tmp_path):
    path = tmp_path / "plan.pdf"
    path.write_bytes(plan_pdf(paper(small_shop())))
    document = opened(path)
    image = document.render(0, QSize(842, 595))
    document.close()
    colours = {image.pixel(x, y) & 0xFFFFFF for x in range(0, 842, 2) for y in range(0, 595, 2)}
    assert len(colours) > 2
    for c in colours:
        red, green, blue = c >> 16, c >> 8 & 255, c & 255
        assert max(red, green, blue) - min(red, green, blue) <= 2


def test_the_file_is_written_whole_and_only_over_an_earlier_plan(tmp_path, full_disk):
    path, data = tmp_path / suggested_name(NOW), plan_pdf(paper(small_shop()))
    assert path.name == f"Plan {NOW.astimezone().date()}.pdf"
    save_plan(path, data)
    save_plan(path, data)
    other = tmp_path / "mine.pdf"
    other.write_bytes(b"%PDF-1.4 something of mine")
    with pytest.raises(SaveFault):
        save_plan(other, data)
    assert other.read_bytes() == b"%PDF-1.4 something of mine"
    fresh = tmp_path / "fresh.pdf"
    with full_disk(), pytest.raises(SaveFault):
        save_plan(fresh, data)
    assert not fresh.exists()


def test_what_came_of_it_is_said(qtbot, tmp_path, monkeypatch):
    monkeypatch.setattr(QFileDialog, "show", lambda _: None)
    window = QWidget()
    qtbot.addWidget(window)
    save, said = PlanSave(window), []
    save.said.connect(said.append)
    save.write(tmp_path / "plan.pdf", paper(small_shop()), Paper.A4)
    assert said[-1] == "The plan is written to plan.pdf."
    save.write(tmp_path / "nowhere" / "plan.pdf", paper(small_shop()), Paper.A4)
    assert not (tmp_path / "nowhere").exists()
    assert said[-1] != said[0]
    save.ask_file(paper(small_shop()), Paper.A4)
    assert not save.dialog.isModal()
    save.dialog.reject()
    assert save.dialog is None
