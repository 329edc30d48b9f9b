"""What can be done with one photo: note, another step, taking it out, copying it, saving it without its place."""

from collections.abc import Callable
from functools import partial
from pathlib import Path

from PySide6.QtCore import QObject, Signal
from PySide6.QtGui import QGuiApplication, QImage

from benchtool.bench.photoshelffiles import PhotoFiles
from benchtool.bench.photoshelfpreviews import LARGEST, decoded, redrawn
from benchtool.job.pieces import Picture
from benchtool.job.record import last_undo
from benchtool.session.acts import act_words
from benchtool.session.errands import Errands
from benchtool.session.photosteps import Shown
from benchtool.session.piecephotos import PiecePhotos, bytes_of, save_clean
from benchtool.session.session import NotNow, Session
from benchtool.trade.saying import say


class ShelfActs(QObject):
    """Does it through the session. `renamed` says that a photo's event (the first) is another one from now on."""

    said = Signal(str)
    renamed = Signal(str, str)

    def __init__(self, session: Session, photos: PiecePhotos, files: PhotoFiles, tell: Callable[[], None]) -> None:
        super().__init__()
        self.session, self.photos, self.files = session, photos, files
        self.errands = Errands(tell, "photo-out")
        self._taken_out = ""

    def guarded(self, act: Callable[[], object]) -> bool:
        """Do it, or say why it can't be done now; says whether it was done."""
        try:
            act()
        except NotNow as no:
            self.said.emit(str(no))
            return False
        return True

    def note(self, event: str, note: str) -> None:
        """Note something on a photo."""
        self._change(event, partial(self.photos.change, event, note=note), say("Noted with the photo."))

    def move(self, event: str, step: str | None, name: str) -> None:
        """Put a photo to another step, or to none."""
        words = say("Put to “{step}”.", step=name)
        self._change(event, partial(self.photos.change, event, of=step), words)

    def _change(self, event: str, act: Callable[[], str], words: str) -> None:
        known: list[str] = []
        if self.guarded(lambda: known.append(act())):
            self.renamed.emit(event, known[0])
            self.said.emit(words)

    def take_out(self, event: str) -> bool:
        """Take a photo out of the record; says whether it is out."""

        def out() -> None:
            self._taken_out = self.photos.take_out(event)

        done = self.guarded(out)
        if done:
            self.said.emit(say("Taken out; its file stays beside the job. Ctrl+Shift+Z brings it back."))
        return done

    def undo(self) -> None:
        """Take back the last act of the job, whatever it was; of a photo just taken out it is that.

        Raises:
            NotNow: there is none, or the job is read-only.
        """
        undone = last_undo(self.session.writable().job)
        if undone is not None and undone.id == self._taken_out:
            self.session.redo()
            self.said.emit(say("The photo is back."))
            return
        words = act_words(self.session.undo())
        self.said.emit(say("Taken back: {act}. Ctrl+Shift+Z brings it in again.", act=words))

    def copy(self, shown: Shown, job: Path) -> None:
        """Put the picture on the clipboard: the picture alone, without what the camera wrote."""
        self.errands.ask(partial(_opened, job, shown.picture), self._copied)

    def _copied(self, found: QImage | str) -> None:
        if isinstance(found, str):
            self.said.emit(found)
            return
        QGuiApplication.clipboard().setImage(found)
        self.said.emit(say("The picture is on the clipboard, without its place."))

    def save(self, shown: Shown, job: Path) -> None:
        """Save a copy without place, owner and camera, where the painter says."""

        def write(path: Path) -> None:
            self.errands.ask(partial(save_clean, job, shown.picture, path, redrawn), self.said.emit)

        self.files.choose_target(shown.picture, write)


def _opened(job: Path, picture: Picture) -> QImage | str:
    data = bytes_of(job, picture)
    if not isinstance(data, bytes):
        return f"{data}."
    return decoded(data, LARGEST) or say("This photo can't be shown: it is damaged, or too large.")
