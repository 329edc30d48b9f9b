"""Putting the long waits of the job in hand into a calendar file, from anywhere in the window."""

from pathlib import Path

from PySide6.QtCore import QObject, QStandardPaths, Signal
from PySide6.QtWidgets import QFileDialog, QWidget

from benchtool.session import calendars
from benchtool.session.session import Document, NotNow, Session
from benchtool.sheets.calendar import LEAST, entries

SUFFIX = ".ics"


def documents() -> Path:
    """Give the folder in which the painter looks for files: that of the system for documents, else home."""
    return Path(QStandardPaths.writableLocation(QStandardPaths.StandardLocation.DocumentsLocation) or Path.home())


class CalendarSave(QObject):
    """Asks where the calendar file goes, writes it, and says what came of it."""

    said = Signal(str)

    def __init__(self, parent: QWidget, session: Session, folder: Path) -> None:
        super().__init__(parent)
        self.window, self.session, self.folder = parent, session, folder
        self._dialog: QFileDialog | None = None

    def ask(self) -> None:
        """Open the dialog for the file's name; where nothing runs long enough, say so instead."""
        document = self.session.current
        if document is None:
            self.said.emit("No job is open. Open one, then write its calendar.")
            return
        if not entries(document.windows, self.session.now()):
            self.said.emit(calendars.nothing_to_tell(LEAST))
            return
        if self._dialog is not None:
            self._dialog.close()
        name = calendars.suggested_name(document)
        dialog = QFileDialog(self.window, "Put the long waits into a calendar file", self._there(), f"*{SUFFIX}")
        dialog.setObjectName("calendar-dialog")
        dialog.setAcceptMode(QFileDialog.AcceptMode.AcceptSave)
        dialog.setDefaultSuffix(SUFFIX[1:])
        dialog.selectFile(name)
        dialog.setModal(False)
        dialog.fileSelected.connect(lambda chosen: self.write(Path(chosen), document))
        dialog.finished.connect(self._done)
        self._dialog = dialog
        dialog.show()

    def write(self, path: Path, document: Document | None = None) -> None:
        """Write the calendar file of `document`, and say how many entries it has or why there is none.

        The job in hand, which it else is of, may be another by the time its name is chosen.
        """
        try:
            count = calendars.write_calendar(self.session, path, document=document)
        except (NotNow, calendars.SaveFault) as fault:
            self.said.emit(str(fault))
            return
        self.folder = path.parent
        waits = "1 wait" if count == 1 else f"{count} waits"
        self.said.emit(f"{waits} written to {path.name}. Open it on your phone.")

    def _there(self) -> str:
        return str(self.folder if self.folder.is_dir() else Path.home())

    def _done(self) -> None:
        if self._dialog is not None:
            self._dialog.deleteLater()
            self._dialog = None
