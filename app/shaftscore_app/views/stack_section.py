"""A drawn section of a stack, for screens without OpenGL: to scale, heights to the left where they fit.

A disc is drawn solid to the least radius of its edge and pale to the largest; the shaft runs through
the middle. Followers are drawn beside their discs, the roller where it touches the largest radius, with
levers and screw at their heights where they are described; a dashed frame shows how far the roller may be
off.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QWidget

from shaftscore.base import wording
from shaftscore.built.heights import HeightBand
from shaftscore.judge.heights import heights_of
from shaftscore.stack.followers import FollowerBands, follower_bands
from shaftscore_app.theme import Theme
from shaftscore_app.views.stack_scene import SHAFT_ABOVE_MM, SHAFT_BELOW_MM, StackScene


@dataclass(frozen=True)
class Slab:
    """One layer: whose (None: a spacer), heights, least and largest radius, mm."""

    lane_id: str | None
    label: str
    bottom_mm: float
    top_mm: float
    least_mm: float
    largest_mm: float


@dataclass(frozen=True)
class RollerMark:
    """A follower beside its disc: its roller from and to, mm from the axis, and heights, mm.

    side: +1 to the right of the axis, -1 to the left. tolerance_mm: plus-minus, along the shaft. bands: of
    its parts, where its lever is described. stays: whether enough of the rim is in contact in the worst case.
    """

    lane_id: str
    side: int
    inner_mm: float
    outer_mm: float
    roller: HeightBand
    tolerance_mm: float
    bands: FollowerBands | None
    stays: bool

    @property
    def middle_mm(self) -> float:
        """Distance of the roller's axis from that of the stack."""
        return (self.inner_mm + self.outer_mm) / 2


def rollers_of(scene: StackScene) -> tuple[RollerMark, ...]:
    """Return the followers of a stack; riders on one disc are on alternate sides of it."""
    found = heights_of(scene.project, scene.stack, [solved.lane for solved in scene.riders])
    sides: dict[str, int] = {}
    marks = []
    for solved in scene.riders:
        lane, profile = solved.lane, solved.profile
        assert profile is not None
        host = lane.disc_of or lane.id
        sides[host] = -sides.get(host, -1)
        heights = found[lane.id]
        half = profile.model.roller_radius_mm or KNIFE_MM
        pitch = float(np.max(np.abs(profile.at_nodes.pitch)))
        inner = pitch - half if not profile.model.is_flat else pitch
        bands = follower_bands(scene.project, lane, scene.plan.disc(host))
        marks.append(
            RollerMark(
                lane.id,
                sides[host],
                inner,
                inner + 2 * half,
                heights.roller,
                heights.tolerance_mm,
                bands,
                heights.stays_on_edge,
            )
        )
    return tuple(marks)


def slabs_of(scene: StackScene) -> tuple[Slab, ...]:
    """Return the layers of a stack from the bottom up; a disc that cannot be made has no radius."""
    codes = {row.lane_id: row.code for row in scene.rows}
    radii = {lane_id: np.abs(rim) for lane_id, rim in scene.rims.items()}
    spacer = np.array([scene.stack.spacer_radius_mm])
    slabs = []
    for layer in scene.plan.layers:
        found = spacer if layer.lane_id is None else radii.get(layer.lane_id, np.zeros(1))
        label = codes.get(layer.lane_id or "", "")
        slabs.append(
            Slab(layer.lane_id, label, layer.bottom_mm, layer.top_mm, float(found.min()), float(found.max()))
        )
    return tuple(slabs)


def least_pitch(slabs: tuple[Slab, ...]) -> float:
    """Return the least distance in height from one disc to the next, mm; inf for one disc."""
    bottoms = [slab.bottom_mm for slab in slabs if slab.lane_id is not None]
    return min((upper - lower for lower, upper in pairwise(bottoms)), default=np.inf)


KNIFE_MM = 1.5
"""Half the width at which a flat face or a knife edge is drawn."""

STUB_MM = 10.0
"""Length of a lever that is drawn outward of its roller."""


