"""The photos of a piece as small pictures, grouped by the step they show."""

from collections.abc import Sequence
from itertools import pairwise

from PySide6.QtCore import QEvent, QRectF, QSize, Qt, Signal
from PySide6.QtGui import QColor, QKeyEvent, QMouseEvent, QPainter, QPaintEvent, QPen, QResizeEvent
from PySide6.QtWidgets import QAbstractButton, QScrollArea, QWidget

from benchtool.bench.controls import Words, hatch
from benchtool.bench.look import GRID, Look, elided
from benchtool.bench.photoshelfpreviews import Previews
from benchtool.session.photosteps import Group, Shown
from benchtool.trade.saying import say, say_n

WIDE, HIGH = 22 * GRID, 17 * GRID
"""The room of a small picture at the usual type; words stand below it."""
_GAP = 2 * GRID


def picture_room(look: Look) -> QSize:
    """Give the room of a small picture: larger where the type is."""
    return QSize(WIDE, HIGH) * max(1.0, look.scale)


def shown_words(shown: Shown) -> str:
    """Say in one line what is known of a photo beside its name: its grade, or what was noted."""
    grade = say("Grade {grade}", grade=shown.grade) if shown.grade else ""
    return ". ".join(filter(None, (grade, shown.note.replace("\n", " "))))


class PhotoTile(QAbstractButton):
    """One photo: its picture, its name and what was noted. Picked, it has a frame and a filled corner."""

    opened = Signal()

    def __init__(self, look: Look, previews: Previews, shown: Shown) -> None:
        super().__init__()
        self.look, self.previews, self.shown = look, previews, shown
        self.setCheckable(True)
        self.setFocusPolicy(Qt.FocusPolicy.ClickFocus)
        self.setCursor(Qt.CursorShape.PointingHandCursor)
        look.changed.connect(self.update)
        self.show_photo(shown)

    def show_photo(self, shown: Shown) -> None:
        """Show it as it is in the record now."""
        self.shown = shown
        self.setObjectName(f"photo-{shown.event}")
        trouble = self.previews.troubles.get(shown.picture.sha256)
        told = (shown.called, shown_words(shown), trouble.words if trouble is not None else "")
        self.setAccessibleName(". ".join(filter(None, told)))
        self.update()

    def pick(self, *, on: bool) -> None:
        """Be the one that is picked, at which Tab stops, or not."""
        self.setChecked(on)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus if on else Qt.FocusPolicy.ClickFocus)
        self.setAccessibleDescription(say("chosen") if on else "")

    def mouseDoubleClickEvent(self, event: QMouseEvent) -> None:
        self.opened.emit()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        event.ignore()  # the page knows what each key does

    def paintEvent(self, event: QPaintEvent) -> None:
        painter, t = QPainter(self), self.look.theme
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.setRenderHint(QPainter.RenderHint.SmoothPixmapTransform)
        high = picture_room(self.look).height()
        box = QRectF(1.5, 1.5, self.width() - 3, high)
        painter.setPen(QPen(t.color("line"), 1))
        painter.setBrush(t.color("raised"))
        painter.drawRect(box)
        self._draw_picture(painter, box.adjusted(4, 4, -4, -4))
        if self.isChecked():
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.setPen(QPen(t.color("accent"), 3))
            painter.drawRect(box)
        if self.hasFocus():
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.setPen(QPen(t.color("ink"), 1, Qt.PenStyle.DashLine))
            painter.drawRect(box.adjusted(4, 4, -4, -4))
        line = QRectF(2, high + 5, self.width() - 4, painter.fontMetrics().height())
        under = shown_words(self.shown)
        for text, tone, font in (
            (self.shown.called, "ink", self.look.strong if self.isChecked() else self.look.small),
            (under, "quiet", self.look.small),
        ):
            painter.setFont(font)
            painter.setPen(t.color(tone))
            line.setHeight(painter.fontMetrics().height())
            painter.drawText(line, Qt.AlignmentFlag.AlignVCenter, elided(text, font, line.width()))
            line.translate(0, line.height())
        painter.end()

    def _draw_picture(self, painter: QPainter, box: QRectF) -> None:
        t = self.look.theme
        trouble = self.previews.troubles.get(self.shown.picture.sha256)
        side = int(picture_room(self.look).width() * self.devicePixelRatioF())
        image = (
            None if trouble is not None else self.previews.get(self.shown, side) or self.previews.nearest(self.shown)
        )
        if image is not None:
            size = QSize(image.width(), image.height()).scaled(box.size().toSize(), Qt.AspectRatioMode.KeepAspectRatio)
            spot = QRectF(0, 0, size.width(), size.height())
            spot.moveCenter(box.center())
            painter.drawImage(spot, image)
            return
        words = say("Reading …")
        if trouble is not None:
            hatch(painter, box, QColor(t.color("line")))
            words = say("Not beside the job") if trouble.gone else say("Can't be shown")
        painter.setFont(self.look.small)
        middle = Qt.AlignmentFlag.AlignCenter | Qt.TextFlag.TextWordWrap
        spot = painter.boundingRect(box, middle, words).adjusted(-GRID, -4, GRID, 4)
        painter.fillRect(spot, t.color("raised"))
        painter.setPen(t.color("trouble" if trouble is not None else "quiet"))
        painter.drawText(spot, middle, words)


