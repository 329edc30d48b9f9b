"""The sheet of the far view: what stands in each of its zones, how large, and how it is drawn."""

from dataclasses import dataclass
from math import ceil

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QFont, QFontMetricsF, QPainter, QRegion

from benchtool.bench.bars import draw_bar, lines_of, short_names, steps_of
from benchtool.bench.controls import hatch
from benchtool.bench.look import GRID, Look, elided
from benchtool.session.due import Bar
from benchtool.session.legibility import FAR_M, LEAST_MINUTES, PREFERRED_MINUTES, char_height_mm, px_per_mm

LINES = 2
"""So many more countdowns stand below the first, one more where the screen is taller than most."""

EDGE = 4 * GRID
_RIGHT, _MIDDLE = Qt.AlignmentFlag.AlignRight, Qt.AlignmentFlag.AlignHCenter


@dataclass(frozen=True, slots=True)
class Line:
    """One of the next countdowns."""

    names: tuple[str, ...]
    short: str
    numerals: str
    tone: str


@dataclass(frozen=True, slots=True)
class Band:
    """What is said in large words over the foot: an answer, or the calls that nobody heard, with what hears them."""

    lines: tuple[str, ...] = ()
    heard: str = ""
    tone: str = "accent"


@dataclass(frozen=True, slots=True)
class Shown:
    """All that stands on the sheet at one moment."""

    names: tuple[str, ...] = ()
    numerals: str = ""
    tone: str = "ink"
    clock: tuple[str, str] = ("", "")
    words: str = "Nothing is running"
    bar: Bar | None = None
    lines: tuple[Line, ...] = ()
    band: Band = Band()
    key: str = ""
    time: str = ""
    more: str = ""
    loud: str = ""

    def zones(self) -> dict[str, object]:
        """Give what is drawn, by zone, to tell which of them must be drawn anew."""
        zones: dict[str, object] = {
            "all": (self.tone, self.loud, self.bar is None, len(self.lines), bool(self.band.lines), bool(self.key)),
            "place": self.names,
            "numerals": (self.numerals, self.clock),
            "words": self.words,
            "bar": steps_of(self.bar) if self.bar is not None else None,
            "foot": (self.band, self.key, self.time, self.more),
        }
        return zones | {f"line-{i}": line for i, line in enumerate(self.lines)}


