"""Starts the real bench with a clock that a test can move, and writes down what is on the screen.

Run as `driver.py FOLDER [JOB]`. The clock is the system's plus the seconds in FOLDER/offset; twice a second
FOLDER/screen.json says where every named widget is and what it says.
"""

import json
import os
import sys
from datetime import datetime, timedelta
from pathlib import Path

from PySide6.QtCore import QPoint, QTimer
from PySide6.QtWidgets import QAbstractButton, QApplication, QDialog, QLabel, QLineEdit, QWidget

from benchtool.app import Folders, build, open_first
from benchtool.session.clock import SystemClock
from benchtool.session.due import due_now


class MovedClock(SystemClock):
    """The system's clock and then some."""

    def __init__(self, file: Path) -> None:
        super().__init__()
        self.file = file

    def now(self) -> datetime:
        """Give the system's time plus what the file says."""
        text = self.file.read_text() if self.file.exists() else ""
        return super().now() + timedelta(seconds=float(text or 0))


def words_of(widget: QWidget) -> str:
    """What a widget says."""
    if isinstance(widget, QLabel | QAbstractButton | QLineEdit):
        return widget.text()
    return str(getattr(widget, "text", "")) if not callable(getattr(widget, "text", "")) else ""


def main() -> int:
    """Run the bench."""
    folder = Path(sys.argv[1])
    app = QApplication(sys.argv[:1])
    folders = Folders(folder / "data", folder / "config", folder / "cache", folder / "state")
    window, session = build(app, folders, MovedClock(folder / "offset"))
    open_first(sys.argv[2] if len(sys.argv) > 2 else None, folders, session, window)
    window.show()
    window.begin()

    def look() -> None:
        widgets = {}
        for widget in window.findChildren(QWidget):
            if widget.objectName() and widget.isVisible():
                corner = widget.mapToGlobal(QPoint(0, 0))
                widgets[widget.objectName()] = {
                    "x": corner.x() + widget.width() // 2,
                    "y": corner.y() + widget.height() // 2,
                    "says": words_of(widget),
                    "name": widget.accessibleName(),
                }
        now = session.now()
        layer = session.layer
        screen = {
            "pid": os.getpid(),
            "window": int(window.winId()),
            "now": now.timestamp(),
            "focus": type(app.focusWidget()).__name__,
            "widgets": widgets,
            "findings": [f"{f.rule}: {f.message}" for f in session.findings()],
            "pieces": [
                {
                    "name": piece.piece.name,
                    "substrate": piece.piece.substrate,
                    "flex": piece.piece.flex.value,
                    "mark": piece.piece.mark,
                    "layers": [x.plan.card for x in piece.layers],
                    "activators": [x.plan.activator for x in piece.layers],
                    "steps": [x.step.value for x in piece.steps],
                }
                for piece in (session.current.state.pieces.values() if session.current is not None else ())
            ],
            "dialogs": {
                other.objectName(): int(other.winId())
                for other in app.topLevelWidgets()
                if isinstance(other, QDialog) and other.isVisible()
            },
            "page": type(window.pages.currentWidget()).__name__,
            "trials": [
                {
                    "name": trial.plan.name,
                    "systems": [system.name for system in trial.plan.systems],
                    "controls": [system.name for system in trial.controls],
                    "strips": len(trial.plan.strips),
                    "chosen": [[chosen.system, chosen.piece] for chosen in trial.chosen],
                    "grades": [
                        [grade.given.grade, grade.given.removed_percent or 0.0, grade.given.photo is not None]
                        for grade in trial.grades
                    ],
                }
                for trial in (session.current.state.trials.values() if session.current is not None else ())
            ],
            "coats": [layer.coats_done, layer.open_coat is not None] if layer is not None else [],
            "due": [[d.place, d.window.kind.value, d.numerals, d.remaining_s] for d in due_now(session, now)],
            "words": [d.words for d in due_now(session, now)],
            "far": window.views.currentWidget() is window.far,
            "waiver": window.doing.waiver.message.text() if window.doing.waiver.isVisible() else "",
        }
        draft = folder / "screen.tmp"
        draft.write_text(json.dumps(screen))
        draft.replace(folder / "screen.json")

    timer = QTimer(interval=200)
    timer.timeout.connect(look)
    timer.start()
    return app.exec()


if __name__ == "__main__":
    sys.exit(main())
