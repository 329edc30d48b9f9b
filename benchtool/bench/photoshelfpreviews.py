"""Small pictures of photos, made beside the window: files are read in one thread, pictures are made in others."""

from collections import OrderedDict
from contextlib import suppress
from datetime import datetime
from pathlib import Path
from typing import NamedTuple

from PySide6.QtCore import QBuffer, QByteArray, QIODevice, QObject, QRunnable, QSize, Qt, QThreadPool, Signal
from PySide6.QtGui import QImage, QImageIOHandler, QImageReader, QImageWriter, QPainter

from benchtool.job.pieces import Picture
from benchtool.session.errands import Errands
from benchtool.session.photosteps import Shown
from benchtool.session.piecephotos import bytes_of, taken_at
from benchtool.trade.saying import say

MOST_BYTES = 96 * 1024 * 1024
"""So much is kept of pictures already made (judgement): some 400 small ones and a few that fill the window."""
_AT_ONCE = 2
"""So many photos are on their way at once: each may be 60 MB."""
_STEP = 256
LARGEST = QSize(4_096, 4_096)
"""Of a photo that is copied, in pixels (judgement): more than any screen shows."""
_QUALITY = 92


class Trouble(NamedTuple):
    """Why a photo can't be shown. `gone` says that its file is not beside the job."""

    words: str
    gone: bool


class Bell(QObject):
    """Rung in any thread, heard in the window's own."""

    rang = Signal()

    def ring(self) -> None:
        """Ring it; who holds this method keeps the bell."""
        self.rang.emit()


class _Pool(QObject):
    made = Signal(object, object)


class _Making(QRunnable):
    """Makes one picture. It is kept by whoever asked for it until it is made."""

    def __init__(self, key: "_Key", data: bytes, out: _Pool) -> None:
        super().__init__()
        self.setAutoDelete(False)
        self.key, self.data, self.out = key, data, out

    def run(self) -> None:
        made: QImage | None
        try:
            made = decoded(self.data, QSize(self.key[1], self.key[1]))
        except MemoryError:
            made = None
        with suppress(RuntimeError):  # a page that is gone by now hears nothing
            self.out.made.emit(self, made)


_Key = tuple[str, int]


