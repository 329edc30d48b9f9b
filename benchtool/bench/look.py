"""The look: two themes, one type scale, one spacing scale. Everything that is drawn asks here."""

from dataclasses import dataclass
from functools import cache
from typing import Literal

from PySide6.QtCore import QObject, Qt, Signal
from PySide6.QtGui import QColor, QFont, QFontDatabase, QFontMetricsF, QGuiApplication, QPalette

GRID = 8
"""Every distance on the screen is a multiple of half of this, in device-independent pixels."""

TARGET = 48
"""No target is smaller: a gloved finger or a wet trackpad must hit it."""

MONO_FEATURE = "tnum"


@dataclass(frozen=True, slots=True)
class Theme:
    """The colours of one theme. `accent` says that hands are needed, `wait` that they are not."""

    name: str
    paper: str
    raised: str
    ink: str
    quiet: str
    line: str
    accent: str
    accent_ink: str
    wait: str
    trouble: str
    bare: str

    def color(self, name: str) -> QColor:
        """Give one of the colours by its name; copy it before you change it."""
        return _color(getattr(self, name))


@cache
def _color(code: str) -> QColor:
    return QColor(code)


LIGHT = Theme(
    name="light",
    paper="#f3efe6",
    raised="#fcfaf5",
    ink="#1d1b18",
    quiet="#5d574d",
    line="#cfc7b6",
    accent="#0b5a62",
    accent_ink="#ffffff",
    wait="#465a7d",
    trouble="#97290f",
    bare="#c9bfaa",
)
DARK = Theme(
    name="dark",
    paper="#141619",
    raised="#1d2024",
    ink="#efebe4",
    quiet="#aaa59b",
    line="#3b4047",
    accent="#63cbd0",
    accent_ink="#06262a",
    wait="#a6b8da",
    trouble="#ff9d82",
    bare="#4d483e",
)