class Sheet:
    """The zones and type sizes of what is shown, on a screen of `width` by `height` with `beside` left for a button."""

    def __init__(self, look: Look, shown: Shown, width: int, height: int, beside: int) -> None:
        self.look, self.shown = look, shown
        self.width, self.height, self.beside = float(width), float(height), float(beside)
        self.most, self.least = self._px(PREFERRED_MINUTES), self._px(LEAST_MINUTES)
        self.spots = self._lay_out()
        self.fonts = self._fit()

    @property
    def time(self) -> str:
        """The time now, for whoever stands at it: from afar it would be taken for the time when something is due."""
        return f"now {self.shown.time}"

    # --- sizes -----------------------------------------------------------------------------------------

    def _px(self, minutes: float) -> int:
        """Give the type size (px) whose capitals fill so many minutes of arc from where the far view is read."""
        cap = char_height_mm(minutes, FAR_M) * px_per_mm(self.width, self.height)
        share = QFontMetricsF(self.look.font(200, scaled=False)).capHeight() / 200
        return max(12, ceil(cap / share))

    def _lay_out(self) -> dict[str, QRectF]:
        """Lay the zones out from the top and from the foot; the numerals take what is between."""
        shown, across = self.shown, self.width - 2 * EDGE
        line, lesser = self.most * 1.08, self.least * 1.06
        lines = max(LINES, len(shown.lines)) if shown.band.lines else len(shown.lines)
        rows = lines + 1 if lines <= LINES or shown.key else lines  # the last is shared with the button
        foot = self.height - rows * lesser - GRID
        spots = {"place": QRectF(EDGE, self.height * 0.012, across, line)}
        last = QRectF(EDGE, foot + (rows - 1) * lesser, across - self.beside - GRID, lesser)
        little = max(QFontMetricsF(self.look.body).horizontalAdvance(text) for text in (self.time, shown.more))
        key = last.adjusted(0, 0, -little - 2 * GRID, 0)
        for i in range(len(shown.lines)):
            whole = QRectF(EDGE, foot + i * lesser, across, lesser)
            spots[f"line-{i}"] = whole if i < rows - 1 else key
        thick = max(6.0, self.height * 0.022)
        bar = QRectF(EDGE, foot - 2 * thick, across, thick)
        words = QRectF(EDGE, bar.top() - 0.6 * thick - line, across, line)
        top = spots["place"].bottom()
        clock = max(self._wide(shown.clock[1], self.most), self._wide(shown.clock[0], self.least)) + 1
        clock = min(across * 0.4, clock)
        block = QRectF(EDGE, top, across, words.top() - top)
        half = min(line, block.height() / 2)
        return spots | {
            "all": QRectF(0, 0, self.width, self.height),
            "numerals": block,
            "figures": QRectF(EDGE, top, across - clock - EDGE, block.height()),
            "clock": QRectF(block.right() - clock, block.center().y() - half, clock, 2 * half),
            "words": words if shown.bar is not None else QRectF(EDGE, 0, across, foot),
            "bar": QRectF(0, bar.top() - thick, self.width, 3 * thick),
            "bar-line": bar,
            "key": key,
            "small": QRectF(last.right() - little, last.top(), little, lesser),
            "foot": _below(QRectF(0, 0, self.width, self.height), foot if shown.band.lines else key.top()),
        }

    def _wide(self, text: str, px: int) -> float:
        return QFontMetricsF(self.look.font(px, scaled=False)).horizontalAdvance(text)

    def _fit(self) -> dict[str, QFont]:
        """Take the type as large as its zone lets it be, but never below the least that can be read."""
        shown, spots = self.shown, self.spots
        tallest = max(self.least, int(spots["figures"].height() / 0.79))  # a figure is 77 % of its type, give or take
        sized = {
            "place": self._sized(", ".join(shown.names), spots["place"].width(), self.most),
            "numerals": self._sized(shown.numerals, spots["figures"].width(), tallest, strong=True),
            "clock": self._sized(shown.clock[1], spots["clock"].width(), self.most),
            "words": self._sized(shown.words, spots["words"].width(), self.most),
            "lines": self.look.font(self.least, scaled=False),
            "strong": self.look.font(self.least, strong=True, scaled=False),
        }
        return sized | {"band": self._band_font()}

    def _sized(self, text: str, width: float, most: int, *, strong: bool = False) -> QFont:
        font = self.look.font(most, strong=strong, scaled=False)
        wide = QFontMetricsF(font).horizontalAdvance(text)
        if wide <= width:
            return font
        return self.look.font(max(self.least, int(most * width / wide)), strong=strong, scaled=False)

    def _band_font(self) -> QFont:
        large = self.look.font(self.most, scaled=False)
        band = self.shown.band
        if band.heard or len(band.lines) != 1:
            return self.look.font(self.least, scaled=False)
        fits = len(lines_of(band.lines[0], large, self.width - 2 * EDGE, 3)) <= 2
        return large if fits else self.look.font(self.least, scaled=False)

    # --- drawing ---------------------------------------------------------------------------------------

    def paint(self, painter: QPainter, due: QRegion) -> None:
        """Draw the zones that `due` touches."""
        t, shown = self.look.theme, self.shown
        self.paper, self.ink, self.quiet = t.color("paper"), t.color("ink"), t.color("quiet")
        self.tone, self.track = t.color(shown.tone), t.color("line")
        if shown.loud:
            self.paper = t.color(shown.loud)
            self.ink = self.quiet = self.tone = t.color("accent_ink" if shown.loud == "accent" else "paper")
            self.track = _between(self.paper, self.ink)
        painter.fillRect(self.spots["all"], self.paper)
        hit = {zone for zone, spot in self.spots.items() if due.intersects(spot.toAlignedRect())}
        if shown.bar is None:
            _write(painter, self.spots["words"], self.fonts["words"], self.quiet, shown.words, _MIDDLE)
        else:
            self._paint_first(painter, hit)
        for i, line in enumerate(shown.lines):
            if f"line-{i}" in hit:
                self._paint_line(painter, self.spots[f"line-{i}"], line)
        if "foot" in hit:
            self._paint_foot(painter)

    def _paint_first(self, painter: QPainter, hit: set[str]) -> None:
        shown, spots, fonts = self.shown, self.spots, self.fonts
        if shown.tone == "trouble":
            side = QRectF(0, spots["place"].top(), EDGE * 0.6, spots["bar-line"].bottom() - spots["place"].top())
            hatch(painter, side, self.tone, gap=16, width=5)
        if "place" in hit:
            place, whole = spots["place"], ", ".join(shown.names)
            fits = QFontMetricsF(fonts["place"]).horizontalAdvance(whole) <= place.width()
            names = whole if fits else short_names(shown.names, fonts["place"], place.width())
            _write(painter, place, fonts["place"], self.ink, names)
        if "numerals" in hit:
            _write(painter, spots["figures"], fonts["numerals"], self.tone, shown.numerals)
            upper = QRectF(spots["clock"])
            upper.setHeight(upper.height() / 2)
            _write(painter, upper, fonts["lines"], self.quiet, shown.clock[0], _RIGHT)
            lower = upper.translated(0, upper.height())
            _write(painter, lower, fonts["clock"], self.ink, shown.clock[1], _RIGHT)
        if "words" in hit:
            _write(painter, spots["words"], fonts["words"], self.ink, shown.words)
        if shown.bar is not None and "bar" in hit:
            draw_bar(painter, spots["bar-line"], shown.bar, done=self.tone, line=self.track, ink=self.quiet)

    def _paint_line(self, painter: QPainter, spot: QRectF, line: Line) -> None:
        font, strong = self.fonts["lines"], self.fonts["strong"]
        tone = self.ink if self.shown.loud else self.look.theme.color(line.tone)
        metrics = QFontMetricsF(font)
        name, words = ", ".join(line.names), f": {line.short}" if line.names else line.short

        def left_by(numerals: str) -> float:
            return spot.width() - QFontMetricsF(strong).horizontalAdvance(numerals) - metrics.horizontalAdvance("  ")

        numerals, room = line.numerals, left_by(line.numerals)
        if metrics.horizontalAdvance(name + words) > room:
            numerals = days_alone(numerals)
            room = left_by(numerals)
        _write(painter, spot, strong, tone, numerals, _RIGHT)
        if metrics.horizontalAdvance(name + words) > room:  # what is asked for matters more than the end of a name
            name = elided(name, font, max(0.4 * room, room - metrics.horizontalAdvance(words)))
        left = QRectF(spot.left(), spot.top(), room, spot.height())
        _write(painter, left, font, self.quiet, name + words)

    def _paint_foot(self, painter: QPainter) -> None:
        shown, small = self.shown, self.look.body
        if shown.band.lines:
            self._paint_band(painter)
            return
        _write(painter, self.spots["key"], self.fonts["lines"], self.ink, shown.key)
        spot, high = self.spots["small"], QFontMetricsF(small).height()
        lower = QRectF(spot.left(), self.height - 2 * GRID - high, spot.width(), high)
        _write(painter, lower, small, self.quiet, self.time, _RIGHT)
        _write(painter, lower.translated(0, -1.2 * high), small, self.quiet, shown.more, _RIGHT)

    def _paint_band(self, painter: QPainter) -> None:
        t, band = self.look.theme, self.shown.band
        paper = t.color(band.tone)
        ink = t.color("accent_ink" if band.tone == "accent" else "paper")
        if self.shown.loud:
            paper, ink = self.ink, self.paper
        spot, font = self.spots["foot"], self.fonts["band"]
        painter.fillRect(spot, paper)
        inner = QRectF(EDGE, spot.top() + GRID / 2, self.width - 2 * EDGE, self.height - spot.top() - GRID)
        most = 2 if band.heard or font.pixelSize() > self.least else 3
        lines = list(band.lines[:most])
        if len(band.lines) == 1:
            lines = lines_of(band.lines[0], font, inner.width(), most)
        if len(lines) > 2:  # the third shares its room with the button
            lines = lines_of(band.lines[0], font, inner.width() - self.beside, most)
        step = inner.height() / 3
        for i, line in enumerate(lines):
            _write(painter, QRectF(inner.left(), inner.top() + i * step, inner.width(), step), font, ink, line)
        if band.heard:
            last = QRectF(inner.left(), inner.bottom() - step, inner.width() - self.beside, step)
            _write(painter, last, self.fonts["strong"], ink, band.heard)


