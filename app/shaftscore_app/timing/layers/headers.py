"""Left of the strips: the corner with the rulers' names, group rows, and a header for every lane."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QPainter

from shaftscore.base import wording
from shaftscore.judge.findings import Severity
from shaftscore.make.drawing.timing.labels import with_room
from shaftscore.make.drawing.timing.rows import DiagramRow
from shaftscore.make.drawing.timing.shapes import Level, levels_of
from shaftscore.make.drawing.timing.strips import Detail, Strip
from shaftscore.model import Lane
from shaftscore_app.timing.layers.look import SMALL_FONT, DiagramStyle, Font, half
from shaftscore_app.timing.scene import DiagramScene

NAME = Font(13.0, 500)
CHOSEN_NAME = Font(13.0, 600)
HEADING = Font(12.0, 600)
THIN_NAME = Font(11.0, 500)

CODE_X = 10.0
NAME_X = 34.0
LEVELS_RIGHT = 10.0
SIGN = 16.0
"""Places in a header, px of the design; LEVELS_RIGHT from its right end; SIGN: room for a sign."""

LINE, BESIDE, EDGE_ROOM = 11.0, 12.5, 7.5
"""Least distance of two level names, of one from the lane's name, and of one from the strip's edges, px."""


def corner_buttons(scene: DiagramScene) -> dict[str, QRectF]:
    """Return the places of the corner's buttons by the icon's name; "hide" brings hidden lanes back."""
    u = scene.frame.u
    top = scene.frame.ruler_top(1) + 2.0 * u
    places = {"add-lane": QRectF(8.0 * u, top, 24.0 * u, 24.0 * u)}
    if scene.hidden:
        places["hide"] = QRectF(36.0 * u, top, 24.0 * u, 24.0 * u)
    return places


def header_buttons(width: float, height: float, u: float) -> dict[str, QRectF]:
    """Return the places of a header's buttons by the icon's name; none in a strip too low for them."""
    if height < 24.0 * u:
        return {}
    top = (height - 1.0 - 24.0 * u) / 2
    return {
        "isolate": QRectF(width - 56.0 * u, top, 24.0 * u, 24.0 * u),
        "hide": QRectF(width - 30.0 * u, top, 24.0 * u, 24.0 * u),
    }


def paint_corner(painter: QPainter, look: DiagramStyle, scene: DiagramScene) -> None:
    """Paint the corner: how many lanes, the button for a new one, the names of the rulers."""
    frame, u = scene.frame, look.u
    width = frame.axis.left
    painter.fillRect(QRectF(0.0, 0.0, width, frame.lanes_top), look.color("panel"))
    number = len(scene.project.lanes)
    count = wording.counted(number, "lane")
    if scene.hidden:
        count = f"{number - scene.hidden} of {count if frame.is_wide else number}"
    look.text(
        painter,
        13.0 * u,
        look.baseline(frame.ruler_top(1) / 2 + u, HEADING),
        count,
        look.color("text"),
        font=HEADING,
    )
    for name, rect in corner_buttons(scene).items():
        shade = "accent" if name == "hide" else "muted"
        look.icon(painter, rect.center().x(), rect.center().y(), name, shade)
    for index, name in enumerate(("Degrees", "Steps", "Seconds", "Findings")):
        middle = (frame.ruler_top(index) + frame.ruler_top(index + 1)) / 2
        baseline = look.baseline(middle + (0.5 if index < 3 else 0.0))
        look.text_right(painter, width - LEVELS_RIGHT * u, baseline, name, look.color("muted"))
    painter.setPen(look.pen("line", 1.0 / u))
    for y in (0.5, frame.lanes_top - 0.5):
        painter.drawLine(QPointF(0.0, y), QPointF(width, y))


def paint_group(painter: QPainter, look: DiagramStyle, scene: DiagramScene, row: DiagramRow) -> None:
    """Paint the row of a group, over the whole width."""
    frame, u = scene.frame, look.u
    top, width = frame.top_of(row), frame.axis.left
    painter.fillRect(QRectF(0.0, top, frame.width, row.height), look.color("window"))
    middle = top + row.height / 2
    chevron = "chevron-right" if row.closed else "chevron-down"
    look.icon(painter, 13.0 * u, middle, chevron, "muted", size=14.0)
    baseline = look.baseline(middle, HEADING)
    count = wording.counted(len(row.lanes), "lane")
    right = 76.0 if row.closed else 66.0 if frame.is_wide else 40.0  # signs, "mm", or nothing
    name = look.shortened(row.group, HEADING, width - look.width(count) - right * u)
    look.text(painter, 24.0 * u, baseline, name, look.color("text"), font=HEADING)
    left = 24.0 * u + look.width(name, HEADING) + 10.0 * u
    look.text(painter, left, baseline, count, look.color("muted"))
    if row.closed:
        _paint_group_signs(painter, look, scene, row)
        y = half(top + row.height - 1.0)
        painter.setPen(look.pen("line", 1.0 / u))
        painter.drawLine(QPointF(0.0, y), QPointF(frame.width, y))
    elif frame.is_wide:
        look.text_right(painter, width - LEVELS_RIGHT * u, baseline, "mm", look.color("muted"))


def _paint_group_signs(painter: QPainter, look: DiagramStyle, scene: DiagramScene, row: DiagramRow) -> None:
    """Paint the worst severity of a closed group, and how many findings it has."""
    severity = scene.severity(*row.lanes)
    if severity is None:
        return
    right = scene.frame.axis.left - LEVELS_RIGHT * look.u
    middle = scene.frame.top_of(row) + row.height / 2
    findings = {finding.key: finding for lane_id in row.lanes for finding in scene.by_lane.get(lane_id, ())}
    count = f"{len(findings)}"
    font = Font(11.0, 600)
    painter.setOpacity(scene.strength(findings.values()))
    look.text_right(painter, right, look.baseline(middle, font), count, look.color("text"), font=font)
    look.sign(painter, right - look.width(count, font) - 11.0 * look.u, middle, severity.value, 12.0)
    painter.setOpacity(1.0)


@dataclass(frozen=True)
class Header:
    """What a lane's header shows, apart from the lane itself; the strip stands at top 0.

    levels: of the lane, lowest first. strength: of the sign, 0 to 1. button: the button under the pointer.
    is_wide: whether the header has room for level names beside the lane's.
    """

    strip: Strip
    width: float
    levels: tuple[Level, ...]
    selected: bool
    hovered: bool
    focused: bool
    severity: Severity | None
    strength: float = 1.0
    button: str | None = None
    is_wide: bool = False


def header_of(scene: DiagramScene, lane_id: str) -> Header:
    """Return what a lane's header shows."""
    strip, selection, hover = scene.strip(lane_id), scene.selection, scene.hover
    assert strip is not None
    selected = lane_id in (selection.lane_id, *selection.lanes)
    return Header(
        replace(strip, top=0.0),
        scene.frame.axis.left,
        levels_of(scene.named(lane_id)),
        selected,
        hover.in_header and hover.lane_id == lane_id,
        selection.lane_id == lane_id and scene.focus_by_keys and not selection.blocks,
        scene.severity(lane_id),
        scene.strength(scene.by_lane.get(lane_id, ())),
        hover.button if hover.lane_id == lane_id else None,
        scene.frame.is_wide,
    )


