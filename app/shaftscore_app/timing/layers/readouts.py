"""Right of the strips: what every lane does at the angle of the head, the pointer's or the cursor's."""

from __future__ import annotations

from dataclasses import dataclass

from PySide6.QtCore import QPointF, QRectF
from PySide6.QtGui import QPainter

from shaftscore.base import wording
from shaftscore.base.angles import TURN, ahead
from shaftscore.make.drawing.timing.shapes import levels_of
from shaftscore.make.drawing.timing.strips import Detail
from shaftscore.make.drawing.timing.ticks import step_number
from shaftscore.model import Lane
from shaftscore_app.timing.layers.look import SMALL_FONT, DiagramStyle, Font, half
from shaftscore_app.timing.scene import DiagramScene

INSET = 12.0
"""Distance of text from the column's left side, px of the design."""

OUTPUT = Font(12.0, 600)
ANGLE = Font(13.0, 600)

RISES, FALLS = "\u2197", "\u2198"
"""Arrows before the level that the lane moves to."""


def paint_readout_head(painter: QPainter, look: DiagramStyle, scene: DiagramScene) -> None:
    """Paint what is beside the rulers: the angle that is read out, its step and its time."""
    frame, u = scene.frame, look.u
    left = frame.axis.right
    painter.fillRect(QRectF(left, 0.0, frame.width - left, frame.lanes_top), look.color("panel"))
    _write_head(painter, look, scene, left + INSET * u)
    painter.setPen(look.pen("line", 1.0 / u))
    painter.drawLine(QPointF(left, frame.lanes_top - 0.5), QPointF(frame.width, frame.lanes_top - 0.5))


@dataclass(frozen=True)
class ReadoutHead:
    """What stands over the read-outs: whose angle it is, the angle, its step and its time in the turn."""

    whose: str
    angle: str
    step: str
    time: str
    is_cursor: bool


def readout_head(scene: DiagramScene) -> ReadoutHead:
    """Return the head of the read-outs."""
    shaft, deg = scene.project.shaft, scene.read_deg
    is_cursor = scene.pointed_deg is None
    name = "cursor" if is_cursor else "pointer"
    return ReadoutHead(
        whose=f"At the {name}" if scene.frame.is_wide else name.capitalize(),
        angle=wording.degrees(deg),
        step=f"step {wording.number(step_number(shaft.step_starts_deg, deg), 2)}",
        time=f"{wording.number(deg / TURN * 60.0 / shaft.speed_rpm, 2)} s",
        is_cursor=is_cursor,
    )


def _write_head(painter: QPainter, look: DiagramStyle, scene: DiagramScene, x: float) -> None:
    """Write the head, the cursor's angle in the cursor's colour."""
    frame, head = scene.frame, readout_head(scene)
    rows = (
        (head.whose, "muted", Font()),
        (head.angle, "accent" if head.is_cursor else "text", ANGLE),
        (head.step, "muted", Font()),
        (head.time, "muted", Font()),
    )
    for index, (text, token, font) in enumerate(rows):
        middle = (frame.ruler_top(index) + frame.ruler_top(index + 1)) / 2
        shift = 1.0 if index < 3 else 0.0
        look.text(painter, x, look.baseline(middle + shift, font), text, look.color(token), font=font)


@dataclass(frozen=True)
class Readout:
    """What is written beside a strip: one or two lines, in a column `width` by `height` px."""

    width: float
    height: float
    output: str = ""
    state: str = ""


def readout_of(scene: DiagramScene, lane_id: str) -> Readout:
    """Return a lane's read-out at the angle that the head names."""
    frame, lane, strip = scene.frame, scene.lane(lane_id), scene.strip(lane_id)
    width = frame.width - frame.axis.right
    assert strip is not None
    output = scene.read(lane_id) if strip.detail is not Detail.THIN else None
    if output is None:
        return Readout(width, strip.height)
    two = strip.detail is Detail.FULL and (frame.is_wide or strip.height >= 44.0 * frame.u)
    state = state_text(scene, lane, *output) if two else ""
    return Readout(width, strip.height, wording.millimetres(output[0]), state)


def paint_readout(painter: QPainter, look: DiagramStyle, readout: Readout) -> None:
    """Paint a read-out at the origin."""
    u, height = look.u, readout.height
    painter.fillRect(QRectF(0.0, 0.0, readout.width, height), look.color("panel"))
    painter.setPen(look.pen("line", 1.0 / u))
    painter.drawLine(QPointF(0.0, half(height - 1.0)), QPointF(readout.width, half(height - 1.0)))
    x, middle = INSET * u, (height - 1.0) / 2
    first = middle - 7.0 * u if readout.state else middle
    look.text(painter, x, look.baseline(first, OUTPUT), readout.output, look.color("text"), font=OUTPUT)
    state = look.shortened(readout.state, SMALL_FONT, readout.width - x - 4.0 * u)
    look.text(painter, x, look.baseline(middle + 8.5 * u), state, look.color("muted"))


def state_text(scene: DiagramScene, lane: Lane, output_mm: float, slope: float) -> str:
    """Write the level at which the lane is, else an arrow and the level that it moves to."""
    named = scene.named(lane.id)
    at = [level for level in levels_of(named) if abs(level.output_mm - output_mm) <= named.band]
    if at and (abs(slope) < 1e-9 or _rests(scene, lane)):
        return min(at, key=lambda level: abs(level.output_mm - output_mm)).name
    to = next_level(scene, lane)
    if to is None:
        return at[0].name if at else ""
    return f"{RISES if slope > 0 else FALLS} {to}"


def _rests(scene: DiagramScene, lane: Lane) -> bool:
    """Return whether a block of the lane holds at the angle of its read-out."""
    own = scene.program_deg(lane.id)
    blocks = scene.named(lane.id).blocks
    return any(ahead(block.start_deg, own) <= block.length_deg for block in blocks)


def next_level(scene: DiagramScene, lane: Lane) -> str | None:
    """Return the level of the block that begins next after the angle of its read-out; None without blocks."""
    own = scene.program_deg(lane.id)
    following = min(scene.named(lane.id).blocks, key=lambda block: ahead(own, block.start_deg), default=None)
    return following.level if following is not None else None
