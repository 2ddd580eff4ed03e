"""The mouse in the diagram: what is under the pointer, which gesture a press begins, how it goes on.

While something is held near an end of the view, the view scrolls; the caller says how much time passed.
"""

from __future__ import annotations

from dataclasses import replace
from functools import partial

from PySide6.QtCore import QPointF, Qt

from shaftscore.base.angles import Arcs
from shaftscore.edits import BlockRef
from shaftscore.judge.checks.free_zones import copy_zones, free_zones, group_zones
from shaftscore.kinematics.course import LaneCycle
from shaftscore.make.drawing.timing.axis import edge_speed
from shaftscore.make.drawing.timing.cycle import shapes_in
from shaftscore.make.drawing.timing.frame import Region
from shaftscore.make.drawing.timing.hits import BlockHit, Grip, hit_block
from shaftscore.make.drawing.timing.shapes import highest_mm, nearest_level
from shaftscore.solution import Solution
from shaftscore_app.document.selection import Selection
from shaftscore_app.timing import steps
from shaftscore_app.timing.choosing import Choose
from shaftscore_app.timing.doing import Doing
from shaftscore_app.timing.drag import Drag, Press
from shaftscore_app.timing.gestures import (
    Gesture,
    HoldBlock,
    LookElsewhere,
    Pan,
    ResizeStrip,
    TurnCursor,
    Where,
)
from shaftscore_app.timing.host import Host
from shaftscore_app.timing.layers.cursor import cursor_places, flag_rect
from shaftscore_app.timing.layers.headers import header_buttons
from shaftscore_app.timing.layers.look import DiagramStyle
from shaftscore_app.timing.layers.overview import overview_axis
from shaftscore_app.timing.opening import OpenTime
from shaftscore_app.timing.reordering import MoveLane
from shaftscore_app.timing.scene import DiagramScene, Hover, Overlay
from shaftscore_app.timing.snap import marks


