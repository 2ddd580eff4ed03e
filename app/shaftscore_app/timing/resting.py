"""Rows that stay as they are while the cursor alone moves: one picture of headers, strips and groups.

A frame of play then copies this picture, and repaints only the few strips whose labels the cursor touches,
and what stands at the cursor. While anything else changes, or is held, there is no such picture.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace

from PySide6.QtCore import QPointF, QRectF
from PySide6.QtGui import QPainter, QPixmap

from shaftscore_app.theme.pictures import picture, ratio_of
from shaftscore_app.timing.layers.labels import AROUND, Over, PlacedLabel
from shaftscore_app.timing.scene import DiagramScene

RowsPainter = Callable[[QPainter, Mapping[str, Over]], Sequence[str]]
"""Paints headers, strips and groups under what lies over them; returns the lanes without their labels."""


@dataclass(frozen=True)
class RestingRows:
    """The rows where no cursor stands.

    restless: lanes whose labels are not in the picture. reaches: of every other label its lane and the
    stretch, px, in which a cursor touches it.
    """

    picture: QPixmap
    restless: tuple[str, ...]
    reaches: tuple[tuple[str, float, float], ...]

    def touched(self, cursor_x: float | None) -> list[str]:
        """Return the lanes of which the cursor touches a label, each once."""
        if cursor_x is None:
            return []
        lanes = (lane_id for lane_id, begin, end in self.reaches if begin < cursor_x < end)
        return list(dict.fromkeys(lanes))


class RowsAtRest:
    """Makes the picture once the cursor moved and nothing else did, and keeps it as long as that is so."""

    def __init__(self) -> None:
        """Begin with nothing seen."""
        self._seen: tuple[tuple[object, ...], object] | None = None
        self._cursor_deg = 0.0

    def get(
        self,
        painter: QPainter,
        scene: DiagramScene,
        overs: Mapping[str, Over],
        paint: RowsPainter,
        labels: Callable[[str], Sequence[PlacedLabel]],
    ) -> RestingRows | None:
        """Return the rows at rest, or None where something besides the cursor moves.

        paint: paints the rows. labels: gives the labels of a lane as they are placed without a cursor.
        """
        if scene.holding is not None or scene.ghosts:
            self._seen = None
            return None
        ratio = ratio_of(painter)
        objects, key = (scene.project, scene.report), _key_of(scene, ratio)
        was, self._seen = self._seen, (objects, key)
        moved, self._cursor_deg = scene.cursor_deg != self._cursor_deg, scene.cursor_deg
        if (
            not moved
            or was is None
            or was[1] != key
            or any(a is not b for a, b in zip(was[0], objects, strict=True))
        ):
            return None
        still = {lane_id: replace(over, cursor_x=None) for lane_id, over in overs.items()}
        return scene.kept.get("rows", "", objects, key, lambda: _made(scene, still, ratio, paint, labels))


def _key_of(scene: DiagramScene, ratio: float) -> object:
    """Return what the rows show, besides project and report."""
    hover = scene.hover
    pointed = (hover.lane_id, hover.button) if hover.in_header or hover.button else None
    return scene.frame, scene.selection, scene.focus_by_keys, pointed, ratio


def _made(
    scene: DiagramScene,
    still: Mapping[str, Over],
    ratio: float,
    paint: RowsPainter,
    labels: Callable[[str], Sequence[PlacedLabel]],
) -> RestingRows:
    frame = scene.frame
    area = QRectF(0.0, frame.lanes_top, frame.width, frame.seen_height)
    restless: list[str] = []

    def draw(inner: QPainter) -> None:
        inner.translate(QPointF(0.0, -frame.lanes_top))
        restless.extend(paint(inner, still))

    made = picture(area, ratio, draw)
    around = AROUND * frame.u
    reaches = tuple(
        (lane_id, one.label.begin - around, one.label.right + around)
        for lane_id in still
        if lane_id not in restless
        for one in labels(lane_id)
    )
    return RestingRows(made, tuple(restless), reaches)
