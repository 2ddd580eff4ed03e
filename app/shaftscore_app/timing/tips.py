"""Tooltips of the diagram: what a label has no room for, and what a sign means."""

from __future__ import annotations

from shaftscore.base import wording
from shaftscore.base.angles import TURN, wrap
from shaftscore.judge.findings import words
from shaftscore.make.drawing.timing.frame import Region
from shaftscore.make.drawing.timing.hits import hit_block
from shaftscore.make.drawing.timing.shapes import BlockShape
from shaftscore_app.document.words import lane_name
from shaftscore_app.timing.layers.headers import corner_buttons
from shaftscore_app.timing.layers.look import DiagramStyle
from shaftscore_app.timing.scene import DiagramScene

BUTTONS = {
    "add-lane": "New lane (Ctrl+Shift+N): adds a lane below the selected one",
    "hide": "Show all lanes (Shift+H): draws the hidden ones again",
}
"""What the corner's buttons do."""

HEADER_BUTTONS = {
    "isolate": "Isolate (I): draws this lane only; findings and export mean the whole machine",
    "hide": "Hide (H): leaves this lane out of the drawing; findings and export mean the whole machine",
}
"""What a header's buttons do."""


def tip_at(scene: DiagramScene, look: DiagramStyle, x: float, y: float) -> str:
    """Return the tooltip at a place; empty where there is none."""
    region = scene.frame.region(x, y)
    if region is Region.RAIL:
        return _sign_tip(scene, look, x)
    if region is Region.CORNER:
        places = corner_buttons(scene)
        return next((BUTTONS[name] for name, rect in places.items() if rect.contains(x, y)), "")
    row = scene.frame.row_at(y)
    return "" if row is None or row.lane_id is None else _row_tip(scene, row.lane_id, x, y)


def _row_tip(scene: DiagramScene, lane_id: str, x: float, y: float) -> str:
    """Return the tooltip in the row of a lane."""
    region = scene.frame.region(x, y)
    if region is Region.HEADERS:
        button = scene.hover.button
        return HEADER_BUTTONS[button] if button is not None else _lane_tip(scene, lane_id)
    strip = scene.strip(lane_id)
    if region is Region.STRIPS and strip is not None:
        hit = hit_block(scene.frame.axis, strip, scene.shapes(lane_id), x, y)
        return _block_tip(scene, lane_id, hit.shape) if hit else ""
    return ""


def _sign_tip(scene: DiagramScene, look: DiagramStyle, x: float) -> str:
    near = [sign for sign in scene.signs if abs(sign.x - x) <= 12.0 * look.u]
    lines = []
    for sign in near:
        for finding in sign.things:
            said = words(finding, scene.project)
            lines.append(f"{said.title}, {said.lanes}. {said.what}")
    return "\n".join(lines)


def _lane_tip(scene: DiagramScene, lane_id: str) -> str:
    lane = scene.lane(lane_id)
    lines = [lane_name(lane)]
    for finding in scene.by_lane.get(lane_id, ()):
        said = words(finding, scene.project)
        lines.append(f"{said.title}. {said.what}")
    return "\n".join(lines)


def _block_tip(scene: DiagramScene, lane_id: str, shape: BlockShape) -> str:
    block = scene.lane(lane_id).blocks[shape.index]
    name = f"{scene.lane(lane_id).label}, {shape.level.name} {wording.millimetres(shape.level.output_mm)}"
    if shape.is_stop:
        return f"{name}\nmomentary stop at {wording.degrees(block.start_deg)}"
    end = block.end_deg if block.end_deg == TURN else wrap(block.end_deg)
    place = f"{wording.degrees(block.start_deg)} to {wording.degrees(end)}"
    return f"{name}\n{place}, {wording.degrees(shape.own_length_deg)} long" + (
        ", locked" if shape.locked else ""
    )
