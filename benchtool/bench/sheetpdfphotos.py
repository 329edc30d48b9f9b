"""Photos as a sheet shows them: upright, no larger than print needs, and without anything that a camera wrote in."""

from PySide6.QtCore import QBuffer, QByteArray, QIODevice, QSize, Qt
from PySide6.QtGui import QColor, QImage, QImageReader, QPainter

MOST_PX = 1_100
"""The longer side of a photo (px): what 140 mm at 200 dpi take."""


def picture(data: bytes | None) -> QImage | None:
    """Read a photo, turned upright and made smaller; None where it is none. May be called from any thread."""
    if not data:
        return None
    buffer = QBuffer()
    buffer.setData(QByteArray(data))
    buffer.open(QIODevice.OpenModeFlag.ReadOnly)
    reader = QImageReader(buffer)
    reader.setDecideFormatFromContent(True)
    reader.setAutoTransform(True)
    there = reader.size()
    if there.isValid() and max(there.width(), there.height()) > MOST_PX:
        reader.setScaledSize(_within(there, MOST_PX, MOST_PX))
    image = reader.read()
    if image.isNull():
        return None
    if max(image.width(), image.height()) > MOST_PX:
        image = image.scaled(_within(image.size(), MOST_PX, MOST_PX), mode=Qt.TransformationMode.SmoothTransformation)
    return _opaque(image)


def fitting(image: QImage, width: float, height: float) -> tuple[float, float]:
    """Give the size at which a photo fits a box, never taller or wider than it."""
    scale = min(width / image.width(), height / image.height())
    return image.width() * scale, image.height() * scale


def _within(size: QSize, width: int, height: int) -> QSize:
    small = size.scaled(width, height, Qt.AspectRatioMode.KeepAspectRatio)
    return QSize(max(1, small.width()), max(1, small.height()))


def _opaque(image: QImage) -> QImage:
    """Paint over white what is transparent: paper is."""
    flat = QImage(image.size(), QImage.Format.Format_RGB32)
    flat.fill(QColor("white"))
    painter = QPainter(flat)
    painter.drawImage(0, 0, image)
    painter.end()
    return flat