class Look(QObject):
    """The theme and the sizes in force; tells when they change."""

    changed = Signal()

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self.theme = LIGHT
        self.scale = 1.0
        self.choice: Literal["light", "dark"] | None = None
        self._fonts: dict[tuple[int, bool], QFont] = {}
        self._family = QFontDatabase.systemFont(QFontDatabase.SystemFont.GeneralFont).family()

    def choose(self, name: str) -> None:
        """Take the theme `light`, `dark`, or the one of the system."""
        dark = name == "dark" or (name == "system" and _system_is_dark())
        self.theme = DARK if dark else LIGHT
        self.apply_palette()
        self.changed.emit()

    def turn(self) -> None:
        """Change between light and dark because the painter asked for it."""
        self.choice = "light" if self.theme.name == "dark" else "dark"
        self.choose(self.choice)

    def fit(self, width: int, height: int) -> None:
        """Take the type scale that suits a window of this size (device-independent pixels)."""
        scale = 1.0
        if width < 1_100 or height < 620:
            scale = 0.86
        elif width >= 1_600 and height >= 860:
            scale = 1.25
        if scale != self.scale:
            self.scale = scale
            self.changed.emit()

    @property
    def target(self) -> int:
        """The height of a row or button: never below what a gloved finger hits."""
        return max(TARGET, int(TARGET * self.scale))

    def apply_palette(self) -> None:
        """Give the stock controls that are left (fields, scroll bars, menus) the theme's colours."""
        t, p = self.theme, QPalette()
        for role, name in (
            (QPalette.ColorRole.Window, "paper"), (QPalette.ColorRole.Base, "raised"),
            (QPalette.ColorRole.AlternateBase, "paper"), (QPalette.ColorRole.Button, "raised"),
            (QPalette.ColorRole.WindowText, "ink"), (QPalette.ColorRole.Text, "ink"),
            (QPalette.ColorRole.ButtonText, "ink"), (QPalette.ColorRole.ToolTipText, "ink"),
            (QPalette.ColorRole.ToolTipBase, "raised"), (QPalette.ColorRole.Highlight, "accent"),
            (QPalette.ColorRole.HighlightedText, "accent_ink"), (QPalette.ColorRole.PlaceholderText, "quiet"),
            (QPalette.ColorRole.Mid, "line"), (QPalette.ColorRole.Light, "raised"),
            (QPalette.ColorRole.Midlight, "line"), (QPalette.ColorRole.Dark, "quiet"),
        ):  # fmt: skip
            p.setColor(role, t.color(name))
        app = QGuiApplication.instance()
        if isinstance(app, QGuiApplication):
            app.setPalette(p)

    # Four sizes: small for what is read at the bench, body, title, and numerals for what is read from
    # across the shop. The far view scales the last one to its own height.

    @property
    def small(self) -> QFont:
        """For labels and hints."""
        return self.font(13)

    @property
    def body(self) -> QFont:
        """For sentences."""
        return self.font(15)

    @property
    def strong(self) -> QFont:
        """For names."""
        return self.font(15, strong=True)

    @property
    def title(self) -> QFont:
        """For headings and the countdowns read at arm's length."""
        return self.font(22, strong=True)

    @property
    def amount(self) -> QFont:
        """For the amount to pour: the numerals at half their size."""
        return self.font(46, strong=True)

    @property
    def numerals(self) -> QFont:
        """For the one countdown read from three metres."""
        return self.font(96, strong=True)

    def font(self, pixels: int, *, strong: bool = False, scaled: bool = True) -> QFont:
        """Give the one typeface at a size, with figures of equal width; copy it before you change it."""
        size = max(12, round(pixels * self.scale)) if scaled else pixels
        kept = self._fonts.get((size, strong))
        if kept is None:
            kept = QFont(self._family)
            kept.setPixelSize(size)
            kept.setWeight(QFont.Weight.DemiBold if strong else QFont.Weight.Normal)
            kept.setFeature(QFont.Tag(MONO_FEATURE), 1)
            self._fonts[size, strong] = kept
        return kept

    def style_sheet(self) -> str:
        """The few rules for stock controls that a palette can't say."""
        t = self.theme
        return f"""
        Words[tone="ink"] {{ color: {t.ink}; }}
        Words[tone="quiet"] {{ color: {t.quiet}; }}
        Words[tone="accent"] {{ color: {t.accent}; }}
        Words[tone="trouble"] {{ color: {t.trouble}; }}
        QLineEdit, QPlainTextEdit, QComboBox, QSpinBox {{
            background: {t.raised}; color: {t.ink}; border: 1px solid {t.quiet}; border-radius: 3px;
            padding: 0 12px; min-height: {self.target - 2}px; selection-background-color: {t.accent};
            selection-color: {t.accent_ink};
        }}
        QLineEdit:focus, QPlainTextEdit:focus, QComboBox:focus, QSpinBox:focus {{ border: 2px solid {t.accent}; }}
        QLineEdit:focus {{ min-height: {self.target - 4}px; }}
        QLineEdit[wrong="true"] {{ border: 2px solid {t.trouble}; min-height: {self.target - 4}px; }}
        QComboBox::drop-down {{ border: none; width: 32px; }}
        QComboBox QAbstractItemView {{ background: {t.raised}; color: {t.ink}; border: 1px solid {t.quiet}; }}
        QScrollArea, QScrollArea > QWidget > QWidget {{ background: transparent; border: none; }}
        QScrollBar:vertical {{ background: transparent; width: 12px; margin: 0; }}
        QScrollBar::handle:vertical {{ background: {t.line}; border-radius: 5px; min-height: 40px; margin: 1px; }}
        QScrollBar:horizontal {{ background: transparent; height: 12px; margin: 0; }}
        QScrollBar::handle:horizontal {{ background: {t.line}; border-radius: 5px; min-width: 40px; margin: 1px; }}
        QScrollBar::add-line, QScrollBar::sub-line {{ width: 0; height: 0; }}
        QScrollBar::add-page, QScrollBar::sub-page {{ background: transparent; }}
        QToolTip {{ background: {t.raised}; color: {t.ink}; border: 1px solid {t.quiet}; padding: 6px; }}
        """


def _system_is_dark() -> bool:
    app = QGuiApplication.instance()
    return isinstance(app, QGuiApplication) and app.styleHints().colorScheme() is Qt.ColorScheme.Dark


def elided(text: str, font: QFont, width: float) -> str:
    """Shorten `text` with an ellipsis so that it fits `width`."""
    return QFontMetricsF(font).elidedText(text, Qt.TextElideMode.ElideRight, width)


def elided_amid(text: str, font: QFont, width: float) -> str:
    """Shorten `text` in its middle: its end tells it from another that begins alike."""
    return QFontMetricsF(font).elidedText(text, Qt.TextElideMode.ElideMiddle, width)


def fitted(look: Look, text: str, width: float, most: int, least: int = 16) -> QFont:
    """Give the strong font, at most `most` pixels high, in which `text` fits `width`."""
    font = look.font(most, strong=True, scaled=False)
    wide = QFontMetricsF(font).horizontalAdvance(text)
    if wide > width:  # type grows evenly, so that one step is enough
        font = look.font(max(least, int(most * width / wide)), strong=True, scaled=False)
    return font
