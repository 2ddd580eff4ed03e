"""Labels of blocks: names and lengths, above all lines, with a halo where a line would cross them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from PySide6.QtCore import QRectF
from PySide6.QtGui import QPainter

from app.timing.geometry.axis import Axis, Piece
from app.timing.geometry.labels import BASELINE, BlockText, Label, place_labels
from app.timing.geometry.shapes import Shape, own_letter
from app.timing.geometry.strips import Detail, Strip
from app.timing.layers.look import Font, Look
from app.timing.scene import Scene
from core import wording
from core.model import Lane

NAME = Font(weight=500)
STRONG_NAME = Font(weight=600)
LENGTH = Font()

VEILED_LABELS = 80.0
"""What lies under the veil is labelled too where the veil is at least this wide, px of the design."""

PADLOCK = 16.0
"""Room for a padlock before the name, px of the design."""


def label_parts(axis: Axis, shape: Shape, u: float) -> list[Piece]:
    """Give the parts of a block that may be labelled: its seen pieces, cut at the seams."""
    left, right = axis.home
    bounds = [(left, right)]
    if left - axis.left >= VEILED_LABELS * u:
        bounds.append((axis.left, left))
    if axis.right - right >= VEILED_LABELS * u:
        bounds.append((right, axis.right))
    parts = [
        piece.clipped(low, high)
        for piece in axis.pieces(shape.start_deg, shape.length_deg)
        for low, high in bounds
    ]
    return [part for part in parts if part is not None]


def name_font(shape: Shape) -> Font:
    """Give the font of a block's name: stronger on coloured blocks."""
    return STRONG_NAME if shape.level.rank else NAME


def labels_of(look: Look, axis: Axis, lane: Lane, shape: Shape, cursor_x: float | None) -> tuple[Label, ...]:
    """Place a block's labels. cursor_x: where the cursor stands, or None for no cursor."""
    font = name_font(shape)
    text = BlockText(
        shape.level.name, wording.degrees(shape.own_length_deg), own_letter(lane, shape.level.name)
    )

    def measure(words: str) -> float:
        return look.width(words, LENGTH if words == text.length else font)

    taken = PADLOCK * look.u if shape.locked else 0.0
    return place_labels(
        label_parts(axis, shape, look.u), text, measure, cursor_x=cursor_x, u=look.u, taken=taken
    )


@dataclass(frozen=True)
class Over:
    """What lies over blocks: the cursor, lines that would cross a label, and what covers it (the tag)."""

    cursor_x: float | None
    lines: Sequence[QRectF]
    cover: QRectF | None

    def within(self, strip: Strip) -> Over:
        """Leave out lines that do not reach into a strip."""
        near = [line for line in self.lines if line.top() < strip.bottom and line.bottom() > strip.top]
        return Over(self.cursor_x, near, self.cover)


def paint_labels(painter: QPainter, look: Look, scene: Scene, over: Over) -> None:
    """Paint the labels of all blocks seen."""
    for row in scene.frame.seen_rows():
        strip = scene.strip(row.lane_id) if row.lane_id is not None else None
        if row.lane_id is None or strip is None or strip.detail is Detail.THIN:
            continue
        lane = scene.lane(row.lane_id)
        crossed = over.within(strip)
        for shape in scene.shapes(row.lane_id):
            if not shape.is_stop:
                labels = labels_of(look, scene.frame.axis, lane, shape, over.cursor_x)
                _paint_on(painter, look, Body(shape, strip), labels, crossed)


@dataclass(frozen=True)
class Body:
    """A block in its strip."""

    shape: Shape
    strip: Strip


def _paint_on(painter: QPainter, look: Look, body: Body, labels: Sequence[Label], over: Over) -> None:
    """Paint the labels of one block."""
    style = look.level(body.shape.level.rank)
    top, height = body.strip.y(body.shape.level.output_mm), body.strip.body
    baseline = top + height / 2 + BASELINE * look.u
    for label in labels:
        area = QRectF(label.left - 1.5, top, label.width + 3.0, height)
        if over.cover is not None and over.cover.intersects(area):
            continue
        crossed = bool(style.pattern) or any(line.intersects(area) for line in over.lines)
        font = name_font(body.shape) if label.is_name else LENGTH
        halo = style.fill if crossed else None
        look.text(painter, label.left, baseline, label.text, style.text, font=font, halo=halo)
        if label.is_name and body.shape.locked:
            token = "on-level" if body.shape.level.rank else "l0-text"
            look.icon(painter, label.left - 9.0 * look.u, top + height / 2, "lock", token, size=12.0)
