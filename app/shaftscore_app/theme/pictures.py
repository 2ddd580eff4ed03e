"""What is painted once into a picture and then only copied."""

from __future__ import annotations

import math
from collections.abc import Callable

from PySide6.QtCore import QRectF, Qt
from PySide6.QtGui import QPainter, QPixmap


def picture(area: QRectF, ratio: float, paint: Callable[[QPainter], None], *, clear: bool = False) -> QPixmap:
    """Paint a picture as large as an area, at a device pixel ratio; its origin is the area's corner.

    clear: whether what is not painted lets the ground through; else all of it is painted.
    """
    made = QPixmap(math.ceil(area.width() * ratio), math.ceil(area.height() * ratio))
    made.setDevicePixelRatio(ratio)
    if clear:
        made.fill(Qt.GlobalColor.transparent)
    with QPainter(made) as painter:
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        paint(painter)
    return made


def ratio_of(painter: QPainter) -> float:
    """Return the device pixel ratio of what a painter paints on; nothing but that may scale the painter.

    It is read from the transform. For `QPainter.device`, PySide looks up the Python object at an address;
    once in a long run that was another one, whose ratio was 0.
    """
    return painter.deviceTransform().m11()