class Previews(QObject):
    """Gives pictures that are made, and has the others made; `came` tells the hash of a photo of which one is new."""

    came = Signal(str)

    def __init__(self) -> None:
        super().__init__()
        self._job: Path | None = None
        self._made: OrderedDict[_Key, QImage] = OrderedDict()
        self._held = 0
        self._wanted: OrderedDict[_Key, Picture] = OrderedDict()
        self._under_way: set[_Key] = set()
        self._making: set[_Making] = set()
        self.troubles: dict[str, Trouble] = {}
        self.taken: dict[str, datetime] = {}
        """When a photo was taken by its camera's clock, by its hash; of those that were read and say it."""
        bell = Bell()
        bell.rang.connect(self._poll, Qt.ConnectionType.QueuedConnection)
        self._errands = Errands(bell.ring, "photo-read")
        self._out = _Pool()
        self._out.made.connect(self._take, Qt.ConnectionType.QueuedConnection)
        self._pool = QThreadPool()
        self._pool.setMaxThreadCount(_AT_ONCE)

    @property
    def busy(self) -> bool:
        """Whether any picture is still on its way."""
        return bool(self._wanted or self._under_way)

    def turn_to(self, job: Path | None) -> None:
        """Go over to the photos of another job; what is made stays, since a hash is the same everywhere."""
        if job != self._job:
            self._job = job
            self._wanted.clear()
            self._under_way.clear()
            self._errands.clear()
            self.troubles.clear()

    def get(self, shown: Shown, side: int) -> QImage | None:
        """Give the picture of a photo, its longer side about `side` pixels; None where it is still to be made."""
        picture = shown.picture
        key = (picture.sha256, -(-side // _STEP) * _STEP)
        found = self._made.get(key)
        if found is not None:
            self._made.move_to_end(key)
            return found
        if picture.sha256 not in self.troubles and key not in self._under_way:
            self._wanted[key] = picture
            self._wanted.move_to_end(key)  # what is looked at now comes first
            self._next()
        return None

    def nearest(self, shown: Shown) -> QImage | None:
        """Give any picture of a photo that is made, the largest, to show until a better one is there."""
        found = [key for key in self._made if key[0] == shown.picture.sha256]
        return self._made[max(found)] if found else None

    def retry(self) -> None:
        """Look once more for the photos that could not be shown: they may be back."""
        before, self.troubles = self.troubles, {}
        for sha in before:
            self.came.emit(sha)

    def close(self) -> None:
        """Stop for good."""
        self._wanted.clear()
        self._errands.close()
        with suppress(RuntimeError):  # at the very end of the program the pool is gone before us, and has waited
            self._pool.clear()
            self._pool.waitForDone(2_000)

    def _poll(self) -> None:
        self._errands.poll()

    def _next(self) -> None:
        while self._wanted and len(self._under_way) < _AT_ONCE and self._job is not None:
            key, picture = self._wanted.popitem()
            self._under_way.add(key)
            job = self._job

            def read(job: Path = job, picture: Picture = picture) -> object:
                data = bytes_of(job, picture)
                return (data, taken_at(data)) if isinstance(data, bytes) else data

            self._errands.ask(read, lambda found, key=key: self._make(key, found))  # type: ignore[misc]

    def _make(self, key: _Key, found: object) -> None:
        if isinstance(found, tuple):
            data, taken = found
            if taken is not None:
                self.taken[key[0]] = taken
            making = _Making(key, data, self._out)
            self._making.add(making)
            self._pool.start(making)
            return
        self._under_way.discard(key)
        self.troubles[key[0]] = Trouble(f"{found}.", gone=bool(getattr(found, "gone", False)))
        self.came.emit(key[0])
        self._next()

    def _take(self, making: _Making, made: QImage | None) -> None:
        key = making.key
        self._making.discard(making)
        self._under_way.discard(key)
        if made is None:
            self.troubles[key[0]] = Trouble(say("This photo can't be shown: it is damaged, or too large."), gone=False)
        elif key not in self._made:
            self._made[key] = made
            self._held += made.sizeInBytes()
            while self._held > MOST_BYTES and len(self._made) > 1:
                _, old = self._made.popitem(last=False)
                self._held -= old.sizeInBytes()
        self.came.emit(key[0])
        self._next()


def decoded(data: bytes, box: QSize) -> QImage | None:
    """Decode a photo the right way up, no larger than `box`; None where it can't be. For a thread."""
    buffer = QBuffer()
    buffer.setData(QByteArray(data))
    buffer.open(QIODevice.OpenModeFlag.ReadOnly)
    reader = QImageReader(buffer)
    reader.setAutoTransform(True)
    size = reader.size()
    if reader.transformation() & QImageIOHandler.Transformation.TransformationRotate90:
        box = box.transposed()
    if size.isValid() and (size.width() > box.width() or size.height() > box.height()):
        reader.setScaledSize(size.scaled(box, Qt.AspectRatioMode.KeepAspectRatio).expandedTo(QSize(1, 1)))
    made = reader.read()
    return None if made.isNull() else made


def redrawn(data: bytes) -> bytes:
    """Make a new JPEG of the picture of a photo, with nothing of what else was in it; b"" where it can't be shown."""
    image = decoded(data, LARGEST)
    if image is None:
        return b""
    fresh = QImage(image.size(), QImage.Format.Format_RGB32)  # what was read may carry words along
    fresh.fill(Qt.GlobalColor.white)
    _paint(image, fresh)
    buffer = QBuffer()
    buffer.open(QIODevice.OpenModeFlag.WriteOnly)
    writer = QImageWriter(buffer, QByteArray(b"jpeg"))
    writer.setQuality(_QUALITY)
    return bytes(buffer.data().data()) if writer.write(fresh) else b""


def _paint(image: QImage, onto: QImage) -> None:
    painter = QPainter(onto)
    painter.drawImage(0, 0, image)
    painter.end()
