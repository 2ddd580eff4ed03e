"""The painting of a whole scene, with kept pictures of every lane's strip, header and read-out.

A picture is painted again only when something that it shows is another. Everything that crosses lanes
is painted over the pictures every time; labels that nothing crosses are part of the strip's picture.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, replace
from functools import partial

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QPainter

from shaftscore.base.angles import TURN, Arcs, Span
from shaftscore.edits import BlockRef
from shaftscore.kinematics.course import LaneCycle
from shaftscore.make.drawing.timing.shapes import BlockShape, levels_of
from shaftscore.make.drawing.timing.strips import Detail, Strip
from shaftscore.model import Lane
from shaftscore_app.timing.layers.aside import paint_aside
from shaftscore_app.timing.layers.columns import paint_chosen, paint_columns, paint_selected_state
from shaftscore_app.timing.layers.cursor import (
    cursor_places,
    flag_rect,
    paint_cursor_line,
    paint_flag,
    paint_rings,
)
from shaftscore_app.timing.layers.ghosts import paint_ghosts
from shaftscore_app.timing.layers.headers import header_of, paint_corner, paint_group, paint_header
from shaftscore_app.timing.layers.held import guide_flags, paint_guides, paint_held, paint_hold, paint_marked
from shaftscore_app.timing.layers.labels import Over, PlacedLabel, is_calm, paint_placed, place_all
from shaftscore_app.timing.layers.lane import LaneKey, Zones, paint_lane, paint_seams
from shaftscore_app.timing.layers.look import DiagramStyle
from shaftscore_app.timing.layers.overlay import paint_drop, paint_overlay
from shaftscore_app.timing.layers.overview import paint_overview
from shaftscore_app.timing.layers.readouts import paint_readout, paint_readout_head, readout_of
from shaftscore_app.timing.layers.rulers import paint_rail, paint_rulers
from shaftscore_app.timing.layers.tag import paint_tag, tag_rect
from shaftscore_app.timing.scene import DiagramScene

LABELS = ("labels", "labels beside the cursor")
"""Kinds of the kept places of labels, which colours do not change."""


@dataclass(frozen=True)
class Made:
    """A picture of a lane: what it is made from (see `Kept`), where it goes, how it is painted."""

    kind: str
    lane_id: str
    objects: tuple[object, ...]
    key: object
    area: QRectF
    paint: Callable[[QPainter], None]


class Canvas:
    """Paints scenes; pictures stay in the scene's `Kept` under the kinds "strip", "header" and "readout"."""

    def __init__(self, look: DiagramStyle) -> None:
        """Paint in the colours and fonts of `look`."""
        self._look = look

    def paint(self, painter: QPainter, scene: DiagramScene) -> None:
        """Paint a scene over the whole widget."""
        look, frame = self._look, scene.frame
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.fillRect(QRectF(0.0, 0.0, frame.width, frame.height), look.color("panel"))
        places = cursor_places(scene)
        tag = tag_rect(look, scene)
        guides = guide_flags(look, scene)
        overs = self._overs(scene, places, [x for _, x, _ in guides], tag)
        flags = [rect for rect, _, _ in guides] + [flag_rect(look, scene, x) for x in places]
        lanes = QRectF(0.0, frame.lanes_top, frame.width, frame.seen_height)
        strips = QRectF(frame.axis.left, frame.lanes_top, frame.axis.width, frame.seen_height)
        over = QRectF(frame.axis.left, 0.0, frame.axis.width, frame.lanes_bottom)
        with clipped(painter, lanes):
            restless = self._paint_rows(painter, scene, overs)
        texts = paint_rulers(painter, look, scene, flags)
        with clipped(painter, strips):
            paint_columns(painter, look, scene)
            paint_selected_state(painter, look, scene)
            paint_chosen(painter, look, scene)
            paint_marked(painter, look, scene)
            paint_ghosts(painter, look, scene)
            paint_held(painter, look, scene)
        with clipped(painter, over):
            paint_guides(painter, look, scene, texts)
            paint_cursor_line(painter, look, scene, texts)
            paint_rail(painter, look, scene)
        with clipped(painter, strips):
            self._paint_labels(painter, scene, restless, overs)
        with clipped(painter, lanes):
            paint_aside(painter, look, scene)
        with clipped(painter, strips):
            paint_rings(painter, look, scene)
            paint_hold(painter, look, scene)
            paint_tag(painter, look, scene, tag)
        with clipped(painter, over):
            paint_overlay(painter, look, scene)
        with clipped(painter, lanes):
            paint_drop(painter, look, scene)
        with clipped(painter, over):
            paint_flag(painter, look, scene)
        paint_corner(painter, look, scene)
        paint_readout_head(painter, look, scene)
        paint_overview(painter, look, scene)
        self._paint_borders(painter, scene)
        self._paint_focus(painter, scene)

    def _overs(
        self, scene: DiagramScene, places: Sequence[float], guides: Sequence[float], tag: QRectF | None
    ) -> dict[str, Over]:
        """Return what lies over the blocks of each lane seen."""
        held = scene.strip(scene.holding.lane_id) if scene.holding else None
        cursor = places[0] if places else None
        found = {}
        for row in scene.frame.seen_rows():
            if row.lane_id is None:
                continue
            spans = scene.columns_over.get(row.lane_id, ())
            if held is not None and scene.frame.top_of(row) < held.top:
                spans = (*spans, *((x - 1.0, x + 1.0) for x in guides))
            found[row.lane_id] = Over(cursor, spans, tag)
        return found

    def _paint_rows(self, painter: QPainter, scene: DiagramScene, overs: Mapping[str, Over]) -> list[str]:
        """Paint headers, strips and read-outs; returns the lanes whose labels are still to be painted."""
        frame, restless = scene.frame, []
        for row in frame.seen_rows():
            top = frame.top_of(row)
            if row.lane_id is None:
                paint_group(painter, self._look, scene, row)
                paint_seams(painter, self._look, frame.axis, top, row.height)
                continue
            if not self._paint_strip(painter, scene, row.lane_id, overs[row.lane_id]):
                restless.append(row.lane_id)
            self._paint_header(painter, scene, row.lane_id)
            self._paint_readout(painter, scene, row.lane_id)
        return restless

    def _paint_strip(self, painter: QPainter, scene: DiagramScene, lane_id: str, over: Over) -> bool:
        """Paint a lane's strip; True if its labels are in it."""
        look, axis = self._look, scene.frame.axis
        lane, strip = scene.lane(lane_id), scene.strip(lane_id)
        assert strip is not None
        shapes, curve = scene.shapes(lane_id), scene.curve(lane_id)
        placed = self._placed(scene, lane_id, shapes, None)
        calm = lane_id not in scene.lifted and is_calm(look, strip, placed, over)
        key = self._key(scene, lane, replace(strip, top=0.0), placed if calm else ())

        def paint(inner: QPainter) -> None:
            inner.translate(-axis.left, 0.0)
            paint_lane(inner, look, shapes, curve, key)

        area = QRectF(axis.left, strip.top, axis.width, strip.height)
        self._picture(painter, scene, Made("strip", lane_id, (shapes, curve), key, area, paint))
        return calm

    def _placed(
        self, scene: DiagramScene, lane_id: str, shapes: tuple[BlockShape, ...], cursor_x: float | None
    ) -> tuple[PlacedLabel, ...]:
        strip = scene.strip(lane_id)
        if strip is None or strip.detail is Detail.THIN:
            return ()
        key = (scene.frame.axis, cursor_x, self._look.u)
        kind = LABELS[cursor_x is not None]
        make = partial(place_all, self._look, scene, lane_id, cursor_x)
        return scene.kept.get(kind, lane_id, (shapes,), key, make)

    def _paint_header(self, painter: QPainter, scene: DiagramScene, lane_id: str) -> None:
        look, lane, header = self._look, scene.lane(lane_id), header_of(scene, lane_id)

        def paint(inner: QPainter) -> None:
            paint_header(inner, look, lane, header)

        strip = scene.strip(lane_id)
        assert strip is not None
        area = QRectF(0.0, strip.top, header.width, strip.height)
        self._picture(painter, scene, Made("header", lane_id, (lane,), header, area, paint))

    def _paint_readout(self, painter: QPainter, scene: DiagramScene, lane_id: str) -> None:
        look, readout = self._look, readout_of(scene, lane_id)

        def paint(inner: QPainter) -> None:
            paint_readout(inner, look, readout)

        strip = scene.strip(lane_id)
        assert strip is not None
        area = QRectF(scene.frame.axis.right, strip.top, readout.width, readout.height)
        self._picture(painter, scene, Made("readout", lane_id, (), readout, area, paint))

    def _picture(self, painter: QPainter, scene: DiagramScene, made: Made) -> None:
        """Copy a kept picture to its place, painting it first where it is not there yet."""
        self._look.place(
            painter,
            scene.kept,
            name=(made.kind, made.lane_id),
            objects=made.objects,
            key=made.key,
            area=made.area,
            paint=made.paint,
        )

    def _paint_labels(
        self, painter: QPainter, scene: DiagramScene, lane_ids: Sequence[str], overs: Mapping[str, Over]
    ) -> None:
        """Paint the labels that something touches."""
        for lane_id in lane_ids:
            strip, over = scene.strip(lane_id), overs[lane_id]
            if strip is not None:
                placed = self._placed(scene, lane_id, scene.shapes(lane_id), over.cursor_x)
                paint_placed(painter, self._look, strip, placed, over)

    def _key(self, scene: DiagramScene, lane: Lane, strip: Strip, labels: tuple[PlacedLabel, ...]) -> LaneKey:
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
            levels_of(scene.named(lane.id)),
            scene.project.shaft.step_starts_deg,
            marks,
            holding.held.ref.index if holding else None,
            _zones_of(scene, lane),
            labels,
        )

    def _paint_focus(self, painter: QPainter, scene: DiagramScene) -> None:
        """Paint the focus that came by keys, where no lane shows it."""
        if scene.focus_by_keys and scene.selection.lane_id is None:
            painter.setPen(self._look.pen("accent", 2.0))
            painter.setBrush(Qt.BrushStyle.NoBrush)
            frame = scene.frame
            painter.drawRoundedRect(QRectF(1.0, 1.0, frame.width - 2.0, frame.height - 2.0), 2.0, 2.0)

    def _paint_borders(self, painter: QPainter, scene: DiagramScene) -> None:
        frame = scene.frame
        painter.setPen(self._look.pen("line", 1.0 / self._look.u))
        for x in (frame.axis.left, frame.axis.right):
            painter.drawLine(QPointF(x + 0.5, 0.0), QPointF(x + 0.5, frame.strips_bottom))
        y = frame.lanes_bottom - 0.5
        if frame.strips_bottom >= frame.lanes_bottom:
            painter.drawLine(QPointF(0.0, y), QPointF(frame.width, y))


