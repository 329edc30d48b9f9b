"""Putting the long waits of the job in hand into a calendar file, from anywhere in the window."""

from pathlib import Path

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QWidget

from benchtool.bench.beside import SaveBeside
from benchtool.session import calendars
from benchtool.session.session import Document, NotNow, Session
from benchtool.sheets.calendar import LEAST, entries


class CalendarSave(SaveBeside):
    """Asks where the calendar file goes, writes it, and says what came of it."""

    said = Signal(str)

    def __init__(self, parent: QWidget, session: Session, folder: Path) -> None:
        super().__init__(parent, folder)
        self.session = session

    def ask(self) -> None:
        """Open the dialog for the file's name; where nothing runs long enough, say so instead."""
        document = self.session.current
        if document is None:
            self.said.emit("No job is open. Open one, then write its calendar.")
            return
        if not entries(document.windows, self.session.now()):
            self.said.emit(calendars.nothing_to_tell(LEAST))
            return
        title, suggested = "Put the long waits into a calendar file", calendars.suggested_name(document)
        self.ask_name(title, suggested, lambda path: self.write(path, document), "calendar-dialog")

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