def paint_header(painter: QPainter, look: DiagramStyle, lane: Lane, header: Header) -> None:
    """Paint a lane's header at the origin."""
    u, width, height = look.u, header.width, header.strip.height
    ground = "accent-soft" if header.selected else "hover" if header.hovered else "panel"
    painter.fillRect(QRectF(0.0, 0.0, width, height), look.color(ground))
    if header.selected:
        painter.fillRect(QRectF(0.0, 0.0, 3.0 * u, height - 1.0), look.color("accent"))
    painter.setPen(look.pen("line", 1.0 / u))
    painter.drawLine(QPointF(0.0, half(height - 1.0)), QPointF(width, half(height - 1.0)))
    _paint_text(painter, look, lane, header)
    if header.focused:
        painter.setPen(look.pen("accent", 2.0))
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.drawRoundedRect(QRectF(3.0, 3.0, width - 6.0, height - 7.0), 2.0, 2.0)


def _paint_text(painter: QPainter, look: DiagramStyle, lane: Lane, header: Header) -> None:
    u, strip = look.u, header.strip
    middle = (strip.height - 1.0) / 2
    thin = strip.detail is Detail.THIN
    font = THIN_NAME if thin else CHOSEN_NAME if header.selected else NAME
    right = header.width - LEVELS_RIGHT * u
    buttons = header_buttons(header.width, strip.height, u) if header.hovered else {}
    if buttons:
        right = buttons["isolate"].left()
        _paint_buttons(painter, look, header, buttons)
    elif header.levels and not thin:
        right = _paint_level_names(painter, look, lane, header) - 2.0 * u
    if not thin:
        look.text(painter, CODE_X * u, look.baseline(middle), lane.code or "", look.color("muted"))
    locked = bool(lane.blocks) and all(block.locked for block in lane.blocks)
    signs = SIGN * ((header.severity is not None) + locked)
    name = look.shortened(lane.label, font, right - (NAME_X + signs) * u)
    look.text(painter, NAME_X * u, look.baseline(middle, font), name, look.color("text"), font=font)
    x = NAME_X * u + look.width(name, font) + 12.0 * u
    if thin and not buttons:
        _paint_level_list(painter, look, header, x + signs * u)
    if header.severity is not None:
        painter.setOpacity(header.strength)
        look.sign(painter, x, middle, header.severity.value, 11.0 if thin else 13.0)
        painter.setOpacity(1.0)
        x += SIGN * u
    if locked:
        look.icon(painter, x, middle, "lock", "muted", size=14.0)


