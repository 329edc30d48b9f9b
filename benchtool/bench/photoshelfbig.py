"""One photo as large as there is room, and the empty shelf that says how photos come."""

from PySide6.QtCore import QRectF, QSize, Qt, Signal
from PySide6.QtGui import QColor, QMouseEvent, QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QSizePolicy, QVBoxLayout, QWidget

from benchtool.bench.controls import BenchButton, hatch
from benchtool.bench.look import GRID, Look
from benchtool.bench.photoshelfpreviews import Previews
from benchtool.bench.planparts import Buttons
from benchtool.session.photosteps import Shown
from benchtool.session.session import Session
from benchtool.trade.saying import say


class BigPhoto(QWidget):
    """Draws one photo, whole, in the middle."""

    pressed = Signal()

    def __init__(self, look: Look, previews: Previews) -> None:
        super().__init__()
        self.look, self.previews = look, previews
        self.shown: Shown | None = None
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Expanding)
        previews.came.connect(lambda _: self.update())
        look.changed.connect(self.update)

    def show_photo(self, shown: Shown | None) -> None:
        """Show this one."""
        self.shown = shown
        self.setAccessibleName(shown.called if shown is not None else "")
        self.update()

    def mouseDoubleClickEvent(self, event: QMouseEvent) -> None:
        self.pressed.emit()

    def paintEvent(self, event: QPaintEvent) -> None:
        shown = self.shown
        if shown is None:
            return
        painter, t = QPainter(self), self.look.theme
        painter.setRenderHint(QPainter.RenderHint.SmoothPixmapTransform)
        box = QRectF(self.rect()).adjusted(3, 3, -3, -3)
        trouble = self.previews.troubles.get(shown.picture.sha256)
        ratio = self.devicePixelRatioF()
        sharp = None if trouble else self.previews.get(shown, int(max(box.width(), box.height()) * ratio))
        image = sharp or (None if trouble else self.previews.nearest(shown))
        if image is not None:
            most = image.size() if sharp is not None else QSize(1 << 20, 1 << 20)
            room = box.size().toSize()
            size = image.size().scaled(room, Qt.AspectRatioMode.KeepAspectRatio)
            if sharp is not None and size.width() > most.width() / ratio:
                size = QSize(round(most.width() / ratio), round(most.height() / ratio))
            spot = QRectF(0, 0, size.width(), size.height())
            spot.moveCenter(box.center())
            painter.drawImage(spot, image)
        else:
            self._say(painter, box, trouble.words if trouble is not None else say("Reading …"), trouble is not None)
        if self.hasFocus():
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.setPen(QPen(t.color("accent"), 2))
            painter.drawRect(box)
        painter.end()

    def _say(self, painter: QPainter, box: QRectF, words: str, wrong: bool) -> None:
        t = self.look.theme
        if wrong:
            hatch(painter, box, QColor(t.color("line")))
        painter.setFont(self.look.body)
        middle = Qt.AlignmentFlag.AlignCenter | Qt.TextFlag.TextWordWrap
        room = box.adjusted(4 * GRID, 0, -4 * GRID, 0)
        spot = painter.boundingRect(room, middle, words)
        painter.fillRect(spot.adjusted(-2 * GRID, -GRID, 2 * GRID, GRID), t.color("paper"))
        painter.setPen(t.color("trouble" if wrong else "quiet"))
        painter.drawText(spot, middle, words)


class BigView(QWidget):
    """One photo large, and below it the way to the others."""

    turned = Signal(int)
    closed = Signal()

    def __init__(self, look: Look, previews: Previews) -> None:
        super().__init__()
        self.photo = BigPhoto(look, previews)
        self.photo.pressed.connect(self.closed)
        self.earlier = BenchButton(look, say("Photo before"), "←", name="photo-before")
        self.later = BenchButton(look, say("Next photo"), "→", name="photo-next")
        self.back = BenchButton(look, say("All photos"), "Esc", name="photo-all")
        self.earlier.clicked.connect(lambda: self.turned.emit(-1))
        self.later.clicked.connect(lambda: self.turned.emit(1))
        self.back.clicked.connect(self.closed)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(GRID)
        column.addWidget(self.photo, 1)
        column.addWidget(Buttons((self.earlier, self.back, self.later)))
        self.setFocusProxy(self.photo)

    def show_photo(self, shown: Shown | None, place: int, of: int) -> None:
        """Show this one, the `place`-th (from 1) of so many."""
        self.photo.show_photo(shown)
        self.earlier.setEnabled(place > 1)
        self.later.setEnabled(place < of)


class EmptyShelf(QWidget):
    """Where the photos will be, and how they come."""

    def __init__(self, look: Look) -> None:
        super().__init__()
        self.look = look
        self.over = False
        self.words, self.how = "", ""
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Expanding)
        look.changed.connect(self.update)

    def show_for(self, session: Session, *, over: bool = False) -> None:
        """Say what is missing, and how it comes; `over` says that something is held over the page."""
        self.words, self.how = _how(session)
        self.over = over
        self.setAccessibleName(f"{self.words} {self.how}")
        self.update()

    def paintEvent(self, event: QPaintEvent) -> None:
        painter, t = QPainter(self), self.look.theme
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        box = QRectF(self.rect()).adjusted(2, 2, -2, -2)
        style = Qt.PenStyle.SolidLine if self.over else Qt.PenStyle.DashLine
        painter.setPen(QPen(t.color("accent" if self.over else "quiet"), 3 if self.over else 2, style))
        painter.setBrush(t.color("raised"))
        painter.drawRoundedRect(box, 4, 4)
        middle = Qt.AlignmentFlag.AlignHCenter | Qt.TextFlag.TextWordWrap
        room = box.adjusted(0, 0, 0, 0)
        room.setWidth(min(box.width() - 6 * GRID, 72 * GRID))
        room.moveCenter(box.center())
        lines = ((self.words, self.look.title, "ink"), (self.how, self.look.body, "quiet"))
        heights = []
        for text, font, _ in lines:
            painter.setFont(font)
            heights.append(painter.boundingRect(room, middle, text).height())
        y = box.center().y() - (sum(heights) + 2 * GRID) / 2
        for (text, font, tone), height in zip(lines, heights, strict=True):
            painter.setFont(font)
            painter.setPen(t.color(tone))
            painter.drawText(QRectF(room.left(), y, room.width(), height + 2), middle, text)
            y += height + 2 * GRID
        painter.end()


def _how(session: Session) -> tuple[str, str]:
    document = session.current
    if document is None:
        return say("No job is open."), say("Open one, or begin a new one: press J.")
    if session.piece is None:
        return say("There is no piece yet."), say("Add one first: press A.")
    if document.read_only:
        return say("No photos of this piece."), document.read_only
    how = say(
        "One or many, or a whole folder. Or press O to choose them, Shift+O for a folder, Ctrl+V to paste one. Each is "
        "copied beside the job and put to what was done last before it was taken. Your own files stay where they are."
    )
    return say("Drop photos here"), how
