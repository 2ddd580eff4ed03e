"""Labels of blocks: names and lengths, above all lines, with a halo where a line would cross them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from PySide6.QtCore import QRectF
from PySide6.QtGui import QPainter

from shaftscore.base import wording
from shaftscore.make.drawing.timing.axis import Axis
from shaftscore.make.drawing.timing.labels import (
    BASELINE,
    LEAST_LABELLED,
    PADLOCK,
    BlockText,
    Label,
    label_parts,
    place_labels,
)
from shaftscore.make.drawing.timing.shapes import BlockShape, own_letter
from shaftscore.make.drawing.timing.strips import Strip
from shaftscore.model import Lane
from shaftscore_app.timing.layers.look import DiagramStyle, Font
from shaftscore_app.timing.scene import DiagramScene

NAME = Font(weight=500)
STRONG_NAME = Font(weight=600)
LENGTH = Font()


def name_font(shape: BlockShape) -> Font:
    """Return the font of a block's name: stronger on coloured blocks."""
    return STRONG_NAME if shape.level.rank else NAME


@dataclass(frozen=True)
class PlacedLabel:
    """A label of a block."""

    shape: BlockShape
    label: Label


@dataclass(frozen=True)
class Over:
    """What lies over the blocks of a lane: the cursor, stretches that other lines cover, and the drag tag."""

    cursor_x: float | None = None
    spans: Sequence[tuple[float, float]] = ()
    cover: QRectF | None = None

    def crosses(self, left: float, right: float) -> bool:
        """Return whether a line runs through a stretch."""
        return any(begin < right and left < end for begin, end in self.spans)


CALM = Over()
"""Nothing lies over the blocks."""

AROUND = 3.0
"""Room about a label that lines keep free of, px of the design."""


def place_all(
    look: DiagramStyle, scene: DiagramScene, lane_id: str, cursor_x: float | None
) -> tuple[PlacedLabel, ...]:
    """Place the labels of all blocks of a lane."""
    lane, axis = scene.lane(lane_id), scene.frame.axis
    return tuple(
        PlacedLabel(shape, label)
        for shape in scene.shapes(lane_id)
        if not shape.is_stop and axis.px(shape.length_deg) >= LEAST_LABELLED * look.u
        for label in labels_of(look, axis, lane, shape, cursor_x)
    )


def labels_of(
    look: DiagramStyle, axis: Axis, lane: Lane, shape: BlockShape, cursor_x: float | None
) -> tuple[Label, ...]:
    """Place a block's labels. cursor_x: where the cursor stands, or None for no cursor."""
    parts = label_parts(axis, shape, look.u)
    if not parts:
        return ()
    font = name_font(shape)
    length = wording.degrees(shape.own_length_deg)
    text = BlockText(shape.level.name, length, own_letter(lane, shape.level.name))

    def measure(words: str) -> float:
        return look.width(words, LENGTH if words == length else font)

    taken = PADLOCK * look.u if shape.locked else 0.0
    return place_labels(parts, text, measure, cursor_x=cursor_x, u=look.u, taken=taken)


def is_calm(look: DiagramStyle, strip: Strip, placed: Sequence[PlacedLabel], over: Over) -> bool:
    """Return whether nothing touches any label of a lane."""
    around = AROUND * look.u
    cover = over.cover
    if cover is not None and cover.top() < strip.bottom and cover.bottom() > strip.top:
        return False
    spans = list(over.spans)
    if over.cursor_x is not None:
        spans.append((over.cursor_x, over.cursor_x))
    return not any(
        begin < made.label.right + around and made.label.begin - around < end
        for begin, end in spans
        for made in placed
    )


def paint_placed(
    painter: QPainter, look: DiagramStyle, strip: Strip, placed: Sequence[PlacedLabel], over: Over
) -> None:
    """Paint labels of a lane; those that the tag would touch are left out."""
    for made in placed:
        label, shape = made.label, made.shape
        top = strip.y(shape.level.output_mm)
        area = QRectF(label.begin - 1.5, top, label.lead + label.width + 3.0, strip.body)
        if over.cover is None or not over.cover.intersects(area):
            crossed = over.crosses(area.left(), area.right())
            _paint_label(painter, look, made, top + strip.body / 2, crossed)


def _paint_label(
    painter: QPainter, look: DiagramStyle, made: PlacedLabel, middle: float, crossed: bool
) -> None:
    label, shape = made.label, made.shape
    style = look.level(shape.level.rank)
    font = name_font(shape) if label.is_name else LENGTH
    halo = style.fill if crossed or style.pattern else None
    baseline = middle + BASELINE * look.u
    look.text(painter, label.left, baseline, label.text, style.text, font=font, halo=halo)
    if label.is_name and shape.locked:
        token = "on-level" if shape.level.rank else "l0-text"
        look.icon(painter, label.left - 9.0 * look.u, middle, "lock", token, size=12.0)
