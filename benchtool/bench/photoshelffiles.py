"""The ways in which photos come and go: files and folders chosen, dropped or pasted, and where a copy is saved."""

from collections.abc import Callable
from pathlib import Path

from PySide6.QtCore import QMimeData, Signal
from PySide6.QtWidgets import QFileDialog, QWidget

from benchtool.bench.beside import Beside, pictures
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


class PhotoFiles(Beside):
    """Asks for files, beside the window; the bench goes on meanwhile. `came` gives a list of files or folders."""

    came = Signal(object)

    def __init__(self, page: QWidget) -> None:
        super().__init__(page, pictures())

    def choose(self) -> None:
        """Let the painter pick photos."""
        dialog = self.file_dialog(say("Choose photos of the piece"))
        dialog.setNameFilters([say("Photos") + " (*.jpg *.jpeg *.png *.webp)", say("All files") + " (*)"])
        dialog.setFileMode(QFileDialog.FileMode.ExistingFiles)
        dialog.filesSelected.connect(self._chosen)
        self.put(dialog, "photos-dialog")

    def choose_folder(self) -> None:
        """Let the painter pick a folder: the photos in it are taken, those in folders within it are not."""
        dialog = self.file_dialog(say("Choose a folder with photos of the piece"))
        dialog.setFileMode(QFileDialog.FileMode.Directory)
        dialog.setOption(QFileDialog.Option.ShowDirsOnly, on=True)
        dialog.filesSelected.connect(self._chosen)
        self.put(dialog, "photos-folder-dialog")

    def choose_target(self, picture: Picture, write: Callable[[Path], None]) -> None:
        """Let the painter say where a copy goes."""
        dialog = self.file_dialog(say("Save a copy without its place"))
        dialog.setAcceptMode(QFileDialog.AcceptMode.AcceptSave)
        dialog.selectFile(suggested_name(picture))
        dialog.fileSelected.connect(lambda name: write(Path(name)))
        self.put(dialog, "photo-save-dialog")

    def _chosen(self, names: list[str]) -> None:
        paths = [Path(name) for name in names]
        if paths:
            self.folder = paths[0].parent
            self.came.emit(paths)
