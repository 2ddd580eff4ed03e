"""The ratio at which pictures are painted and copied."""

from __future__ import annotations

import pytest
from PySide6.QtCore import QPointF, QRectF
from PySide6.QtGui import QImage, QPainter, QPaintEvent
from PySide6.QtWidgets import QWidget

from shaftscore_app.theme.pictures import picture, ratio_of


class _Painted(QWidget):
    def __init__(self, parent: QWidget) -> None:
        super().__init__(parent)
        self.ratios: list[float] = []

    def paintEvent(self, event: QPaintEvent) -> None:
        del event
        with QPainter(self) as painter:
            painter.translate(QPointF(3.0, 4.0))
            self.ratios.append(ratio_of(painter))


@pytest.mark.parametrize("ratio", [1.0, 1.25, 2.0, 3.0])
def test_a_painter_paints_at_the_ratio_of_its_picture(qapp, ratio: float) -> None:
    seen: list[float] = []
    picture(QRectF(0.0, 0.0, 20.0, 10.0), ratio, lambda painter: seen.append(ratio_of(painter)))
    assert seen == [ratio]


@pytest.mark.parametrize("ratio", [1.25, 2.0])
def test_a_widget_inside_another_is_painted_at_the_ratio_of_what_shows_it(qtbot, ratio: float) -> None:
    outer = QWidget()
    qtbot.addWidget(outer)
    outer.resize(60, 40)
    inner = _Painted(outer)
    inner.setGeometry(20, 10, 30, 20)
    image = QImage(200, 200, QImage.Format.Format_ARGB32)
    image.setDevicePixelRatio(ratio)
    outer.render(image)
    assert inner.ratios == [ratio]
