"""Every pair of colours that carries words stands out enough to be read (WCAG 2.2 AA)."""

import pytest
from PySide6.QtGui import QColor

from benchtool.bench.look import DARK, LIGHT, Theme


def luminance(color: QColor) -> float:
    """Relative luminance as WCAG 2.2 defines it."""

    def channel(c: float) -> float:
        return c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4

    return 0.2126 * channel(color.redF()) + 0.7152 * channel(color.greenF()) + 0.0722 * channel(color.blueF())


def contrast(a: QColor, b: QColor) -> float:
    high, low = sorted((luminance(a), luminance(b)), reverse=True)
    return (high + 0.05) / (low + 0.05)


def test_the_measure_itself() -> None:
    """Black on white is 21:1 (WCAG 2.2, definition of contrast ratio)."""
    assert contrast(QColor("#000000"), QColor("#ffffff")) == pytest.approx(21.0)


@pytest.mark.parametrize("theme", [LIGHT, DARK], ids=lambda t: t.name)
@pytest.mark.parametrize("words", ["ink", "quiet", "accent", "trouble"])
@pytest.mark.parametrize("ground", ["paper", "raised"])
def test_words_stand_out_from_their_ground(theme: Theme, words: str, ground: str) -> None:
    assert contrast(theme.color(words), theme.color(ground)) >= 4.5


@pytest.mark.parametrize("theme", [LIGHT, DARK], ids=lambda t: t.name)
def test_words_on_the_accent_stand_out(theme: Theme) -> None:
    assert contrast(theme.color("accent_ink"), theme.color("accent")) >= 4.5


@pytest.mark.parametrize("theme", [LIGHT, DARK], ids=lambda t: t.name)
@pytest.mark.parametrize("mark", ["accent", "trouble", "wait", "quiet"])
def test_marks_stand_out_from_the_paper(theme: Theme, mark: str) -> None:
    """WCAG 2.2, 1.4.11: shapes that carry meaning need 3:1."""
    assert contrast(theme.color(mark), theme.color("paper")) >= 3.0