def _paint_buttons(
    painter: QPainter, look: DiagramStyle, header: Header, places: Mapping[str, QRectF]
) -> None:
    """Paint the header's buttons, shown while the pointer is over it."""
    for name, rect in places.items():
        chosen = header.button == name
        if chosen:
            painter.setPen(Qt.PenStyle.NoPen)
            painter.setBrush(look.color("accent-soft"))
            painter.drawRoundedRect(rect, 5.0 * look.u, 5.0 * look.u)
        look.icon(painter, rect.center().x(), rect.center().y(), name, "accent" if chosen else "muted")


def _paint_level_names(painter: QPainter, look: DiagramStyle, lane: Lane, header: Header) -> float:
    """Write the levels at their heights, those that have room; returns where the lane's name has to end."""
    u, strip, width, levels = look.u, header.strip, header.width, header.levels
    right, middle = width - LEVELS_RIGHT * u, (strip.height - 1.0) / 2
    left = right
    middles = level_middles([strip.y(level.output_mm) for level in levels], strip.height, u)
    name_end = (NAME_X + SIGN * (header.severity is not None)) * u + look.width(lane.label, NAME)
    for index in with_room(middles, LINE * u):
        text_left = right - look.width(_level_text(look, levels[index])) - SIGN * u * levels[index].guarded
        beside = abs(middles[index] - middle) < BESIDE * u
        if beside and not header.is_wide and text_left < name_end + 6.0 * u:
            continue  # the name of the lane comes first where there is room for one of them
        begin = _write_level(painter, look, levels[index], right, middles[index])
        left = min(left, begin) if beside or header.is_wide else left
    for level in levels:
        y = half(strip.y(level.output_mm))
        painter.setPen(look.pen("edge", 1.0 / u))
        painter.drawLine(QPointF(width - 5.0 * u, y), QPointF(width, y))
    return left


def level_middles(ys: Sequence[float], height: float, u: float) -> list[float]:
    """Return where levels are written, px: at their heights, but within the strip, lowest and highest apart.

    ys: heights of the levels, lowest first, px from above; height: of the strip.
    """
    low, high = height - 1.0 - EDGE_ROOM * u, EDGE_ROOM * u
    middles = [min(max(y, high), low) for y in ys]
    if len(middles) > 1 and middles[0] - middles[-1] < LINE * u <= low - high:
        middles[0], middles[-1] = low, high
    return middles


def _paint_level_list(painter: QPainter, look: DiagramStyle, header: Header, left: float) -> None:
    """Write the names of all levels in a row, lowest first, where they have room beside the lane's."""
    u, text = look.u, " · ".join(level.name for level in header.levels)
    right = header.width - LEVELS_RIGHT * u
    if text and right - look.width(text, THIN_NAME) > left + 6.0 * u:
        baseline = look.baseline((header.strip.height - 1.0) / 2, THIN_NAME)
        look.text_right(painter, right, baseline, text, look.color("muted"), font=THIN_NAME)


def _level_text(look: DiagramStyle, level: Level) -> str:
    return f"{look.shortened(level.name, SMALL_FONT, 60.0 * look.u)} {wording.plain(level.output_mm, 2)}"


def _write_level(painter: QPainter, look: DiagramStyle, level: Level, right: float, middle: float) -> float:
    """Write a level with its output, and a shield before a guarded one; gives its left end."""
    u = look.u
    text = _level_text(look, level)
    look.text_right(painter, right, look.baseline(middle), text, look.color("muted"))
    begin = right - look.width(text)
    if not level.guarded:
        return begin
    _paint_shield(painter, look, begin - 8.0 * u, middle)
    return begin - 15.0 * u


def _paint_shield(painter: QPainter, look: DiagramStyle, x: float, y: float) -> None:
    """Draw the shield of a guarded level with its middle at a place."""
    look.icon(painter, x, y, "prove", "muted", size=14.0)
