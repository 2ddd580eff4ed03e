"""The rulers of degrees, steps and seconds, and the rail with a sign for every finding."""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial
from typing import NamedTuple

from PySide6.QtCore import QPointF, QRectF
from PySide6.QtGui import QPainter

from shaftscore.base import wording
from shaftscore.make.drawing.timing.labels import VEILED_LABELS
from shaftscore.make.drawing.timing.ticks import StepCell, degree_ticks, second_ticks, step_cells, step_text
from shaftscore_app.timing.layers.lane import VEIL, paint_veil
from shaftscore_app.timing.layers.look import SMALL_FONT, DiagramStyle, Font, half
from shaftscore_app.timing.scene import DiagramScene

STEP = Font(weight=500)
DEGREE_MARKS = {0: 7.0, 1: 5.0, 2: 3.0}
SECOND_MARKS = {0: 5.0, 1: 3.0}
"""Lengths of the marks on the rulers by rank, px of the design."""


def paint_rulers(
    painter: QPainter, look: DiagramStyle, scene: DiagramScene, flags: Sequence[QRectF]
) -> list[QRectF]:
    """Paint all rulers; texts that a flag would touch are left out.

    Returns the rectangles of the texts on the step and seconds rulers, which lines must not cross.
    """
    frame = scene.frame
    axis = frame.axis
    area = QRectF(axis.left, 0.0, axis.width, frame.lanes_top)
    shaft = scene.project.shaft
    key = (axis, look.u, shaft.speed_rpm)
    texts = scene.kept.get("ruler texts", "", (shaft,), key, partial(_texts, look, scene))
    marks = partial(_paint_marks, look, scene, texts)
    look.place(painter, scene.kept, name=("rulers", ""), objects=(shaft,), key=key, area=area, paint=marks)
    painter.save()
    painter.setClipRect(area)
    _write_degrees(painter, look, scene, flags)
    painter.restore()
    return [text.area for text in texts]


class RulerText(NamedTuple):
    """A text of the step or the seconds ruler: where it begins, its ink, and the room that it takes."""

    left: float
    baseline: float
    text: str
    token: str
    font: Font
    area: QRectF


def _texts(look: DiagramStyle, scene: DiagramScene) -> list[RulerText]:
    """Return the texts that no flag hides: they are worked out once and painted with the marks."""
    return _step_texts(look, scene) + _second_texts(look, scene)


def _paint_marks(
    look: DiagramStyle, scene: DiagramScene, texts: Sequence[RulerText], painter: QPainter
) -> None:
    """Paint everything but the degrees' texts: marks of degrees and seconds, cells of steps, texts."""
    frame, u = scene.frame, look.u
    axis = frame.axis
    painter.translate(-axis.left, 0.0)
    painter.fillRect(QRectF(axis.left, 0.0, axis.width, frame.lanes_top), look.color("panel"))
    top, bottom = frame.ruler_top(1), frame.ruler_top(2)
    for cell in _cells(scene):
        ground = look.color("material" if cell.number & 1 else "window")
        painter.fillRect(QRectF(cell.piece.left, top, cell.piece.width, bottom - top), ground)
    for tick in degree_ticks(axis, u):
        painter.setPen(look.pen("line" if tick.rank == 2 else "edge", 1.0 / u))
        painter.drawLine(QPointF(half(tick.x), top - DEGREE_MARKS[tick.rank] * u), QPointF(half(tick.x), top))
    bottom = frame.ruler_top(3)
    for tick in second_ticks(axis, _turn_s(scene), u):
        painter.setPen(look.pen("line" if tick.rank else "edge", 1.0 / u))
        x = half(tick.x)
        painter.drawLine(QPointF(x, bottom - SECOND_MARKS[tick.rank] * u), QPointF(x, bottom))
    paint_veil(painter, axis, look.color("panel", VEIL), 0.0, frame.lanes_top)
    painter.setPen(look.pen("line", 1.0 / u))
    for y in (frame.ruler_top(3) + 0.5, frame.lanes_top - 0.5):
        painter.drawLine(QPointF(axis.left, y), QPointF(axis.right, y))
    for text in texts:
        look.text(painter, text.left, text.baseline, text.text, look.color(text.token), font=text.font)


def _cells(scene: DiagramScene) -> list[StepCell]:
    shaft = scene.project.shaft
    return list(step_cells(scene.frame.axis, shaft.step_starts_deg, shaft.step_names))


