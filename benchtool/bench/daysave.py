"""Where the printed plan goes: a PDF, or a printer where the toolkit has one."""

from collections.abc import Callable
from importlib.util import find_spec
from pathlib import Path

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QWidget

from benchtool.bench.beside import SaveBeside, documents
from benchtool.bench.dayprint import PlanPaper, draw_plan, page_layout, plan_pdf
from benchtool.session import planpaper
from benchtool.sheets.blocks import Paper
from benchtool.trade.saying import say


def can_print() -> bool:
    """Whether the toolkit comes with its printing."""
    return find_spec("PySide6.QtPrintSupport") is not None


class PlanSave(SaveBeside):
    """Asks where the plan goes, writes or prints it, and says what came of it."""

    said = Signal(str)

    def __init__(self, parent: QWidget) -> None:
        super().__init__(parent, documents())

    def ask_file(self, plan: PlanPaper, paper: Paper) -> None:
        """Open the dialog for the file's name."""
        suggested = planpaper.suggested_name(plan.picture.now)
        self.ask_name(
            say("The plan as a PDF"), suggested, lambda path: self.write(path, plan, paper), "plan-file-dialog"
        )

    def write(self, path: Path, plan: PlanPaper, paper: Paper) -> None:
        """Write the plan into this file, and say so, or why not."""
        try:
            planpaper.save_plan(path, plan_pdf(plan, paper))
        except planpaper.SaveFault as fault:
            self.said.emit(str(fault))
            return
        self.folder = path.parent
        self.said.emit(say("The plan is written to {file}.", file=path.name))

    def ask_printer(self, plan: PlanPaper, paper: Paper) -> None:
        """Open the dialog for the printer; where there is none, say what to do instead."""
        if not can_print():
            self.said.emit(say("Printing is not installed here: save a PDF and print that."))
            return
        from PySide6.QtPrintSupport import QPrintDialog, QPrinter, QPrinterInfo

        if not QPrinterInfo.availablePrinterNames():
            self.said.emit(say("No printer is set up on this laptop: save a PDF instead."))
            return
        printer = QPrinter(QPrinter.PrinterMode.HighResolution)
        printer.setDocName(plan.title)
        printer.setFullPage(True)
        printer.setPageLayout(page_layout(paper))
        dialog = QPrintDialog(printer, self.page.window())
        dialog.accepted.connect(lambda: self._tried(lambda: draw_plan(printer, plan, paper, printer.resolution())))
        self.put(dialog, "plan-print-dialog")

    def _tried(self, draw: Callable[[], bool]) -> None:
        done = draw()
        self.said.emit(
            say("The plan is on its way to the printer.")
            if done
            else say("The printer took nothing: save a PDF instead.")
        )