class ShelfArea(QScrollArea):
    """Rolls the photos up and down, and leaves the arrow keys to the page."""

    def __init__(self, grid: "ShelfGrid") -> None:
        super().__init__()
        self.setWidgetResizable(True)
        self.setFrameShape(QScrollArea.Shape.NoFrame)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self.setWidget(grid)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        event.ignore()


class ShelfGrid(QWidget):
    """All photos of a piece. `picked` tells which one is chosen (its event), `opened` that it is to be seen large."""

    picked = Signal(str)
    opened = Signal()

    def __init__(self, look: Look, previews: Previews) -> None:
        super().__init__()
        self.look, self.previews = look, previews
        self.setObjectName("photo-grid")
        self._heads: list[tuple[Words, Words]] = []
        self._rows: list[list[PhotoTile]] = []
        self.tiles: dict[str, PhotoTile] = {}
        self._groups: tuple[Group, ...] = ()
        previews.came.connect(self._came)
        look.changed.connect(self._place)

    def show_groups(self, groups: Sequence[Group], times: Sequence[str]) -> None:
        """Show these, each group with its time; a photo that stays keeps its place and its focus."""
        self._groups = tuple(groups)
        photos = {shown.event: shown for group in groups for shown in group.photos}
        spare = {event: self.tiles.pop(event) for event in set(self.tiles) - set(photos)}
        for event, shown in photos.items():
            same = next((own for own, tile in spare.items() if tile.shown.picture == shown.picture), None)
            if event not in self.tiles:  # one that was noted or moved is known by another event, and keeps its focus
                self.tiles[event] = spare.pop(same) if same is not None else self._tile(shown)
            self.tiles[event].show_photo(shown)
        for tile in spare.values():
            tile.hide()
            tile.deleteLater()
        self._say_heads(groups, times)
        self._place()

    def _tile(self, shown: Shown) -> PhotoTile:
        tile = PhotoTile(self.look, self.previews, shown)
        tile.setParent(self)
        tile.clicked.connect(lambda: self.picked.emit(tile.shown.event))
        tile.opened.connect(self.opened)
        return tile

    def _say_heads(self, groups: Sequence[Group], times: Sequence[str]) -> None:
        while len(self._heads) < len(groups):
            head = (Words(self.look, "strong", "ink", wrap=False), Words(self.look, "small", "quiet", wrap=False))
            for words in head:
                words.setParent(self)
            self._heads.append(head)
        for i, (name, when) in enumerate(self._heads):
            for words in (name, when):
                words.setVisible(i < len(groups))
            if i < len(groups):
                count = say_n("{n} photo", "{n} photos", len(groups[i].photos))
                name.say(groups[i].words)
                when.say("   ".join(filter(None, (times[i], count))))

    def put_between(self, before: QWidget, after: QWidget) -> None:
        """Let Tab come to the photos after one thing on the page and before another."""
        stops = (before, *(self.tiles[event] for event in self.order), after)
        for one, following in pairwise(stops):
            QWidget.setTabOrder(one, following)

    @property
    def order(self) -> tuple[str, ...]:
        """The events of the photos, as they are read."""
        return tuple(shown.event for group in self._groups for shown in group.photos)

    def pick(self, event: str | None) -> None:
        """Choose this photo, or none; tells nobody."""
        for own, tile in self.tiles.items():
            tile.pick(on=own == event)

    def following(self, event: str) -> str | None:
        """Give the photo that is looked at next once this one is gone: the one after it, else the one before."""
        order = self.order
        at = order.index(event)
        return next(iter((*order[at + 1 : at + 2], *order[max(0, at - 1) : at])), None)

    def beside(self, event: str | None, key: Qt.Key) -> str | None:
        """Give the photo that an arrow key leads to from this one."""
        order = self.order
        if event not in order:
            return order[0] if order else None
        at = order.index(event)
        if key in (Qt.Key.Key_Left, Qt.Key.Key_Right):
            return order[min(max(at + (1 if key == Qt.Key.Key_Right else -1), 0), len(order) - 1)]
        if key in (Qt.Key.Key_Home, Qt.Key.Key_End):
            return order[0 if key == Qt.Key.Key_Home else -1]
        row = next(i for i, tiles in enumerate(self._rows) if self.tiles[event] in tiles)
        there = row + (1 if key == Qt.Key.Key_Down else -1)
        if not 0 <= there < len(self._rows):
            return event
        x = self.tiles[event].x()
        return min(self._rows[there], key=lambda tile: abs(tile.x() - x)).shown.event

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self._place()

    def changeEvent(self, event: QEvent) -> None:
        super().changeEvent(event)
        if event.type() == QEvent.Type.FontChange:
            self._place()

    def _place(self) -> None:
        """Set the groups beside each other where a whole one still fits, else below."""
        room = picture_room(self.look)
        wide, tall = room.width(), room.height() + 8 + 2 * max(20, round(18 * self.look.scale))
        columns = max(1, (self.width() + _GAP) // (wide + _GAP))
        y, column, self._rows = 0, 0, []
        below = 0
        for group, head in zip(self._groups, self._heads, strict=False):
            tiles = [self.tiles[shown.event] for shown in group.photos]
            if column and column + len(tiles) > columns:
                y, column = below, 0
            top = y + self._place_head(head, column, y, min(len(tiles), columns - column)) + GRID // 2
            for i, tile in enumerate(tiles):
                line, across = divmod(i, columns - column) if column == 0 else (0, i)
                tile.setGeometry((column + across) * (wide + _GAP), top + line * (tall + GRID), wide, tall)
                tile.show()
                if across == 0 and (line or column == 0):
                    self._rows.append([])
                self._rows[-1].append(tile)
            below = max(below if column else 0, top + -(-len(tiles) // columns) * (tall + GRID) + GRID)
            column = column + len(tiles) if column + len(tiles) < columns else 0
            y = y if column else below
        self.setMinimumHeight(below)

    def _place_head(self, head: tuple[Words, Words], column: int, y: int, columns: int) -> int:
        each = picture_room(self.look).width() + _GAP
        room = max(1, columns) * each - _GAP
        high = 0
        for words in head:
            line = words.sizeHint().height()
            words.setGeometry(column * each, y + high, room, line)
            high += line
        return high

    def _came(self, sha: str) -> None:
        for tile in self.tiles.values():
            if tile.shown.picture.sha256 == sha:
                tile.show_photo(tile.shown)

    def show_tile(self, area: QScrollArea, event: str) -> None:
        """Scroll to this photo."""
        tile = self.tiles.get(event)
        if tile is not None:
            area.ensureWidgetVisible(tile, 0, 6 * GRID)
