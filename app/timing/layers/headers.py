"""Left of the strips: the corner with the rulers' names, group rows, and a header for every lane."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QPainter

from app.timing.geometry.rows import Row
from app.timing.geometry.shapes import Level, levels_of
from app.timing.geometry.strips import Detail, Strip
from app.timing.layers.look import Font, Look, half
from app.timing.scene import Scene
from core import wording
from core.model import Lane

NAME = Font(13.0, 500)
CHOSEN_NAME = Font(13.0, 600)
HEADING = Font(12.0, 600)
THIN_NAME = Font(11.0, 500)

CODE_X = 10.0
NAME_X = 34.0
LEVELS_RIGHT = 10.0
"""Places in a header, px of the design; LEVELS_RIGHT from its right end."""


def corner_buttons(scene: Scene) -> dict[str, QRectF]:
    """Give the places of the corner's buttons by the icon's name."""
    u = scene.frame.u
    top = scene.frame.ruler_top(1) + 2.0 * u
    return {"add-lane": QRectF(8.0 * u, top, 24.0 * u, 24.0 * u)}


def paint_corner(painter: QPainter, look: Look, scene: Scene) -> None:
    """Paint the corner: how many lanes, the button for a new one, the names of the rulers."""
    frame, u = scene.frame, look.u
    width = frame.axis.left
    painter.fillRect(QRectF(0.0, 0.0, width, frame.lanes_top), look.color("panel"))
    count = wording.counted(len(scene.project.lanes), "lane")
    look.text(
        painter,
        13.0 * u,
        look.baseline(frame.ruler_top(1) / 2 + u, HEADING),
        count,
        look.color("text"),
        font=HEADING,
    )
    for name, rect in corner_buttons(scene).items():
        look.icon(painter, rect.center().x(), rect.center().y(), name, "muted")
    for index, name in enumerate(("Degrees", "Steps", "Seconds", "Findings")):
        middle = (frame.ruler_top(index) + frame.ruler_top(index + 1)) / 2
        baseline = look.baseline(middle + (0.5 if index < 3 else 0.0))
        look.text_right(painter, width - LEVELS_RIGHT * u, baseline, name, look.color("muted"))
    painter.setPen(look.pen("line", 1.0 / u))
    for y in (0.5, frame.lanes_top - 0.5):
        painter.drawLine(QPointF(0.0, y), QPointF(width, y))


def paint_headers(painter: QPainter, look: Look, scene: Scene) -> None:
    """Paint group rows and headers of the rows seen."""
    for row in scene.frame.seen_rows():
        if row.lane_id is None:
            _paint_group(painter, look, scene, row)
        else:
            _paint_header(painter, look, scene, row, scene.lane(row.lane_id))


def _paint_group(painter: QPainter, look: Look, scene: Scene, row: Row) -> None:
    frame, u = scene.frame, look.u
    top, width = frame.top_of(row), frame.axis.left
    painter.fillRect(QRectF(0.0, top, frame.width, row.height), look.color("window"))
    middle = top + row.height / 2
    look.icon(
        painter, 13.0 * u, middle, "chevron-right" if row.closed else "chevron-down", "muted", size=14.0
    )
    baseline = look.baseline(middle, HEADING)
    name = look.shortened(row.group, HEADING, width - 100.0 * u)
    look.text(painter, 24.0 * u, baseline, name, look.color("text"), font=HEADING)
    left = 24.0 * u + look.width(name, HEADING) + 10.0 * u
    look.text(painter, left, baseline, wording.counted(len(row.lanes), "lane"), look.color("muted"))
    right = width - LEVELS_RIGHT * u
    if row.closed:
        _paint_group_signs(painter, look, scene, row)
    elif frame.is_wide:
        look.text_right(painter, right, baseline, "mm", look.color("muted"))
    if row.closed:
        painter.setPen(look.pen("line", 1.0 / u))
        painter.drawLine(
            QPointF(0.0, half(top + row.height - 1.0)), QPointF(frame.width, half(top + row.height - 1.0))
        )


def _paint_group_signs(painter: QPainter, look: Look, scene: Scene, row: Row) -> None:
    """Paint the worst severity of a closed group, and how many findings it has."""
    severity = scene.severity(*row.lanes)
    if severity is None:
        return
    right = scene.frame.axis.left - LEVELS_RIGHT * look.u
    middle = scene.frame.top_of(row) + row.height / 2
    keys = {finding.key for lane_id in row.lanes for finding in scene.by_lane.get(lane_id, ())}
    count = f"{len(keys)}"
    font = Font(11.0, 600)
    look.text_right(painter, right, look.baseline(middle, font), count, look.color("text"), font=font)
    look.sign(painter, right - look.width(count, font) - 11.0 * look.u, middle, severity.value, 12.0)


def _paint_header(painter: QPainter, look: Look, scene: Scene, row: Row, lane: Lane) -> None:
    frame, u = scene.frame, look.u
    top, width = frame.top_of(row), frame.axis.left
    selected = scene.selection.lane_id == lane.id
    hovered = scene.hover.lane_id == lane.id and scene.hover.in_header
    ground = "accent-soft" if selected else "hover" if hovered else "panel"
    area = QRectF(0.0, top, width, row.height)
    painter.fillRect(area, look.color(ground))
    if selected:
        painter.fillRect(QRectF(0.0, top, 3.0 * u, row.height - 1.0), look.color("accent"))
    painter.setPen(look.pen("line", 1.0 / u))
    y = half(top + row.height - 1.0)
    painter.drawLine(QPointF(0.0, y), QPointF(width, y))
    strip = scene.strip(lane.id)
    if strip is not None:
        _paint_header_text(painter, look, scene, lane, strip)
    if selected and scene.has_focus and not scene.selection.blocks:
        painter.setPen(look.pen("accent", 2.0))
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.drawRoundedRect(area.adjusted(3.0, 3.0, -3.0, -4.0), 2.0, 2.0)


def _paint_header_text(painter: QPainter, look: Look, scene: Scene, lane: Lane, strip: Strip) -> None:
    frame, u = scene.frame, look.u
    middle = strip.top + (strip.height - 1.0) / 2
    thin = strip.detail is Detail.THIN
    font = THIN_NAME if thin else CHOSEN_NAME if scene.selection.lane_id == lane.id else NAME
    right = frame.axis.left - LEVELS_RIGHT * u
    if frame.is_wide and strip.detail is Detail.FULL:
        right = _paint_level_names(painter, look, scene, strip, levels_of(lane)) - 2.0 * u
    if not thin:
        look.text(painter, CODE_X * u, look.baseline(middle), lane.code or "", look.color("muted"))
    severity = scene.severity(lane.id)
    locked = bool(lane.blocks) and all(block.locked for block in lane.blocks)
    signs = (18.0 if severity else 0.0) + (18.0 if locked else 0.0)
    name = look.shortened(lane.label, font, right - (NAME_X + signs) * u)
    look.text(painter, NAME_X * u, look.baseline(middle, font), name, look.color("text"), font=font)
    x = NAME_X * u + look.width(name, font) + 12.0 * u
    if severity is not None:
        look.sign(painter, x, middle, severity.value, 11.0 if thin else 13.0)
        x += 18.0 * u
    if locked:
        look.icon(painter, x, middle, "lock", "muted", size=14.0)


def _paint_level_names(
    painter: QPainter, look: Look, scene: Scene, strip: Strip, levels: Sequence[Level]
) -> float:
    """Write the levels at their heights, those that have room; gives the left end of the widest."""
    u = look.u
    width = scene.frame.axis.left
    right = width - LEVELS_RIGHT * u
    left = right
    last = strip.bottom + 20.0 * u
    muted = look.color("muted")
    for level in levels:
        y = strip.y(level.output_mm)
        painter.setPen(look.pen("edge", 1.0 / u))
        painter.drawLine(QPointF(width - 5.0 * u, half(y)), QPointF(width, half(y)))
        middle = max(y, strip.top + 8.5 * u)
        if last - middle < 12.0 * u:
            continue
        last = middle
        text = f"{look.shortened(level.name, Font(), 60.0 * u)} {wording.plain(level.output_mm, 2)}"
        look.text_right(painter, right, look.baseline(middle), text, muted)
        begin = right - look.width(text)
        if level.guarded:
            _paint_shield(painter, look, begin - 9.0 * u, middle)
            begin -= 17.0 * u
        left = min(left, begin)
    return left


def _paint_shield(painter: QPainter, look: Look, x: float, y: float) -> None:
    """Draw the shield of a guarded level with its middle at a place."""
    look.icon(painter, x, y, "prove", "muted", size=14.0)
