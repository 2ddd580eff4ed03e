"""Right of the strips: what every lane does at the cursor."""

from __future__ import annotations

from PySide6.QtCore import QPointF, QRectF
from PySide6.QtGui import QPainter

from app.timing.geometry.rows import Row
from app.timing.geometry.shapes import levels_of
from app.timing.geometry.strips import Detail, Strip
from app.timing.geometry.ticks import step_number
from app.timing.layers.look import Font, Look, half
from app.timing.scene import Scene
from core import wording
from core.angles import TURN, ahead, wrap
from core.model import Lane

INSET = 12.0
"""Distance of text from the column's left side, px of the design."""

OUTPUT = Font(12.0, 600)
ANGLE = Font(13.0, 600)

RISES, FALLS = "\u2197", "\u2198"
"""Arrows before the level that the lane moves to."""


def paint_readouts(painter: QPainter, look: Look, scene: Scene) -> None:
    """Paint the column of read-outs: the cursor's angle above, each lane's output below."""
    frame, u = scene.frame, look.u
    left, width = frame.axis.right, frame.width - frame.axis.right
    painter.fillRect(QRectF(left, 0.0, width, frame.lanes_top), look.color("panel"))
    _paint_cursor(painter, look, scene, left + INSET * u)
    for row in frame.seen_rows():
        if row.lane_id is not None:
            _paint_row(painter, look, scene, row, scene.lane(row.lane_id))
    painter.setPen(look.pen("line", 1.0 / u))
    for y in (0.5, frame.lanes_top - 0.5):
        painter.drawLine(QPointF(left, y), QPointF(frame.width, y))


def _paint_cursor(painter: QPainter, look: Look, scene: Scene, x: float) -> None:
    frame = scene.frame
    shaft = scene.project.shaft
    deg = scene.cursor_deg
    number = wording.number(step_number(shaft.step_starts_deg, deg), 2)
    seconds = wording.number(deg / TURN * 60.0 / shaft.speed_rpm, 2)
    rows = (
        ("At the cursor" if frame.is_wide else "Cursor", "muted", Font()),
        (wording.degrees(deg), "accent", ANGLE),
        (f"step {number}", "muted", Font()),
        (f"{seconds} s", "muted", Font()),
    )
    for index, (text, token, font) in enumerate(rows):
        middle = (frame.ruler_top(index) + frame.ruler_top(index + 1)) / 2
        shift = 1.0 if index < 3 else 0.0
        look.text(painter, x, look.baseline(middle + shift, font), text, look.color(token), font=font)


def _paint_row(painter: QPainter, look: Look, scene: Scene, row: Row, lane: Lane) -> None:
    frame, u = scene.frame, look.u
    top, left = frame.top_of(row), frame.axis.right
    painter.fillRect(QRectF(left, top, frame.width - left, row.height), look.color("panel"))
    painter.setPen(look.pen("line", 1.0 / u))
    y = half(top + row.height - 1.0)
    painter.drawLine(QPointF(left, y), QPointF(frame.width, y))
    strip = scene.strip(lane.id)
    if strip is None or strip.detail is Detail.THIN:
        return
    _paint_values(painter, look, scene, lane, strip)


def _paint_values(painter: QPainter, look: Look, scene: Scene, lane: Lane, strip: Strip) -> None:
    output = scene.output(lane.id, scene.cursor_deg)
    if output is None:
        return
    u = look.u
    x = scene.frame.axis.right + INSET * u
    middle = strip.top + (strip.height - 1.0) / 2
    value = wording.millimetres(output[0])
    two = strip.detail is Detail.FULL and (scene.frame.is_wide or strip.height >= 44.0 * u)
    first = middle - 7.0 * u if two else middle
    look.text(painter, x, look.baseline(first, OUTPUT), value, look.color("text"), font=OUTPUT)
    if two:
        text = state_text(scene, lane, *output)
        text = look.shortened(text, Font(), scene.frame.width - x - 4.0 * u)
        look.text(painter, x, look.baseline(middle + 8.5 * u), text, look.color("muted"))


def state_text(scene: Scene, lane: Lane, output_mm: float, slope: float) -> str:
    """Say the level at which the lane is, else an arrow and the level that it moves to."""
    at = [level for level in levels_of(lane) if abs(level.output_mm - output_mm) <= lane.band]
    if at and (abs(slope) < 1e-9 or _rests(scene, lane)):
        return min(at, key=lambda level: abs(level.output_mm - output_mm)).name
    to = next_level(scene, lane)
    if to is None:
        return at[0].name if at else ""
    return f"{RISES if slope > 0 else FALLS} {to}"


def _rests(scene: Scene, lane: Lane) -> bool:
    """Tell whether a block of the lane holds at the cursor."""
    own = wrap(scene.cursor_deg * scene.turns(lane.id))
    return any(ahead(block.start_deg, own) <= block.length_deg for block in lane.blocks)


def next_level(scene: Scene, lane: Lane) -> str | None:
    """Give the level of the block that begins next after the cursor; None without blocks."""
    own = wrap(scene.cursor_deg * scene.turns(lane.id))
    following = min(lane.blocks, key=lambda block: ahead(own, block.start_deg), default=None)
    return following.level if following is not None else None
