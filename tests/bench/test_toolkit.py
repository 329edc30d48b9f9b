"""What we rely on in the toolkit itself."""

import sys

import pytest
from PySide6.QtCore import QPointF
from PySide6.QtGui import QImage, QPainter


@pytest.mark.skipif(sys.version_info >= (3, 12), reason="None can't die from Python 3.12 on")
def test_a_call_that_returns_nothing_takes_no_reference_to_none_away() -> None:
    """PySide6 6.12.0 did: a program that paints died of it within minutes (`deallocating None`)."""
    image = QImage(8, 8, QImage.Format.Format_ARGB32)
    painter = QPainter(image)
    before = sys.getrefcount(None)
    for _ in range(1_000):
        painter.drawLine(QPointF(0, 0), QPointF(4, 4))
    lost = before - sys.getrefcount(None)
    painter.end()
    assert lost < 100
