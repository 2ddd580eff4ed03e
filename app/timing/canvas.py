"""The painting of a whole scene, with a kept picture for every lane.

A lane's picture is painted again only when something that it shows is another: the lane's record, its
solution (compared by identity), or its `LaneKey`. Everything else is painted over it every time.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QPainter, QPixmap

from app.timing.geometry.rows import Row
from app.timing.geometry.strips import Strip
from app.timing.layers.columns import column_rects, paint_chosen, paint_columns, paint_selected_state
from app.timing.layers.cursor import cursor_places, flag_rect, paint_cursor_line, paint_flag, paint_rings
from app.timing.layers.headers import paint_corner, paint_headers
from app.timing.layers.held import guide_flags, paint_guides, paint_held, paint_hold, paint_marked
from app.timing.layers.labels import Over, paint_labels
from app.timing.layers.lane import LaneKey, Zones, paint_lane, paint_seams
from app.timing.layers.look import Look
from app.timing.layers.overview import paint_overview
from app.timing.layers.readouts import paint_readouts
from app.timing.layers.rulers import paint_rail, paint_rulers
from app.timing.layers.tag import paint_tag, tag_rect
from app.timing.scene import Scene
from core.angles import TURN, Arcs
from core.edits import BlockRef
from core.model import Lane
from core.solution import LaneSolution


@dataclass
class _Kept:
    lane: Lane
    solution: LaneSolution | None
    key: LaneKey
    ratio: float
    picture: QPixmap

    def serves(self, lane: Lane, solution: LaneSolution | None, key: LaneKey, ratio: float) -> bool:
        same = self.lane is lane and self.solution is solution and self.ratio == ratio
        return same and self.key == key


class Canvas:
    """Paints scenes; `painted` counts the lane pictures that had to be painted anew."""

    def __init__(self, look: Look) -> None:
        """Begin without pictures."""
        self._look = look
        self._kept: dict[str, _Kept] = {}
        self.painted = 0

    def forget(self) -> None:
        """Drop all pictures: colours or sizes are others."""
        self._kept.clear()

    def paint(self, painter: QPainter, scene: Scene) -> None:
        """Paint a scene over the whole widget."""
        look, frame = self._look, scene.frame
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.fillRect(QRectF(0.0, 0.0, frame.width, frame.height), look.color("panel"))
        tag = tag_rect(look, scene)
        flags = [rect for rect, _, _ in guide_flags(look, scene)]
        flags += [flag_rect(look, scene, x) for x in cursor_places(scene)]
        with _clipped(painter, QRectF(0.0, frame.lanes_top, frame.width, frame.seen_height)):
            paint_headers(painter, look, scene)
            self._paint_strips(painter, scene)
        paint_readouts_clipped(painter, look, scene)
        texts = paint_rulers(painter, look, scene, flags)
        over = QRectF(frame.axis.left, 0.0, frame.axis.width, frame.lanes_bottom)
        lanes = QRectF(frame.axis.left, frame.lanes_top, frame.axis.width, frame.seen_height)
        with _clipped(painter, lanes):
            paint_columns(painter, look, scene)
            paint_selected_state(painter, look, scene)
            paint_chosen(painter, look, scene)
            paint_marked(painter, look, scene)
            paint_held(painter, look, scene)
        with _clipped(painter, over):
            paint_guides(painter, look, scene, texts)
            paint_cursor_line(painter, look, scene, texts)
            paint_rail(painter, look, scene)
        with _clipped(painter, lanes):
            places = cursor_places(scene)
            crossing = Over(places[0] if places else None, self._lines(scene), tag)
            paint_labels(painter, look, scene, crossing)
            paint_rings(painter, look, scene)
            paint_hold(painter, look, scene)
            paint_tag(painter, look, scene, tag)
        with _clipped(painter, over):
            paint_flag(painter, look, scene)
        paint_corner(painter, look, scene)
        paint_overview(painter, look, scene)
        self._paint_borders(painter, scene)

    def _paint_strips(self, painter: QPainter, scene: Scene) -> None:
        frame = scene.frame
        for row in frame.seen_rows():
            top = frame.top_of(row)
            if row.lane_id is None:
                paint_seams(painter, self._look, frame.axis, top, row.height)
                continue
            picture = self._picture(painter, scene, row)
            painter.drawPixmap(QPointF(frame.axis.left, top), picture)

    def _picture(self, painter: QPainter, scene: Scene, row: Row) -> QPixmap:
        assert row.lane_id is not None
        lane = scene.lane(row.lane_id)
        solution = scene.solution(row.lane_id)
        strip = scene.strip(row.lane_id)
        assert strip is not None
        ratio = painter.device().devicePixelRatioF()
        key = self._key(scene, lane, Strip(0.0, strip.height, strip.highest_mm, strip.u))
        kept = self._kept.get(lane.id)
        if kept is None or not kept.serves(lane, solution, key, ratio):
            kept = _Kept(lane, solution, key, ratio, self._painted(lane, solution, key, ratio))
            self._kept[lane.id] = kept
        return kept.picture

    def _painted(self, lane: Lane, solution: LaneSolution | None, key: LaneKey, ratio: float) -> QPixmap:
        self.painted += 1
        picture = QPixmap(math.ceil(key.axis.width * ratio), math.ceil(key.strip.height * ratio))
        picture.setDevicePixelRatio(ratio)
        painter = QPainter(picture)
        painter.translate(-key.axis.left, 0.0)
        paint_lane(painter, self._look, lane, solution, key)
        painter.end()
        return picture

    def _key(self, scene: Scene, lane: Lane, strip: Strip) -> LaneKey:
        holding = scene.holding if scene.holding and scene.holding.lane_id == lane.id else None
        marks = tuple(
            (subject.index, finding.severity.value)
            for finding in reversed(scene.by_lane.get(lane.id, ()))
            if finding.rule == "no-time"
            for subject in finding.subjects
            if isinstance(subject, BlockRef) and subject.lane_id == lane.id
        )
        return LaneKey(
            scene.frame.axis,
            strip,
            scene.turns(lane.id),
            scene.project.shaft.step_starts_deg,
            marks,
            holding.held.ref.index if holding else None,
            _zones_of(scene, lane),
        )

    def _lines(self, scene: Scene) -> list[QRectF]:
        """Give what crosses labels: columns and guides."""
        lines = [rect for finding in scene.report.findings for rect in column_rects(scene, finding)]
        frame = scene.frame
        for _, x, _ in guide_flags(self._look, scene):
            strip = scene.strip(scene.holding.lane_id) if scene.holding else None
            if strip is not None:
                lines.append(QRectF(x - 1.0, frame.lanes_top, 2.0, max(0.0, strip.top - frame.lanes_top)))
        return lines

    def _paint_borders(self, painter: QPainter, scene: Scene) -> None:
        frame = scene.frame
        painter.setPen(self._look.pen("line", 1.0 / self._look.u))
        for x in (frame.axis.left, frame.axis.right):
            painter.drawLine(QPointF(x + 0.5, 0.0), QPointF(x + 0.5, frame.strips_bottom))
        y = frame.lanes_bottom - 0.5
        if frame.strips_bottom >= frame.lanes_bottom:
            painter.drawLine(QPointF(0.0, y), QPointF(frame.width, y))


def paint_readouts_clipped(painter: QPainter, look: Look, scene: Scene) -> None:
    """Paint the read-outs within their column."""
    frame = scene.frame
    column = QRectF(frame.axis.right, 0.0, frame.width - frame.axis.right, frame.lanes_bottom)
    with _clipped(painter, column):
        paint_readouts(painter, look, scene)


def _zones_of(scene: Scene, lane: Lane) -> Zones | None:
    holding = scene.holding
    if holding is None or holding.lane_id != lane.id or holding.zones is None:
        return None
    turns = scene.turns(lane.id)
    shapes = [shape for shape in scene.shapes(lane.id) if shape.index == holding.held.ref.index]
    if holding.zones.is_full or not shapes:
        return None
    spans = [span for arc in holding.zones for span in arc.spans]
    copies = [
        ((start + TURN * copy) / turns, length / turns) for copy in range(turns) for start, length in spans
    ]
    starts = Arcs.of(copies)
    return Zones(starts, shapes[0].length_deg, shapes[0].level)


@contextmanager
def _clipped(painter: QPainter, rect: QRectF) -> Iterator[None]:
    """Paint within a rectangle."""
    painter.save()
    painter.setClipRect(rect, Qt.ClipOperation.IntersectClip)
    try:
        yield
    finally:
        painter.restore()
