"""Images as brightness of their pixels, read by Qt: any format that it knows, animations frame by frame."""

from __future__ import annotations

from PySide6.QtCore import QBuffer, QByteArray, QIODevice, Qt
from PySide6.QtGui import QImage, QImageReader, QPainter

from shaftscore.base.errors import EditError
from shaftscore.program.frames import MOST_FRAMES
from shaftscore.program.pictures import Pixels

MOST_PIXELS = 40_000_000
"""A larger image is refused."""

MOST_SIDE = 720
"""Images are made smaller than this before they are read, px: a cell is a mean of many pixels anyway."""


def images_of(data: bytes, name: str) -> list[Pixels]:
    """Return the pictures of an image file, rows of brightness 0 to 1 each; what is clear counts as white.

    Raises EditError for what is no image, or one that is too large.
    """
    buffer = QBuffer()
    buffer.setData(QByteArray(data))
    buffer.open(QIODevice.OpenModeFlag.ReadOnly)
    reader = QImageReader(buffer)
    reader.setAutoTransform(True)
    size = reader.size()
    if size.isValid() and size.width() * size.height() > MOST_PIXELS:
        raise EditError(f"{name} has {size.width():,} x {size.height():,} pixels; 40 million are the most")
    found: list[Pixels] = []
    while len(found) < MOST_FRAMES:
        image = reader.read()
        if image.isNull():
            break
        found.append(_pixels(image))
    if not found:
        raise EditError(f"{name} cannot be read as an image: {reader.errorString()}")
    return found


def _pixels(image: QImage) -> Pixels:
    wide, high = min(image.width(), MOST_SIDE), min(image.height(), MOST_SIDE)
    if (wide, high) != (image.width(), image.height()):
        smooth = Qt.TransformationMode.SmoothTransformation
        image = image.scaled(wide, high, Qt.AspectRatioMode.KeepAspectRatio, smooth)
    ground = QImage(image.size(), QImage.Format.Format_RGB32)
    ground.fill(Qt.GlobalColor.white)
    painter = QPainter(ground)
    painter.drawImage(0, 0, image)
    painter.end()
    grey = ground.convertToFormat(QImage.Format.Format_Grayscale8)
    data, step = bytes(grey.constBits()), grey.bytesPerLine()
    return [
        [value / 255 for value in data[row * step : row * step + grey.width()]]
        for row in range(grey.height())
    ]