class Pointing:
    """Follows the mouse; `gesture` is what runs, `hover` what is under the pointer otherwise."""

    def __init__(self, host: Host, doing: Doing, look: DiagramStyle) -> None:
        """Work on the diagram `host`."""
        self._host = host
        self._doing = doing
        self._look = look
        self.gesture: Gesture | None = None
        self.hover = Hover()
        self.where = Where(0.0, 0.0)

    def hit(self, where: Where) -> tuple[str, BlockHit | None] | None:
        """Find the lane, and maybe the block, at a place among the strips."""
        frame, project = self._host.frame, self._host.document.project
        row = frame.row_at(where.y)
        if row is None or row.lane_id is None or frame.region(where.x, where.y) is not Region.STRIPS:
            return None
        lane = project.lane(row.lane_id)
        shapes = shapes_in(lane, LaneCycle.of(project, lane, self._host.document.cycle))
        strip = frame.strip(row, highest_mm(lane))
        return lane.id, hit_block(frame.axis, strip, shapes, where.x, where.y)

    def block_at(self, where: Where) -> BlockRef | None:
        """Find the block at a place."""
        found = self.hit(where)
        return BlockRef(found[0], found[1].shape.index) if found and found[1] else None

    # A gesture, from its begin to its end

    def press(self, where: Where, scene: DiagramScene) -> None:
        """Begin what a press of the left button means at a place."""
        self.where = where
        self.read_cursor()
        self.gesture = self._begin(where, scene)

    def pan(self, where: Where) -> None:
        """Begin to drag the view."""
        self.where = where
        self.read_cursor()
        self.gesture = Pan(self._host, where)

    def move(self, where: Where) -> None:
        """Let the gesture follow."""
        self.where = where
        if self.gesture is not None:
            self.gesture.move(where)

    def modify(self, *, alt: bool | None = None, shift: bool | None = None) -> None:
        """Let the gesture follow the modifiers: they are read while dragging, not at the press."""
        was = self.where
        self.where = Where(
            was.x, was.y, was.alt if alt is None else alt, was.shift if shift is None else shift, was.ctrl
        )
        if self.gesture is not None and self.where != was:
            self.gesture.move(self.where)

    def release(self) -> None:
        """Finish the gesture."""
        gesture, self.gesture = self.gesture, None
        if gesture is not None:
            gesture.release()

    def cancel(self) -> bool:
        """Put everything back; True if a gesture was running."""
        gesture, self.gesture = self.gesture, None
        if gesture is not None:
            gesture.cancel()
        return gesture is not None

    def lose(self) -> None:
        """Let go of what is held if its project was replaced from elsewhere (an undo, another file)."""
        gesture = self.gesture
        if isinstance(gesture, HoldBlock):
            held_of = gesture.drag.project
        elif isinstance(gesture, OpenTime | MoveLane):
            held_of = gesture.project
        else:
            return
        if self._host.document.committed is not held_of:
            self.gesture = None
            self._host.set_holding(None)
            self._host.set_overlay(Overlay())

    def edge_speeds(self) -> tuple[float, float]:
        """Return how fast the view scrolls for a held block, along the axis and the lanes, px a second."""
        frame, where, u = self._host.frame, self.where, self._look.u
        gesture = self.gesture
        if not (isinstance(gesture, HoldBlock) and gesture.is_dragging) and not (
            isinstance(gesture, Choose) and gesture.is_drawing
        ):
            return 0.0, 0.0
        axis = frame.axis
        across = 0.0 if axis.is_whole else edge_speed(where.x, axis.left, axis.right, u)
        along = edge_speed(where.y, frame.lanes_top, frame.lanes_bottom, u) if frame.greatest_scroll else 0.0
        return across, along

    def scroll(self, seconds: float) -> None:
        """Scroll for a held block near an end, as far as it goes in so many seconds."""
        across, along = self.edge_speeds()
        frame = self._host.frame
        if across:
            self._host.set_axis(frame.axis.scrolled(across * seconds))
        if along:
            self._host.set_scroll(frame.scroll + along * seconds)
        self.move(self.where)

    # What a press begins

    def _begin(self, where: Where, scene: DiagramScene) -> Gesture | None:
        region = scene.frame.region(where.x, where.y)
        if region is Region.DEGREES and where.ctrl:
            return OpenTime(self._host, where)
        if region in (Region.DEGREES, Region.STEPS, Region.SECONDS):
            return self._begin_cursor(where, scene)
        if region is Region.RAIL:
            self._choose_sign(where, scene)
        elif region is Region.HEADERS:
            return self._press_header(where)
        elif region is Region.STRIPS:
            return self._press_strip(where)
        elif region is Region.OVERVIEW:
            gesture = LookElsewhere(self._host, overview_axis(scene.frame.axis))
            gesture.move(where)
            return gesture
        return None

    def _begin_cursor(self, where: Where, scene: DiagramScene) -> Gesture:
        before = scene.cursor_deg
        for x in cursor_places(scene):
            if flag_rect(self._look, scene, x).contains(QPointF(where.x, where.y)):
                return TurnCursor(self._host, x - where.x, before)
        gesture = TurnCursor(self._host, 0.0, before)
        gesture.move(where)
        return gesture

    def _choose_sign(self, where: Where, scene: DiagramScene) -> None:
        """Choose the finding of the sign at a place; of a joined sign the next one at each click."""
        near = [sign for sign in scene.signs if abs(sign.x - where.x) <= 12.0 * self._look.u]
        if not near:
            return
        keys = [finding.key for finding in min(near, key=lambda sign: abs(sign.x - where.x)).things]
        now = scene.selection.finding
        self._host.document.select_finding(keys[(keys.index(now) + 1) % len(keys) if now in keys else 0])

    def _press_header(self, where: Where) -> Gesture | None:
        frame = self._host.frame
        border = frame.border_at(where.y)
        if border is not None:
            return ResizeStrip(self._host, border, where)
        row = frame.row_at(where.y)
        if row is not None and row.lane_id is None:
            self._host.set_group_closed(row.group, not row.closed)
        elif row is not None and row.lane_id is not None:
            return self._press_lane(row.lane_id, where)
        return None

    def _press_lane(self, lane_id: str, where: Where) -> Gesture | None:
        """Press a header: its buttons, else select the lane and hold it; Ctrl adds it, Shift all between.

        A button of one of several selected lanes acts on all of these.
        """
        document = self._host.document
        button = self._button(where)
        more = where.ctrl or where.shift
        if button is not None or not more:
            selected = document.selection.lanes and lane_id in document.selection.lane_ids
            if not (button is not None and selected):
                document.select_lane(lane_id)
        if button is not None:
            (self._host.isolate_lanes if button == "isolate" else self._host.hide_lanes)()
            return None
        if more:
            shown = self._host.frame.rows.lane_ids
            document.select(
                steps.lane_toggled(document.selection, lane_id)
                if where.ctrl
                else steps.lanes_up_to(shown, document.selection, lane_id)
            )
            return None
        return MoveLane(self._host, lane_id, where)

    def _button(self, where: Where) -> str | None:
        """Return the name of the header's button at a place."""
        frame, row = self._host.frame, self._host.frame.row_at(where.y)
        if row is None or row.lane_id is None or frame.region(where.x, where.y) is not Region.HEADERS:
            return None
        rects = header_buttons(frame.axis.left, row.height, self._look.u)
        place = QPointF(where.x, where.y - frame.top_of(row))
        return next((name for name, rect in rects.items() if rect.contains(place)), None)

    def _press_strip(self, where: Where) -> Gesture | None:
        found = self.hit(where)
        before = self._host.document.selection
        if found is None or found[1] is None:
            return Choose(self._host, where, before, self._host.frame.row_at(where.y))
        ref = BlockRef(found[0], found[1].shape.index)
        self._select(ref, where)
        return self._hold(ref, found[1], where, before)

    def _select(self, ref: BlockRef, where: Where) -> None:
        document = self._host.document
        if where.shift:
            lane_ids = self._host.frame.rows.lane_ids
            document.select(steps.up_to(document.project, lane_ids, document.selection, ref))
        elif ref not in document.selection.blocks:
            document.select(Selection.of_blocks((ref,), document.selection.finding))

    def _hold(self, ref: BlockRef, hit: BlockHit, where: Where, before: Selection) -> Gesture:
        document, frame = self._host.document, self._host.frame
        chosen = document.selection.blocks
        group = chosen if len(chosen) > 1 and ref in chosen else ()
        grip = Grip.WHOLE if where.ctrl else hit.grip
        mm = self._output(ref.lane_id, where)
        press = Press(ref, grip, frame.axis.deg(where.x), mm, group, copies=where.ctrl)
        attract = marks(
            document.committed, ref.lane_id, document.cursor_deg, frame.rows.lane_ids, document.cycle
        )
        zones = partial(_zones, document.report.solution, press)
        drag = Drag(document.committed, press, self._host.habits, attract, zones, frame.u, document.cycle)
        return HoldBlock(self._host, drag, hit.shape, before, where)

    def _output(self, lane_id: str, where: Where) -> float:
        """Return the output at a height of a lane's strip, mm."""
        frame = self._host.frame
        row = frame.rows.of_lane(lane_id)
        lane = self._host.document.committed.lane(lane_id)
        return frame.strip(row, highest_mm(lane)).output(where.y) if row else 0.0

    # Without a gesture

    def point(self, where: Where) -> Hover:
        """Return what is under the pointer, and remember it."""
        self.where = where
        frame = self._host.frame
        row, found = frame.row_at(where.y), self.hit(where)
        region = frame.region(where.x, where.y)
        block = found[1] if found else None
        button = self._button(where)
        x = where.x if region is Region.STRIPS else None
        self.hover = Hover(row.lane_id if row else None, block, region is Region.HEADERS, x, button)
        return self.hover

    def read_cursor(self) -> None:
        """Let the read-outs be those of the cursor until the pointer moves again."""
        self.hover = replace(self.hover, x=None)

    def shape(self) -> Qt.CursorShape:
        """Return the pointer's shape, which says what a drag would do."""
        frame, where, hit = self._host.frame, self.where, self.hover.block
        if self.hover.in_header and frame.border_at(where.y) is not None:
            return Qt.CursorShape.SplitVCursor
        if hit is not None and hit.grip is not Grip.WHOLE and not hit.shape.locked:
            return Qt.CursorShape.SizeHorCursor
        return Qt.CursorShape.ArrowCursor

    def add_at(self, where: Where) -> None:
        """Add a block at an empty place: at the nearest level, of the lane's last length."""
        found = self.hit(where)
        if found is None or found[1] is not None:
            return
        lane = self._host.document.committed.lane(found[0])
        frame = self._host.frame
        row = frame.rows.of_lane(lane.id)
        if row is None or not lane.levels:
            return
        strip = frame.strip(row, highest_mm(lane))
        level = nearest_level(lane, strip.output(where.y - strip.body / 2)).name
        document = self._host.document
        own = LaneCycle.of(document.committed, lane, document.cycle).own(frame.axis.deg(where.x))
        self._doing.add(lane.id, own, level, fine=where.alt)

    def select_for_menu(self, where: Where) -> None:
        """Select what a menu is asked for."""
        document = self._host.document
        ref = self.block_at(where)
        row = self._host.frame.row_at(where.y)
        if ref is not None and ref not in document.selection.blocks:
            document.select_blocks(ref)
        elif ref is None and row is not None and row.lane_id not in (None, *document.selection.lanes):
            document.select_lane(row.lane_id)


def _zones(solution: Solution, press: Press, level: str) -> Arcs:
    """Return where the start of what is held could stand at a level without any finding, own angles."""
    if press.is_single:
        return free_zones(solution, press.ref, level)
    lane = solution.project.lane(press.ref.lane_id)
    block = lane.blocks[press.ref.index]
    turns, start = solution.project.rate_of(lane), block.start_deg
    ranks = 0 if press.copies else steps.ranks_between(lane, block.level, level)
    changed = steps.change_levels(solution.project, press.refs, ranks, stay=False) if ranks else None
    if press.copies:
        ways = copy_zones(solution, press.refs)
    elif changed is None:
        ways = group_zones(solution, press.refs)
    else:
        ways = group_zones(solution, changed.selection, changed.project)
    return Arcs.of([(start + begin * turns, length * turns) for begin, length in ways.spans])
