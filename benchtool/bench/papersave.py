"""Where a paper goes: the dialogs for a file's name and for a printer. The bench goes on meanwhile."""

from collections.abc import Callable, Generator, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import Signal
from PySide6.QtGui import QPainter
from PySide6.QtWidgets import QFileDialog, QWidget

from benchtool.bench.beside import Beside, documents
from benchtool.bench.librarysteps import Steps
from benchtool.bench.sheetpdf import page_layout
from benchtool.bench.sheetpdfpages import Pages
from benchtool.bench.sheetpdftext import UNIT
from benchtool.session.papers import Ending
from benchtool.trade.saying import say, say_n

if TYPE_CHECKING:
    from PySide6.QtPrintSupport import QPrinter


def kind_words(ending: Ending) -> str:
    """Say what a file of this ending is, for the dialog."""
    return {
        Ending.PDF: say("PDF, to print or to send"),
        Ending.HTML: say("Page for a browser"),
        Ending.TEXT: say("Plain text"),
        Ending.CSV: say("Table for a spreadsheet"),
        Ending.ICS: say("Calendar"),
        Ending.JSON: say("Job file"),
    }[ending]


class PaperSave(Beside):
    """Asks for the name of a file; `chosen` gives it with what it shall be."""

    def __init__(self, parent: QWidget) -> None:
        super().__init__(parent, documents())

    def ask(self, names: Sequence[tuple[Ending, str]], then: Callable[[Path, Ending], None]) -> None:
        """Open the dialog: a name for each kind of file, the usual one first."""
        dialog = self.file_dialog(say("Save this paper"))
        dialog.setAcceptMode(QFileDialog.AcceptMode.AcceptSave)
        filters = {f"{kind_words(ending)} (*{ending.value})": (ending, name) for ending, name in names}
        dialog.setNameFilters(list(filters))
        first, name = names[0]
        dialog.setDefaultSuffix(first.value[1:])
        dialog.selectFile(name)

        def turned(chosen: str) -> None:
            ending, other = filters[chosen]
            dialog.setDefaultSuffix(ending.value[1:])
            dialog.selectFile(other)

        def picked(chosen: str) -> None:
            path = Path(chosen)
            kept = {e.value: e for e, _ in names}
            ending = kept.get(path.suffix.lower())
            if ending is None:  # such as "Door v1.2": what stands after the point is no kind of file
                ending = filters.get(dialog.selectedNameFilter(), (first, ""))[0]
                path = path.with_name(f"{path.name}{ending.value}")
            self.folder = path.parent
            then(path, ending)

        dialog.filterSelected.connect(turned)
        dialog.fileSelected.connect(picked)
        self.put(dialog, "papers-dialog")


class PaperPrint(Beside):
    """Asks for a printer and prints pages on it, one between two strokes of a key."""

    said = Signal(str)

    def __init__(self, parent: QWidget) -> None:
        super().__init__(parent, documents())
        self._printer: QPrinter | None = None
        self._steps = Steps(self)
        self._steps.done.connect(self._printed)

    def ask(self, pages: Pages) -> None:
        """Open the dialog of the system; where no printer is known, say what to do."""
        try:
            from PySide6.QtPrintSupport import QPrintDialog, QPrinter, QPrinterInfo
        except ImportError:
            self.said.emit(say("Printing does not work on this computer: save it as PDF, and print that."))
            return
        if not QPrinterInfo.availablePrinterNames():
            self.said.emit(say("No printer is known on this computer: save it as PDF, and print that elsewhere."))
            return
        printer = QPrinter(QPrinter.PrinterMode.HighResolution)
        printer.setDocName(pages.sheet.title)
        printer.setFullPage(True)
        printer.setPageLayout(page_layout(pages.paper))
        dialog = QPrintDialog(printer, self.page.window())
        dialog.setMinMax(1, len(pages))
        dialog.accepted.connect(lambda: self.print_on(printer, pages))
        self._printer = printer
        self.put(dialog, "papers-printer")

    def print_on(self, printer: "QPrinter", pages: Pages) -> None:
        """Print on this printer."""
        self._printer = printer
        first, last = printer.fromPage() or 1, printer.toPage() or len(pages)
        self._steps.start(_printing(printer, pages, range(first - 1, min(last, len(pages)))))

    def _printed(self, count: int) -> None:
        self._printer = None
        if count:
            self.said.emit(say_n("{n} page sent to the printer.", "{n} pages sent to the printer.", count))
        else:
            self.said.emit(say("The printer takes nothing: look whether it is on, or save it as PDF."))


def _printing(printer: "QPrinter", pages: Pages, wanted: range) -> Generator[int, None, int]:
    painter = QPainter()
    if not painter.begin(printer):
        return 0
    scale = printer.resolution() / UNIT
    try:
        for done, n in enumerate(wanted):
            if done and not printer.newPage():
                return 0
            painter.resetTransform()
            painter.scale(scale, scale)
            pages.draw(painter, n)
            yield done
    finally:
        painter.end()
    return len(wanted)