def _turn_s(scene: DiagramScene) -> float:
    return 60.0 / scene.project.shaft.speed_rpm


def _written(look: DiagramStyle, scene: DiagramScene) -> list[tuple[float, float]]:
    """Return the stretches of the axis that carry texts: the home turn, and a wide veil."""
    axis = scene.frame.axis
    left, right = axis.home
    stretches = [(left, right)]
    if left - axis.left >= VEILED_LABELS * look.u:
        stretches.append((axis.left, left))
    if axis.right - right >= VEILED_LABELS * look.u:
        stretches.append((right, axis.right))
    return stretches


def _write_degrees(
    painter: QPainter, look: DiagramStyle, scene: DiagramScene, flags: Sequence[QRectF]
) -> None:
    frame, u = scene.frame, look.u
    bottom = frame.ruler_top(1)
    stretches = _written(look, scene)
    for tick in degree_ticks(frame.axis, u):
        if not tick.text or not any(low - 1.0 <= tick.x <= high + 1.0 for low, high in stretches):
            continue
        left = tick.x - look.width(tick.text.rstrip("°")) / 2 - 0.5
        left = min(max(left, frame.axis.left + 1.0), frame.axis.right - look.width(tick.text))
        area = QRectF(left - 2.0, 0.0, look.width(tick.text) + 4.0, bottom - 8.0 * u)
        if not any(flag.intersects(area) for flag in flags):
            look.text(painter, left, bottom - 7.0 * u, tick.text, look.color("muted"))


def _step_texts(look: DiagramStyle, scene: DiagramScene) -> list[RulerText]:
    frame = scene.frame
    baseline = look.baseline((frame.ruler_top(1) + frame.ruler_top(2)) / 2, STEP)
    texts: list[RulerText] = []
    measure = partial(look.width, font=STEP)
    for cell in _cells(scene):
        for low, high in _written(look, scene):
            part = cell.piece.clipped(low, high)
            text = step_text(cell, part.width, measure, 4.0 * look.u) if part else ""
            if part is None or not text:
                continue
            width = look.width(text, STEP)
            left = (part.left + part.right) / 2 - width / 2
            texts.append(RulerText(left, baseline, text, "text", STEP, _area(look, left, baseline, width)))
    return texts


def _area(look: DiagramStyle, left: float, baseline: float, width: float) -> QRectF:
    """Return the rectangle of a text, with a little room about it."""
    return QRectF(left - 1.0, baseline - 10.0 * look.u, width + 2.0, 12.5 * look.u)


def _second_texts(look: DiagramStyle, scene: DiagramScene) -> list[RulerText]:
    """Return the seconds right of their marks, and the full time left of the turn's end."""
    frame, u = scene.frame, look.u
    baseline = look.baseline((frame.ruler_top(2) + frame.ruler_top(3)) / 2 - 0.5)
    turn_s = _turn_s(scene)
    whole = f"{wording.plain(turn_s, 2)} s"
    stretches = _written(look, scene)
    wanted = [(x - 6.0 * u - look.width(whole), whole) for x in frame.axis.places(0.0)]
    wanted += [(tick.x + 6.0 * u, tick.text) for tick in second_ticks(frame.axis, turn_s, u) if tick.text]
    texts: list[RulerText] = []
    for left, text in wanted:
        area = _area(look, left, baseline, look.width(text))
        inside = any(low <= area.left() and area.right() <= high for low, high in stretches)
        if inside and not any(area.intersects(other.area) for other in texts):
            texts.append(RulerText(left, baseline, text, "muted", SMALL_FONT, area))
    return texts


def paint_rail(painter: QPainter, look: DiagramStyle, scene: DiagramScene) -> None:
    """Paint one sign for every finding, joined with a count where they stand close."""
    frame = scene.frame
    middle = (frame.ruler_top(3) + frame.ruler_top(4)) / 2
    for sign in scene.signs:
        painter.setOpacity(scene.strength(sign.things))
        look.sign(painter, sign.x, middle, sign.severity.value)
        if len(sign.things) > 1:
            font = Font(weight=600)
            left = sign.x + 8.0 * look.u
            look.text(
                painter,
                left,
                look.baseline(middle, font),
                f"{len(sign.things)}",
                look.color("text"),
                font=font,
            )
    painter.setOpacity(1.0)
