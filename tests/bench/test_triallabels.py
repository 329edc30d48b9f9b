"""The labels of a trial as a PDF: its paper, its pages, text that is text, and no file written over."""

from pathlib import Path

import pytest
from PySide6.QtCore import QLocale
from PySide6.QtWidgets import QFileDialog, QWidget
from trial_setting import UGLY, session_of

from benchtool.bench.triallabels import LabelSave, labels_pdf, usual_paper
from benchtool.session import trialsetup as ts
from benchtool.session.triallabels import Label, Labels, SaveFault, labels_of, save_labels, suggested_name

_A4, _LETTER = (595, 842), (612, 792)


def labels(count=6, width=25.0, trial="Trial for Bumper", system="Two-part promoter"):
    made = tuple(
        Label(number=i + 1, letter="AB"[i % 2], system=system, stack="Base colour × 2", control=i % 2 == 1,
              colour="#3f6fa8", panel=1 + i // 12, place=i % 12)
        for i in range(count)
    )  # fmt: skip
    return Labels(trial=trial, date="2026-03-14", labels=made, strip_mm=(width, 100.0))


def opened(data, tmp_path):
    """Read a file back with the toolkit's own reader, which is not what wrote it."""
    pdf = pytest.importorskip("PySide6.QtPdf")
    path = tmp_path / "read.pdf"
    path.write_bytes(data)
    document = pdf.QPdfDocument()
    assert document.load(str(path)) is pdf.QPdfDocument.Error.None_
    return document


@pytest.mark.parametrize(("paper", "points"), [("A4", _A4), ("Letter", _LETTER)])
def test_the_paper_is_the_one_chosen_and_each_panel_has_a_page(qtbot, tmp_path, paper, points):
    data = labels_pdf(labels(16), paper)
    assert data.startswith(b"%PDF")
    document = opened(data, tmp_path)
    assert document.pageCount() == 3  # sixteen labels on one sheet, and two panels
    size = document.pagePointSize(0)
    assert (round(size.width()), round(size.height())) == points
    document.close()


def test_text_can_be_selected_and_is_never_markup(qtbot, tmp_path):
    document = opened(labels_pdf(labels(2, 60.0, trial="<b>Bumper</b> & wing", system="<i>Ours</i>")), tmp_path)
    text = document.getAllText(0).text()
    for words in ("<b>Bumper</b> & wing", "<i>Ours</i>", "2026-03-14", "Prepared", "control"):
        assert words in text
    assert "1 : 1" in document.getAllText(1).text()
    document.close()


def test_a_name_that_is_too_long_is_shortened_at_its_end(qtbot, tmp_path):
    document = opened(labels_pdf(labels(2, trial=UGLY * 3, system=UGLY * 3)), tmp_path)
    text = document.getAllText(0).text()
    assert "…" in text
    assert UGLY not in text
    assert "<b>Zinc" in text
    document.close()


def test_many_labels_take_more_sheets_and_all_are_there(qtbot, tmp_path):
    document = opened(labels_pdf(labels(48, 60.0)), tmp_path)
    sheets = document.pageCount() - 4
    assert sheets == 3  # two beside each other and nine rows: 18 on a sheet
    told = " ".join(document.getAllText(i).text() for i in range(sheets))
    assert told.count("Prepared") == 48
    document.close()


def test_what_stands_on_them_is_what_is_set_up(clock, tmp_path):
    session = session_of(clock, tmp_path)
    setup = ts.begin(session, session.piece)
    made = labels_of(session, setup)
    assert [(x.number, x.letter, x.control) for x in made.labels] == [
        (n, "A" if n < 4 else "B", n > 3) for n in range(1, 7)
    ]
    assert (
        made.labels[0].stack
        == "Two-part promoter × 2 (Rigid activator), Base colour, Two-part clear × 2 (Slow hardener)"
    )
    assert made.date == clock.now().astimezone().date().isoformat()
    session.close_all()


def test_the_suggested_name_suits_every_system():
    assert suggested_name(labels(trial='A/B\\C: "x" ')) == "A B C x labels.pdf"
    assert suggested_name(labels(trial="x" * 200)) == f"{'x' * 50} labels.pdf"


# --- the file ----------------------------------------------------------------------------------------


def test_labels_are_written_over_labels_and_over_nothing_else(qtbot, tmp_path):
    path = tmp_path / "labels.pdf"
    save_labels(path, labels_pdf(labels()))
    newer = labels_pdf(labels(8))
    save_labels(path, newer)
    assert path.read_bytes() == newer
    for other in (b"%PDF-1.4\nan invoice", b"notes"):
        path.write_bytes(other)
        with pytest.raises(SaveFault, match="holds something else"):
            save_labels(path, newer)
        assert path.read_bytes() == other


def test_a_full_disk_leaves_the_file_as_it_was(qtbot, tmp_path, full_disk):
    path = tmp_path / "labels.pdf"
    save_labels(path, labels_pdf(labels()))
    before = path.read_bytes()
    with full_disk(), pytest.raises(SaveFault):
        save_labels(path, labels_pdf(labels(9)))
    assert path.read_bytes() == before
    assert [p.name for p in tmp_path.iterdir()] == ["labels.pdf"]


def test_it_says_what_came_of_it(qtbot, tmp_path):
    window = QWidget()
    qtbot.addWidget(window)
    save = LabelSave(window)
    said = []
    save.said.connect(said.append)
    save.write(tmp_path / "labels.pdf", labels(), "A4")
    assert "labels.pdf" in said[-1]
    assert "full size" in said[-1]
    save.write(tmp_path / "gone" / "labels.pdf", labels(), "A4")
    assert not (tmp_path / "gone").exists()
    assert said[-1] != said[0]
    save.ask(Labels(trial="x", date="", labels=(), strip_mm=(25, 100)), "A4")
    assert "no strip yet" in said[-1]
    assert save.dialog is None


def test_the_dialog_offers_a_name_and_writes_where_it_is_told(qtbot, tmp_path, monkeypatch):
    monkeypatch.setattr(QFileDialog, "show", lambda _: None)  # the system's own can't be typed into from here
    window = QWidget()
    qtbot.addWidget(window)
    window.show()
    save = LabelSave(window)
    save.folder = Path(tmp_path)
    save.ask(labels(), "Letter")
    assert save.dialog is not None
    assert not save.dialog.isModal()
    save.dialog.fileSelected.emit(str(tmp_path / "mine.pdf"))
    save.dialog.done(0)
    assert (tmp_path / "mine.pdf").read_bytes().startswith(b"%PDF")
    assert save.dialog is None


def test_the_usual_paper_follows_the_place(qtbot):
    before = QLocale()
    try:
        QLocale.setDefault(QLocale(QLocale.Language.English, QLocale.Country.UnitedStates))
        assert usual_paper() == "Letter"
        QLocale.setDefault(QLocale(QLocale.Language.German, QLocale.Country.Germany))
        assert usual_paper() == "A4"
    finally:
        QLocale.setDefault(before)