def _zones_of(scene: DiagramScene, lane: Lane) -> Zones | None:
    holding = scene.holding
    if holding is None or holding.lane_id != lane.id or holding.held.zones is None:
        return None
    seen = scene.seen(lane.id)
    shapes = [shape for shape in scene.shapes(lane.id) if shape.index == holding.held.ref.index]
    if holding.held.zones.is_full or not shapes:
        return None
    spans = [span for arc in holding.held.zones for span in arc.spans]
    starts = Arcs.of(_on_axis(seen, spans))
    return Zones(starts, shapes[0].length_deg, shapes[0].level)


def _on_axis(seen: LaneCycle, spans: Sequence[Span]) -> list[Span]:
    """Return stretches of a stack's turn as often as they are on the axis."""
    if not seen.is_alike:
        return [(begin, over) for span in spans for _, begin, over in seen.on_axis(*span)]
    turns = seen.course.turns
    return [
        ((start + TURN * copy) / turns, length / turns) for copy in range(turns) for start, length in spans
    ]


@contextmanager
def clipped(painter: QPainter, rect: QRectF) -> Iterator[None]:
    """Paint within a rectangle."""
    painter.save()
    painter.setClipRect(rect, Qt.ClipOperation.IntersectClip)
    try:
        yield
    finally:
        painter.restore()
