"""The system's windows for a file or a printer stand beside the bench, where the countdowns go on."""

from collections.abc import Callable
from pathlib import Path

from PySide6.QtCore import QObject, QStandardPaths
from PySide6.QtWidgets import QDialog, QFileDialog, QWidget


def documents() -> Path:
    """Give the folder in which the painter looks for files: that of the system for documents, else home."""
    return Path(QStandardPaths.writableLocation(QStandardPaths.StandardLocation.DocumentsLocation) or Path.home())


def pictures() -> Path:
    """Give the system's folder for pictures."""
    return Path(QStandardPaths.writableLocation(QStandardPaths.StandardLocation.PicturesLocation))


class Beside(QObject):
    """Keeps one dialog beside the window of `page`; who asks anew closes the one before. It begins in `folder`."""

    def __init__(self, page: QWidget, folder: Path) -> None:
        super().__init__(page)
        self.page, self.folder = page, folder
        self.dialog: QDialog | None = None

    def file_dialog(self, title: str, filters: str = "") -> QFileDialog:
        """Make a dialog for a file; `put` shows it."""
        there = self.folder if self.folder.is_dir() else Path.home()
        return QFileDialog(self.page.window(), title, str(there), filters)

    def put(self, dialog: QDialog, name: str = "") -> None:
        """Show this dialog, and no other any more."""
        if self.dialog is not None:
            self.dialog.close()
        dialog.setObjectName(name)
        dialog.setModal(False)
        dialog.finished.connect(self._done)
        self.dialog = dialog
        dialog.show()

    def _done(self) -> None:
        if self.dialog is not None:
            self.dialog.deleteLater()
            self.dialog = None


class SaveBeside(Beside):
    """Asks where a file of one kind goes."""

    def ask_name(self, title: str, suggested: str, then: Callable[[Path], None], name: str) -> None:
        """Open the dialog with this name for the file; whatever is chosen ends as that does."""
        suffix = Path(suggested).suffix
        dialog = self.file_dialog(title, f"*{suffix}")
        dialog.setAcceptMode(QFileDialog.AcceptMode.AcceptSave)
        dialog.setDefaultSuffix(suffix[1:])
        dialog.selectFile(suggested)
        dialog.fileSelected.connect(lambda chosen: then(Path(chosen)))
        self.put(dialog, name)