def days_alone(numerals: str) -> str:
    """Leave out the hours of `4 d 03:46`: whoever looks from afar needs what it is of more than them."""
    days, between, _ = numerals.partition(" d ")
    return f"{days} d" if between and days.isdecimal() else numerals


def _below(box: QRectF, top: float) -> QRectF:
    return QRectF(box.left(), top, box.width(), box.bottom() - top)


def _between(one: QColor, other: QColor) -> QColor:
    return QColor(*((3 * a + 2 * b) // 5 for a, b in zip(_rgb(one), _rgb(other), strict=True)))


def _rgb(color: QColor) -> tuple[int, int, int]:
    return color.red(), color.green(), color.blue()


def _write(
    painter: QPainter,
    box: QRectF,
    font: QFont,
    color: QColor,
    text: str,
    across: Qt.AlignmentFlag = Qt.AlignmentFlag.AlignLeft,
) -> None:
    """Write a line so that its capitals stand in the middle of the box; what is still too long is cut short."""
    if not text:
        return
    metrics = QFontMetricsF(font)
    text = elided(text, font, box.width() + 1)
    wide = metrics.horizontalAdvance(text)
    x = {_RIGHT: box.right() - wide, _MIDDLE: box.center().x() - wide / 2}.get(across, box.left())
    painter.setFont(font)
    painter.setPen(color)
    painter.drawText(QPointF(x, box.top() + (box.height() + metrics.capHeight()) / 2), text)
