"""The drawing beside the form of a follower: where each dimension is measured, by a letter.

Two views, not to scale: from the top along the shaft, and from the side across it. Each dimension is an arrow
with its letter, the one whose field is being typed is bold.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass

from PySide6.QtCore import QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QWidget

from shaftscore_app.theme import Theme

Point = tuple[float, float]

SIZE = (520.0, 168.0)
"""Width and height of the drawing, px of the design."""

AXIS, DISC = (80.0, 92.0), 44.0
"""Centre and radius of the disc from the top."""

ROLLER, RADIUS = (138.0, 92.0), 14.0
OFFSET = 12.0
"""How far the line of a translating roller is drawn from the axis."""

OFFSET_ROLLER = (ROLLER[0] - 2, ROLLER[1] - OFFSET)
PIVOT = (262.0, 40.0)
FACE = 124.0
SIDE = 392.0
"""Left end of the view from the side."""


@dataclass(frozen=True)
class SketchDimension:
    """A dimension: the arrow from `start` to `end`, and the place of its letter, px of the design."""

    start: Point
    end: Point
    letter: Point


_WIDTH: Mapping[str, SketchDimension] = {
    "width_mm": SketchDimension((SIDE + 36, 136), (SIDE + 36, 108), (SIDE + 26, 124)),
}
_LEVER: Mapping[str, SketchDimension] = {
    "arm_thickness_mm": SketchDimension((SIDE + 84, 96), (SIDE + 84, 80), (SIDE + 94, 88)),
    "washer_mm": SketchDimension((SIDE + 98, 107), (SIDE + 98, 97), (SIDE + 108, 104)),
}
_ROLLER: Mapping[str, SketchDimension] = {
    "roller_radius_mm": SketchDimension(ROLLER, (ROLLER[0] - 10, ROLLER[1] - 10), (ROLLER[0] - 4, 66)),
}

DIMENSIONS: Mapping[str, Mapping[str, SketchDimension]] = {
    "translating-roller": {
        "roller_radius_mm": SketchDimension(
            OFFSET_ROLLER, (OFFSET_ROLLER[0] - 10, OFFSET_ROLLER[1] - 10), (OFFSET_ROLLER[0] - 4, 54)
        ),
        "offset_mm": SketchDimension((344, 92), (344, 80), (355, 87)),
        "guide_length_mm": SketchDimension((214, 44), (276, 44), (245, 35)),
        "overhang_mm": SketchDimension((136, 44), (214, 44), (180, 35)),
        "guide_start_mm": SketchDimension((80, 148), (214, 148), (148, 158)),
        **_WIDTH,
        "body_width_mm": SketchDimension((300, 73), (300, 87), (311, 80)),
        **_LEVER,
    },
    "swinging-roller": {
        **_ROLLER,
        "arm_mm": SketchDimension((143, 108), (268, 56), (212, 92)),
        "pivot_distance_mm": SketchDimension(AXIS, PIVOT, (176, 50)),
        "output_arm_mm": SketchDimension((270, 44), (310, 76), (300, 52)),
        "pivot_rod_mm": SketchDimension((254, 30), (270, 30), (262, 20)),
        **_WIDTH,
        "body_width_mm": SketchDimension((228, 60), (222, 48), (219, 38)),
        **_LEVER,
    },
    "translating-flat": {
        "face_width_mm": SketchDimension((142, 56), (142, 128), (152, 112)),
        **_WIDTH,
        "body_width_mm": SketchDimension((260, 85), (260, 99), (271, 92)),
        **_LEVER,
    },
}
"""Kind of follower, key of its field: where the dimension is drawn."""


def letters(kind: str) -> dict[str, str]:
    """Return the letter of each dimension of a kind of follower, by key."""
    return dict(zip(DIMENSIONS.get(kind, {}), "abcdefghijkl", strict=False))


class FollowerSketch(QWidget):
    """The drawing."""

    def __init__(self, theme: Theme) -> None:
        """Draw a translating roller, nothing held."""
        super().__init__()
        self._theme = theme
        self._kind, self._shown, self._held, self._groove = "translating-roller", set[str](), "", False
        self.setAccessibleName("Drawing of the follower, not to scale")
        self.setMinimumHeight(self.sizeHint().height())

    def sizeHint(self) -> QSize:
        """Return the size of both views."""
        return QSize(*(self._theme.px(side) for side in SIZE))

    def show_follower(self, kind: str, keys: Collection[str], *, groove: bool) -> None:
        """Draw a kind of follower with the dimensions of these fields."""
        self._kind, self._shown, self._groove = kind, set(keys), groove
        self.update()

    def hold(self, key: str) -> None:
        """Draw the dimension of a field bold; an empty key for none."""
        self._held = key
        self.update()

    @property
    def held(self) -> str:
        """Key of the field whose dimension is drawn bold."""
        return self._held

    def paintEvent(self, _event: QPaintEvent) -> None:
        """Draw the parts, then the dimensions over them."""
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        scale = min(self._theme.u, self.width() / SIZE[0])
        painter.translate((self.width() - SIZE[0] * scale) / 2, 0)
        painter.scale(scale, scale)
        self._paint_top(painter)
        self._paint_side(painter)
        for key, dimension in DIMENSIONS[self._kind].items():
            if key in self._shown:
                self._paint_dimension(painter, key, dimension)
        painter.end()

    # Inside

    def _pen(self, token: str, width: float = 1.0, style: Qt.PenStyle = Qt.PenStyle.SolidLine) -> QPen:
        return QPen(self._theme.color(token), width, style)

    def _paint_top(self, painter: QPainter) -> None:
        """Draw disc and follower as seen from the top."""
        painter.setPen(self._pen("edge", 1.0, Qt.PenStyle.DashDotLine))
        painter.drawLine(QPointF(24, AXIS[1]), QPointF(350, AXIS[1]))
        painter.setPen(self._pen("text", 1.5))
        painter.setBrush(self._theme.color("raised"))
        painter.drawEllipse(QPointF(*AXIS), DISC, DISC)
        painter.drawEllipse(QPointF(*AXIS), 6, 6)
        if self._groove:  # the outer side of the groove
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.drawEllipse(QPointF(*AXIS), DISC + 2 * RADIUS + 2, DISC + 2 * RADIUS + 2)
            painter.setBrush(self._theme.color("raised"))
        if self._kind == "swinging-roller":
            self._paint_swinging(painter)
        elif self._kind == "translating-flat":
            self._paint_bar(painter, FACE, 286, AXIS[1], guide=False)
            painter.drawRect(QRectF(FACE, 56, 8, 72))
        else:
            middle = OFFSET_ROLLER[1]
            self._paint_bar(painter, ROLLER[0], 330, middle, guide="guide_length_mm" in self._shown)
            painter.drawEllipse(QPointF(*OFFSET_ROLLER), RADIUS, RADIUS)
            painter.setPen(self._pen("edge", 1.0, Qt.PenStyle.DashDotLine))
            painter.drawLine(QPointF(330, middle), QPointF(350, middle))
        self._paint_text(painter, QPointF(24, 14), "From the top")

    def _paint_bar(self, painter: QPainter, left: float, right: float, middle: float, *, guide: bool) -> None:
        painter.drawRect(QRectF(left, middle - 7, right - left, 14))
        if guide:
            painter.drawRect(QRectF(214, middle - 24, 62, 17))
            painter.drawRect(QRectF(214, middle + 7, 62, 17))

    def _paint_swinging(self, painter: QPainter) -> None:
        pen = self._pen("text", 12.0)
        pen.setCapStyle(Qt.PenCapStyle.RoundCap)
        for token, width in (("text", 13.0), ("raised", 10.0)):
            pen.setColor(self._theme.color(token))
            pen.setWidthF(width)
            painter.setPen(pen)
            painter.drawLine(QPointF(*ROLLER), QPointF(*PIVOT))
            painter.drawLine(QPointF(*PIVOT), QPointF(302, 72))
        painter.setPen(self._pen("text", 1.5))
        painter.drawEllipse(QPointF(*ROLLER), RADIUS, RADIUS)
        painter.drawEllipse(QPointF(*PIVOT), 7, 7)

    def _paint_side(self, painter: QPainter) -> None:
        """Draw disc, roller, washer and lever as seen across the shaft."""
        painter.setPen(self._pen("text", 1.5))
        painter.setBrush(self._theme.color("raised"))
        painter.drawRect(QRectF(SIDE - 30, 112, 62, 20))
        if self._kind != "translating-flat":
            painter.drawRect(QRectF(SIDE + 40, 108, 32, 28))
            painter.drawRect(QRectF(SIDE + 46, 97, 20, 10))
            painter.drawRect(QRectF(SIDE + 40, 80, 72, 16))
        else:
            painter.drawRect(QRectF(SIDE + 34, 108, 10, 28))
            painter.drawRect(QRectF(SIDE + 40, 80, 72, 16))
        self._paint_text(painter, QPointF(SIDE - 30, 14), "From the side")

    def _paint_dimension(self, painter: QPainter, key: str, dimension: SketchDimension) -> None:
        is_held = key == self._held
        token = "accent" if is_held else "muted"
        painter.setPen(self._pen(token, 2.5 if is_held else 1.2))
        start, end = QPointF(*dimension.start), QPointF(*dimension.end)
        painter.drawLine(start, end)
        painter.setBrush(self._theme.color(token))
        for tip in (start, end):
            painter.drawEllipse(tip, 2.2, 2.2)
        at = QPointF(*dimension.letter)
        font = self._theme.font(12, 700 if is_held else 500)
        font.setPixelSize(14 if is_held else 12)
        painter.setFont(font)
        box = QRectF(at.x() - 8, at.y() - 9, 16, 18)
        painter.setPen(Qt.PenStyle.NoPen)
        painter.setBrush(self._theme.color("panel"))
        painter.drawEllipse(at, 8, 8)
        painter.setPen(self._theme.color(token if is_held else "text"))
        painter.drawText(box, Qt.AlignmentFlag.AlignCenter, letters(self._kind)[key])

    def _paint_text(self, painter: QPainter, at: QPointF, text: str) -> None:
        font = self._theme.font(11)
        font.setPixelSize(11)
        painter.setFont(font)
        painter.setPen(self._theme.color("muted"))
        painter.drawText(at, text)
