"""The ways in which a photo comes: its file dropped or chosen, or a picture from the clipboard."""

from collections.abc import Callable
from pathlib import Path

from PySide6.QtCore import QBuffer, QByteArray, QIODevice, QMimeData, Signal
from PySide6.QtGui import QGuiApplication, QImage, QImageWriter
from PySide6.QtWidgets import QFileDialog, QWidget

from benchtool.bench.beside import Beside, pictures
from benchtool.trade.saying import say

_PICTURES = ("image/jpeg", "image/png", "image/webp")

_QUICK = 11
"""The least that packs a PNG at all: 12 megapixels take a second, and twenty at the usual."""


class PhotoIn(Beside):
    """`came` gives a path, or what gives the bytes of a photo when it is called (by a worker)."""

    came = Signal(object)
    said = Signal(str)

    def __init__(self, parent: QWidget) -> None:
        super().__init__(parent, pictures())

    def choose(self) -> None:
        """Let the painter pick the file of a photo; the bench goes on meanwhile."""
        dialog = self.file_dialog(say("Choose the photo of the cross-cut"))
        dialog.setNameFilters([say("Photos") + " (*.jpg *.jpeg *.png *.webp)", say("All files") + " (*)"])
        dialog.setFileMode(QFileDialog.FileMode.ExistingFile)
        dialog.fileSelected.connect(lambda name: self._file(Path(name)))
        self.put(dialog, "photo-dialog")

    def _file(self, path: Path) -> None:
        self.folder = path.parent
        self.came.emit(path)

    def paste(self) -> None:
        """Take the photo that is on the clipboard."""
        nothing = say("There is no photo on the clipboard: copy one first.")
        self._take(QGuiApplication.clipboard().mimeData(), nothing)

    def drop(self, mime: QMimeData) -> None:
        """Take what was dropped."""
        self._take(mime, say("This is no photo: drop the file of one."))

    def _take(self, mime: QMimeData, nothing: str) -> None:
        files = [Path(url.toLocalFile()) for url in mime.urls() if url.isLocalFile()]
        picture = picture_in(mime)
        if files:
            if len(files) > 1:
                self.said.emit(say("One photo at a time: this is the first of them."))
            self._file(files[0])
        elif picture is not None:
            self.came.emit(picture)
        elif mime.hasUrls():
            self.said.emit(
                say("Nothing is fetched from elsewhere: save the photo on this computer, then drop its file.")
            )
        else:
            self.said.emit(nothing)


def picture_in(mime: QMimeData) -> Callable[[], bytes] | None:
    """Give what gives the bytes of a picture that was copied or dropped without a file; None where there is none."""
    raw = next((kind for kind in _PICTURES if mime.hasFormat(kind)), "")
    if raw:
        data = bytes(mime.data(raw).data())
        return lambda: data
    if mime.hasImage():
        image = QImage(mime.imageData())
        return lambda: _png(image)
    return None


def _png(image: QImage) -> bytes:
    """Turn a picture of the clipboard into a file; this takes a while, so the worker calls it."""
    buffer = QBuffer()
    buffer.open(QIODevice.OpenModeFlag.WriteOnly)
    writer = QImageWriter(buffer, QByteArray(b"PNG"))
    writer.setCompression(_QUICK)
    writer.write(image)
    return bytes(buffer.data().data())
