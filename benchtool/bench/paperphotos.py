"""The photos of a sheet, read and made smaller in a thread beside the window, each once."""

from collections.abc import Callable, Sequence
from functools import partial
from pathlib import Path

from PySide6.QtCore import QObject, Signal
from PySide6.QtGui import QImage

from benchtool.bench.sheetpdfphotos import picture
from benchtool.session.errands import Errands
from benchtool.session.papers import job_photos
from benchtool.sheets.blocks import Shown

_MOST_KEPT = 60
"""So many photos are kept beside those of the sheet; each is some 4 MB."""


class Beside(QObject):
    """A thread beside the window: what is done in it is heard of in the window's own."""

    rung = Signal()

    def __init__(self, parent: QObject, wait_s: float) -> None:
        super().__init__(parent)
        self.errands = Errands(self.rung.emit, "papers")
        self.rung.connect(self._poll)
        parent.destroyed.connect(partial(self.errands.close, wait_s))

    def _poll(self) -> None:
        self.errands.poll()


class PaperPhotos(QObject):
    """Reads photos in a thread of its own, and keeps them."""

    def __init__(self, parent: QObject) -> None:
        super().__init__(parent)
        self._kept: dict[tuple[str, str, str], QImage | None] = {}
        self.errands = Beside(parent, 0.0).errands

    def of(self, path: Path) -> Callable[[Shown], QImage | None]:
        """Give what finds the photos of this job that were read."""
        return lambda shown: self._kept.get(_key(path, shown))

    def fetch(self, path: Path, wanted: Sequence[Shown], come: Callable[[int, int], None]) -> None:
        """Read those that are not there yet; `come` is told at each how many of how many are, at least once.

        What was asked for before, and is not there yet, is let go of. One that is gone is looked for again.
        """
        self.errands.clear()
        if len(self._kept) > _MOST_KEPT:
            still = {_key(path, shown) for shown in wanted}
            self._kept = {key: image for key, image in self._kept.items() if key in still}
        missing = [shown for shown in wanted if self._kept.get(_key(path, shown)) is None]
        found, done = job_photos(path, drawn_anew=True), 0

        def came(shown: Shown, image: QImage | None) -> None:
            nonlocal done
            done += 1
            self._kept[_key(path, shown)] = image
            come(done, len(missing))

        for shown in missing:
            self.errands.ask(partial(_read, found, shown), partial(came, shown))
        come(0, len(missing))


def _key(path: Path, shown: Shown) -> tuple[str, str, str]:
    return str(path), shown.name, shown.sha256


def _read(found: Callable[[Shown], bytes | None], shown: Shown) -> QImage | None:
    """Read a photo in the thread; whatever is wrong with it, it is not there then, and the sheet says so."""
    try:
        return picture(found(shown))
    except Exception:  # noqa: BLE001 - as above
        return None