class SectionView(QWidget):
    """The drawing."""

    def __init__(self, theme: Theme) -> None:
        """Make an empty drawing."""
        super().__init__()
        self._theme = theme
        self._scene: StackScene | None = None
        self._rollers: tuple[RollerMark, ...] | None = None  # found when first drawn: mostly it is hidden
        self._selected: str | None = None
        self._troubled: frozenset[str] = frozenset()
        self._labelled = True
        self.setAccessibleName("Section of the stack")

    def show_scene(self, scene: StackScene, selected: str | None, troubled: frozenset[str]) -> None:
        """Show a stack with its selected lane and those whose bodies meet others."""
        if scene is not self._scene:
            self._rollers = None
        self._scene, self._selected, self._troubled = scene, selected, troubled
        self.update()

    def paintEvent(self, event: QPaintEvent) -> None:  # noqa: ARG002 - Qt's signature
        """Draw."""
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.fillRect(self.rect(), self._theme.color("panel"))
        slabs = slabs_of(self._scene) if self._scene is not None else ()
        if not slabs or self._scene is None:
            return
        rollers = self._rollers = rollers_of(self._scene) if self._rollers is None else self._rollers
        place = self._place(slabs)
        self._draw_shaft(painter, place)
        for slab in slabs:
            self._draw_slab(painter, slab, place)
        for mark in rollers:
            self._draw_roller(painter, mark, place)

    def _place(self, slabs: tuple[Slab, ...]) -> tuple[QPointF, float]:
        """Return where axis and bottom stand, and the scale, px/mm."""
        px = self._theme.px
        self._labelled = self._scale(slabs, px(64)) * least_pitch(slabs) >= px(14)
        left = px(64 if self._labelled else 12)
        height = slabs[-1].top_mm + SHAFT_ABOVE_MM + SHAFT_BELOW_MM
        scale = self._scale(slabs, left)
        bottom = (self.height() + height * scale) / 2 - SHAFT_BELOW_MM * scale
        return QPointF((left + self.width() - px(12)) / 2, bottom), scale

    def _scale(self, slabs: tuple[Slab, ...], left: int) -> float:
        """Return the px to a mm with `left` px kept free for labels."""
        px = self._theme.px
        beside = [mark.outer_mm + STUB_MM for mark in self._rollers or ()]
        widest = max([slab.largest_mm for slab in slabs] + beside) or 1.0
        height = slabs[-1].top_mm + SHAFT_ABOVE_MM + SHAFT_BELOW_MM
        wide, high = self.width() - left - px(12), self.height() - px(16)
        return max(0.05, min(wide / (2 * widest), high / height))

    def _draw_shaft(self, painter: QPainter, place: tuple[QPointF, float]) -> None:
        assert self._scene is not None
        (axis, scale), theme = place, self._theme
        half = self._scene.stack.bore.across_mm / 2 * scale
        top = axis.y() - (self._scene.plan.height_mm + SHAFT_ABOVE_MM) * scale
        painter.setPen(QPen(theme.color("edge"), 1.0))
        painter.setBrush(theme.color("window"))
        painter.drawRect(QRectF(axis.x() - half, top, 2 * half, axis.y() + SHAFT_BELOW_MM * scale - top))

    def _draw_slab(self, painter: QPainter, slab: Slab, place: tuple[QPointF, float]) -> None:
        (axis, scale), theme = place, self._theme
        face, edge = self._colours(slab)
        top, high = axis.y() - slab.top_mm * scale, (slab.top_mm - slab.bottom_mm) * scale
        pale = QColor(face)
        pale.setAlphaF(0.45)
        painter.setPen(QPen(edge, 1.0))
        for radius, colour in ((slab.largest_mm, pale), (slab.least_mm, face)):
            painter.setBrush(colour)
            painter.drawRect(QRectF(axis.x() - radius * scale, top, 2 * radius * scale, high))
        if slab.label and self._labelled:
            painter.setFont(theme.font(11))
            painter.setPen(theme.color("text"))
            span = f"{slab.label}  {wording.plain(slab.bottom_mm, 1)}"
            box = QRectF(
                theme.px(8), axis.y() - slab.bottom_mm * scale - theme.px(14), theme.px(60), theme.px(14)
            )
            painter.drawText(box, Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignBottom, span)

    def _draw_roller(self, painter: QPainter, mark: RollerMark, place: tuple[QPointF, float]) -> None:
        """Draw a follower, its lever first, then the frame within which its roller may be."""
        face, edge = self._roller_colours(mark)
        painter.setPen(QPen(edge, 1.0))
        painter.setBrush(face)
        outer = mark.outer_mm + STUB_MM
        for lever in () if mark.bands is None else mark.bands.levers:
            painter.drawRect(_beside(place, mark.side, (mark.middle_mm - STUB_MM / 4, outer), lever))
        if mark.bands is not None and mark.bands.screw is not None:
            reach = mark.bands.screw_radius_mm
            across = (mark.middle_mm - reach, mark.middle_mm + reach)
            painter.drawRect(_beside(place, mark.side, across, mark.bands.screw))
        across = (mark.inner_mm, mark.outer_mm)
        painter.drawRect(_beside(place, mark.side, across, mark.roller))
        by = mark.tolerance_mm
        band = HeightBand(mark.roller.bottom_mm - by, mark.roller.top_mm + by)
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.setPen(QPen(edge, 1.0, Qt.PenStyle.DashLine))
        painter.drawRect(_beside(place, mark.side, across, band))

    def _roller_colours(self, mark: RollerMark) -> tuple[QColor, QColor]:
        theme = self._theme
        if mark.lane_id in self._troubled:
            return theme.color("error-soft"), theme.color("error")
        if not mark.stays:
            return theme.color("warning-soft"), theme.color("warning")
        if mark.lane_id == self._selected:
            return theme.color("accent-soft"), theme.color("accent")
        return theme.color("raised"), theme.color("edge")

    def _colours(self, slab: Slab) -> tuple[QColor, QColor]:
        theme = self._theme
        if slab.lane_id in self._troubled:
            return theme.color("error-soft"), theme.color("error")
        if slab.lane_id is not None and slab.lane_id == self._selected:
            return theme.color("accent-soft"), theme.color("accent")
        return theme.color("material" if slab.lane_id else "window"), theme.color("edge")


def _beside(place: tuple[QPointF, float], side: int, across: tuple[float, float], band: HeightBand) -> QRectF:
    """Return a rectangle at distances from the axis and heights, mm, on one side of the axis."""
    axis, scale = place
    low, high = (axis.x() + side * distance * scale for distance in across)
    top = axis.y() - band.top_mm * scale
    return QRectF(min(low, high), top, abs(high - low), band.width_mm * scale)
