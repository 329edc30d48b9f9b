"""The ways in which photos come and go: files and folders chosen, dropped or pasted, and where a copy is saved."""

from collections.abc import Callable
from pathlib import Path

from PySide6.QtCore import QMimeData, QObject, QStandardPaths, Signal
from PySide6.QtWidgets import QFileDialog, QWidget

from benchtool.bench.photoin import picture_in
from benchtool.job.pieces import Picture
from benchtool.session.photocopying import Source
from benchtool.session.piecephotos import suggested_name
from benchtool.trade.saying import say


def sources_in(mime: QMimeData | None) -> list[Source]:
    """Give the photos in what was dropped or copied; nothing is fetched from elsewhere."""
    if mime is None:
        return []
    files: list[Source] = [Path(url.toLocalFile()) for url in mime.urls() if url.isLocalFile()]
    if files:
        return files
    picture = picture_in(mime)
    return [picture] if picture is not None else []


class PhotoFiles(QObject):
    """Asks for files, beside the window; the bench goes on meanwhile. `came` gives a list of files or folders."""

    came = Signal(object)

    def __init__(self, page: QWidget) -> None:
        super().__init__(page)
        self.page = page
        self.dialog: QFileDialog | None = None
        self._folder = Path(QStandardPaths.writableLocation(QStandardPaths.StandardLocation.PicturesLocation))

    def choose(self) -> None:
        """Let the painter pick photos."""
        dialog = self._asking(say("Choose photos of the piece"), "photos-dialog")
        dialog.setNameFilters([say("Photos") + " (*.jpg *.jpeg *.png *.webp)", say("All files") + " (*)"])
        dialog.setFileMode(QFileDialog.FileMode.ExistingFiles)
        dialog.filesSelected.connect(self._chosen)
        dialog.show()

    def choose_folder(self) -> None:
        """Let the painter pick a folder: the photos in it are taken, those in folders within it are not."""
        dialog = self._asking(say("Choose a folder with photos of the piece"), "photos-folder-dialog")
        dialog.setFileMode(QFileDialog.FileMode.Directory)
        dialog.setOption(QFileDialog.Option.ShowDirsOnly, on=True)
        dialog.filesSelected.connect(self._chosen)
        dialog.show()

    def choose_target(self, picture: Picture, write: Callable[[Path], None]) -> None:
        """Let the painter say where a copy goes."""
        dialog = self._asking(say("Save a copy without its place"), "photo-save-dialog")
        dialog.setAcceptMode(QFileDialog.AcceptMode.AcceptSave)
        dialog.selectFile(suggested_name(picture))
        dialog.fileSelected.connect(lambda name: write(Path(name)))
        dialog.show()

    def _asking(self, title: str, name: str) -> QFileDialog:
        if self.dialog is not None:
            self.dialog.close()
        folder = self._folder if self._folder.is_dir() else Path.home()
        dialog = QFileDialog(self.page.window(), title, str(folder))
        dialog.setObjectName(name)
        dialog.setModal(False)
        dialog.finished.connect(self._done)
        self.dialog = dialog
        return dialog

    def _chosen(self, names: list[str]) -> None:
        paths = [Path(name) for name in names]
        if paths:
            self._folder = paths[0].parent
            self.came.emit(paths)

    def _done(self) -> None:
        if self.dialog is not None:
            self.dialog.deleteLater()
            self.dialog = None
