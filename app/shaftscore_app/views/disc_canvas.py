"""The drawing of the Disc view."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import partial
from operator import is_

import numpy as np
import numpy.typing as npt
from PySide6.QtCore import QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QBrush, QFontMetricsF, QPainter, QPainterPath, QPaintEvent, QPen, QShowEvent
from PySide6.QtWidgets import QSizePolicy, QWidget

from shaftscore.base import wording
from shaftscore.judge.findings import Severity
from shaftscore.kinematics.profiles import Profile
from shaftscore.make.drawing.thinning import thinned
from shaftscore.model import Lane, Stack
from shaftscore.solution import LaneSolution
from shaftscore_app.document import Document
from shaftscore_app.document.outline import UPDATING
from shaftscore_app.document.words import no_motion_text
from shaftscore_app.runtime.jobs import Jobs
from shaftscore_app.runtime.kept import KeptThings
from shaftscore_app.theme import Theme
from shaftscore_app.theme.polygons import polygon_of
from shaftscore_app.views.disc_scene import (
    LINE_PX,
    SIGN_PX,
    Contact,
    DiscMark,
    DiscShape,
    DiscStretches,
    as_drawn,
    contact_at,
    marks_of,
    sense_text,
    shape_of,
    turned,
)

COLUMN = (84, 116)
"""Least and greatest width of the column with the radii of the levels, px."""

MARGIN = 26
"""Room about the disc for what stands out: line of travel, normal and its angle, px."""

MOST_PIECES = 60
"""Discs of more pieces of motion than this are laid out beside the window, which could not wait for them."""

LAY_OUT = "lay out a disc"
"""Kind of the job that does it."""


@dataclass(frozen=True, eq=False)
class DrawnDisc:
    """A lane's disc as it is drawn: its profile and its shape."""

    lane_id: str
    profile: Profile
    shape: DiscShape


class DiscCanvas(QWidget):
    """Draws one lane's disc at the document's cursor.

    A disc of very many moves is laid out by a job; until then the disc before is drawn.
    """

    def __init__(self, document: Document, theme: Theme, jobs: Jobs) -> None:
        """Draw nothing at first; jobs: lays out long discs."""
        super().__init__()
        self._document, self._theme, self._jobs = document, theme, jobs
        self._lane_id: str | None = None
        self._drawn: DrawnDisc | None = None
        self._wanted: tuple[Profile, Lane, Stack] | None = None
        self._kept = KeptThings()
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Expanding)
        self.setAccessibleName("Disc")

    def sizeHint(self) -> QSize:
        """Return the size at which the drawing is easy to read."""
        return QSize(self._theme.px(300), self._theme.px(240))

    def minimumSizeHint(self) -> QSize:
        """Return the least size."""
        return QSize(self._theme.px(160), self._theme.px(120))

    def set_lane(self, lane_id: str | None) -> None:
        """Draw another lane."""
        self._lane_id = lane_id
        if self.isVisible():
            self._lay_out()
        self.update()

    def showEvent(self, event: QShowEvent) -> None:
        """Have the disc laid out that was not wanted while nobody saw it."""
        super().showEvent(event)
        self._lay_out()

    @property
    def contact(self) -> Contact | None:
        """Follower and disc at the cursor, None without a profile."""
        solution = self._solution
        if solution is None or solution.profile is None:
            return None
        return contact_at(solution.profile, self._own_deg(solution))

    @property
    def drawn_profile(self) -> Profile | None:
        """The profile of the disc that is drawn: an older one while a long disc is laid out."""
        return None if self._drawn is None else self._drawn.profile

    # Inside

    @property
    def _solution(self) -> LaneSolution | None:
        return self._document.report.solution.lanes.get(self._lane_id or "")

    def _own_deg(self, solution: LaneSolution) -> float:
        return self._document.own_deg(solution)

    def paintEvent(self, event: QPaintEvent) -> None:  # noqa: ARG002 - Qt's signature
        """Draw the disc, or why there is none."""
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        solution = self._solution
        if solution is None or solution.profile is None:
            return  # the view says why
        drawn = self._drawn
        if drawn is None or drawn.lane_id != solution.lane.id:
            self._write(painter, UPDATING)
            return
        drawing = _Drawing(
            painter,
            self._document,
            self._theme,
            solution=solution,
            drawn=drawn,
            rect=QRectF(self.rect()),
        )
        drawing.draw(
            self._own_deg(solution),
            self._steep(drawn, drawing.px_mm),
            self._marks(drawn, solution, drawing.px_mm),
        )

    def _lay_out(self) -> None:
        """Lay out the disc as it is now: at once, or by a job where that takes long."""
        solution = self._solution
        profile = None if solution is None else solution.profile
        if solution is None or profile is None:
            return
        lane_id, project = solution.lane.id, self._document.report.project
        wanted = (profile, project.lane(lane_id), project.stack_of(project.lane(lane_id)))
        if self._wanted is not None and all(map(is_, wanted, self._wanted)):
            return
        self._wanted = wanted
        make = partial(shape_of, project, lane_id, profile)
        if len(profile.nodes.pieces) <= MOST_PIECES:
            self._drawn = DrawnDisc(lane_id, profile, make())
        else:
            self._jobs.request(LAY_OUT, make, lambda shape: self._take(DrawnDisc(lane_id, profile, shape)))

    def _take(self, drawn: DrawnDisc) -> None:
        """Draw what was laid out, unless another lane is shown by now."""
        if drawn.lane_id == self._lane_id:
            self._drawn = drawn
            self.update()

    def _steep(self, drawn: DrawnDisc, px_mm: float) -> DiscStretches:
        steep = drawn.shape.steep
        return self._kept.get("steep", "", (steep,), px_mm, lambda: as_drawn(steep, px_mm))

    def _marks(self, drawn: DrawnDisc, solution: LaneSolution, px_mm: float) -> tuple[DiscMark, ...]:
        """Return the marks of findings of this lane's motion or disc alone; px_mm: what a pixel is on it."""
        findings, own, turns = self._document.report.findings, (drawn.lane_id,), solution.turns

        def make() -> tuple[DiscMark, ...]:
            shown = [
                finding
                for finding in findings
                if finding.span is not None
                and finding.lanes == own
                and finding.turn is None
                and finding.severity is not Severity.NOTE
                and not finding.span.is_full
            ]
            return marks_of(drawn.profile, shown, turns, px_mm)

        return self._kept.get("marks", "", (drawn, findings), (turns, px_mm), make)

    def _write(self, painter: QPainter, why: str) -> None:
        painter.setFont(self._theme.font(12))
        painter.setPen(self._theme.color("muted"))
        margin = self._theme.px(24)
        place = self.rect().adjusted(margin, 0, -margin, 0)
        painter.drawText(place, Qt.AlignmentFlag.AlignCenter | Qt.TextFlag.TextWordWrap, why)


def why_no_disc(solution: LaneSolution | None) -> str:
    """Return why a lane has no disc to draw, as a sentence."""
    if solution is not None and solution.no_motion is not None:
        return f"No disc: {no_motion_text(solution.lane, solution.no_motion)}."
    if solution is not None and solution.no_profile is not None:
        return f"No disc: {solution.no_profile.what}"
    return "Add blocks to a lane to see its disc."


class _Drawing:
    """One picture of a disc: knows the painter, the scale and where the axis stands on the screen."""

    def __init__(
        self,
        painter: QPainter,
        document: Document,
        theme: Theme,
        *,
        solution: LaneSolution,
        drawn: DrawnDisc,
        rect: QRectF,
    ) -> None:
        self._painter, self._theme, self._rect = painter, theme, rect
        self._document, self._solution = document, solution
        profile = self._profile = drawn.profile
        self._shape = drawn.shape
        column = self._column_width() if rect.width() > theme.px(260) else 0.0
        room = rect.adjusted(0, 0, -column, -theme.px(18) if sense_text(profile) else 0)
        self._column = column
        self._axis = room.center()
        half = min(room.width(), room.height()) / 2 - theme.px(MARGIN) / 2
        self._scale = max(half, 10.0) / (self._shape.extent_mm + 2.0)

    def _column_width(self) -> float:
        """Return the width that the longest name of a level needs beside its radius."""
        metrics = QFontMetricsF(self._theme.font(11))
        names = [metrics.horizontalAdvance(level.name) for level in self._shape.levels]
        wanted = max(names, default=0.0) + metrics.horizontalAdvance("000.0") + self._theme.px(36)
        return min(max(wanted, self._theme.px(COLUMN[0])), self._theme.px(COLUMN[1]))

    @property
    def px_mm(self) -> float:
        """What a pixel of the design is on the disc, mm."""
        return self._theme.u / self._scale

    def draw(self, own_deg: float, steep: DiscStretches, marks: Sequence[DiscMark]) -> None:
        """Draw everything, back to front."""
        turn = turned(self._profile, own_deg)
        contact = contact_at(self._profile, own_deg)
        self._draw_body(turn)
        self._draw_circles()
        self._draw_marks(turn)
        self._draw_stretches(steep, "error", turn)
        for mark in marks:
            self._draw_mark(mark, turn)
        self._draw_follower(contact)
        if self._column:
            self._draw_radii()
        self._draw_sense()

    # Where things are

    def _at(self, point: complex) -> QPointF:
        """Return the place on the screen of a point in mm; y grows upward in the machine."""
        return self._axis + QPointF(point.real * self._scale, -point.imag * self._scale)

    def _path(self, points: npt.ArrayLike, turn: complex, *, closed: bool) -> QPainterPath:
        path = QPainterPath()
        places = np.asarray(points, complex) * turn * self._scale
        corners = thinned(self._axis.x() + places.real, self._axis.y() - places.imag)
        path.addPolygon(polygon_of(*corners))
        if closed:
            path.closeSubpath()
        return path

    def _pen(self, token: str, width: float, dashes: tuple[float, ...] = ()) -> QPen:
        pen = QPen(self._theme.color(token), width * self._theme.u)
        pen.setCapStyle(Qt.PenCapStyle.FlatCap if dashes else Qt.PenCapStyle.RoundCap)
        pen.setJoinStyle(Qt.PenJoinStyle.RoundJoin)
        if dashes:
            pen.setDashPattern([dash / width for dash in dashes])
        return pen

    # Parts of the picture

    def _draw_body(self, turn: complex) -> None:
        painter, shape = self._painter, self._shape
        disc = self._path(shape.outline, turn, closed=True)
        hole = self._path(shape.bore, turn, closed=True)
        painter.setPen(self._pen("curve", 1.75))
        painter.setBrush(self._theme.color("material"))
        painter.drawPath(disc)
        painter.setPen(self._pen("curve", 1.25))
        painter.setBrush(self._theme.color("panel"))
        painter.drawPath(hole)
        radius = shape.dog_radius_mm * self._scale
        for dog in shape.dogs:
            painter.drawEllipse(self._at(dog * turn), radius, radius)

    def _draw_circles(self) -> None:
        painter = self._painter
        painter.setBrush(Qt.BrushStyle.NoBrush)
        for level in self._shape.levels:
            dashes = (5.0, 3.0) if level.rank == 0 else (1.0, 3.0)
            painter.setPen(self._pen("edge", 1.0, dashes))
            radius = level.radius_mm * self._scale
            painter.drawEllipse(self._axis, radius, radius)

    def _draw_marks(self, turn: complex) -> None:
        """Draw zero mark, code and arrow: they turn with the disc, their letters stay upright."""
        painter, theme = self._painter, self._theme
        room = min(level.radius_mm for level in self._shape.levels)
        painter.setPen(self._pen("curve", 2.5))
        painter.drawLine(self._at(0.62 * room * turn), self._at(0.84 * room * turn))
        self._upright("0", 0.5 * room * turn, "text", 600)
        code = self._solution.lane.code or ""
        self._upright(code, -0.66 * room * turn, "muted", 500)
        painter.setPen(self._pen("curve", 1.5))
        self._draw_arrow(0.62 * room, turn * complex(0, -self._profile.direction))
        painter.setFont(theme.font(11))

    def _draw_arrow(self, radius: float, middle: complex) -> None:
        """Draw the arrow of turn: an arc of 50 degrees about `middle`, its head where the disc runs."""
        way = self._profile.direction
        steps = [math.radians(way * (25.0 - 5.0 * step)) for step in range(11)]
        points = [radius * middle * complex(math.cos(a), math.sin(a)) for a in steps]
        self._painter.setBrush(Qt.BrushStyle.NoBrush)
        self._painter.drawPath(self._path(points, 1 + 0j, closed=False))
        tip, along = points[0], points[0] - points[1]
        along /= abs(along)
        size = 5.0 * self._theme.u / self._scale
        head = [tip + along * size, tip + 1j * along * size * 0.6, tip - 1j * along * size * 0.6]
        self._painter.setBrush(QBrush(self._theme.color("curve")))
        self._painter.drawPath(self._path(head, 1 + 0j, closed=True))

    def _upright(self, text: str, at: complex, token: str, weight: int) -> None:
        self._painter.setFont(self._theme.font(11, weight))
        self._painter.setPen(self._theme.color(token))
        size = self._theme.px(40)
        place = QRectF(0, 0, size, size)
        place.moveCenter(self._at(at))
        self._painter.drawText(place, Qt.AlignmentFlag.AlignCenter, text)

    def _draw_stretches(self, stretches: DiscStretches, token: str, turn: complex) -> None:
        """Draw stretches of the profile: those beyond the limit of the pressure angle, or of findings."""
        painter = self._painter
        for points in stretches.curves:
            path = self._path(points, turn, closed=stretches.filled)
            if stretches.filled:
                painter.fillPath(path, self._theme.color(token))
            else:
                painter.strokePath(path, self._pen(token, LINE_PX))

    def _draw_mark(self, mark: DiscMark, turn: complex) -> None:
        """Draw a stretch of the profile that findings are about, with its signs inside the rim."""
        name = mark.severity.value
        self._draw_stretches(mark.stretches, name, turn)
        size = self._theme.px(SIGN_PX)
        pixmap = self._theme.pixmap(f"severity-{name}", SIGN_PX)
        for sign in mark.signs:
            middle = sign * turn
            inside = middle * (1 - 16 * self._theme.u / max(abs(middle) * self._scale, 1.0))
            place = QRectF(0, 0, size, size)
            place.moveCenter(self._at(inside))
            self._painter.drawPixmap(place, pixmap, QRectF(pixmap.rect()))

    def _draw_follower(self, contact: Contact) -> None:
        painter, theme = self._painter, self._theme
        u, roller = theme.u, self._profile.model.roller_radius_mm
        reach = 26 * u / self._scale
        self._draw_limit(contact, roller + reach)
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.setPen(self._pen("muted", 1.25, (9, 3, 2, 3)))
        painter.drawLine(
            self._at(contact.touch), self._at(contact.centre + contact.travel * (roller + reach))
        )
        painter.setPen(self._pen("curve", 1.5))
        painter.setBrush(theme.color("strip", 0.6))
        painter.drawEllipse(self._at(contact.centre), roller * self._scale, roller * self._scale)
        painter.setPen(self._pen("accent", 1.75))
        tip = contact.centre + contact.normal * (roller + reach)
        painter.drawLine(self._at(contact.touch), self._at(tip))
        painter.setBrush(theme.color("accent"))
        for point in (contact.touch, contact.centre):
            painter.drawEllipse(self._at(point), 2.2 * u, 2.2 * u)
        self._draw_angle(contact, roller + reach * 0.7)

    def _draw_limit(self, contact: Contact, radius_mm: float) -> None:
        """Draw the wedge in which the contact normal may lie: about the travel, from the roller's centre."""
        lean = contact.lean
        if lean is None:
            return
        painter, radius = self._painter, radius_mm * self._scale
        box = QRectF(0, 0, 2 * radius, 2 * radius)
        box.moveCenter(self._at(contact.centre))
        along = math.degrees(math.atan2(contact.travel.imag, contact.travel.real))
        token = "error" if lean.is_over else "edge"
        painter.setPen(self._pen(token, 1.0))
        painter.setBrush(self._theme.color(token, 0.16))
        wide = lean.clockwise + lean.counterclockwise
        painter.drawPie(box, round((along - lean.clockwise) * 16), round(wide * 16))

    def _draw_angle(self, contact: Contact, radius_mm: float) -> None:
        """Draw the arc between travel and normal, and write the angle beside the normal's end."""
        painter, theme = self._painter, self._theme
        radius = radius_mm * self._scale
        box = QRectF(0, 0, 2 * radius, 2 * radius)
        box.moveCenter(self._at(contact.centre))
        start = math.degrees(math.atan2(contact.travel.imag, contact.travel.real))
        lean = contact.normal / contact.travel
        sweep = math.degrees(math.atan2(lean.imag, lean.real))
        painter.setPen(self._pen("accent", 1.25))
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.drawArc(box, round(start * 16), round(sweep * 16))
        text = f"α {wording.degrees(abs(contact.pressure_deg))}"
        painter.setPen(
            theme.color("error" if contact.lean is not None and contact.lean.is_over else "accent")
        )
        painter.setFont(theme.font(12, 600))
        width = painter.fontMetrics().horizontalAdvance(text)
        place = QRectF(0, 0, width, theme.px(16))
        aside = contact.normal * (1j if sweep > 0 else -1j)
        place.moveCenter(self._at(contact.centre + contact.normal * radius_mm))
        place.translate(aside.real * (width / 2 + theme.px(8)), -aside.imag * theme.px(14))
        place.moveLeft(min(max(place.left(), self._rect.left() + 4), self._rect.right() - width - 4))
        place.moveTop(min(max(place.top(), self._rect.top()), self._rect.bottom() - place.height()))
        painter.fillRect(place, theme.color("panel", 0.88))
        painter.drawText(place, Qt.AlignmentFlag.AlignCenter, text)

    def _draw_sense(self) -> None:
        """Show at the bottom whether an offset helps the rise, or an arm is pushed or dragged."""
        text = sense_text(self._profile)
        painter, theme = self._painter, self._theme
        painter.setFont(theme.font(11))
        painter.setPen(theme.color("muted"))
        place = self._rect.adjusted(theme.px(12), 0, -theme.px(12), -theme.px(4))
        flags = int(Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignBottom) | Qt.TextFlag.TextWordWrap
        painter.drawText(place, flags, text)

    def _draw_radii(self) -> None:
        """Write the levels with their radii, highest first."""
        painter, theme = self._painter, self._theme
        left = self._rect.right() - self._column - theme.px(4)
        line = theme.px(17)
        painter.setFont(theme.font(11))
        painter.setPen(theme.color("muted"))
        place = QRectF(left, theme.px(4), self._column - theme.px(8), line)
        painter.drawText(place, Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter, "Radius, mm")
        for level in reversed(self._shape.levels):
            place.translate(0, line)
            rank = level.rank if level.rank <= 5 else (level.rank - 1) % 5 + 1
            swatch = QRectF(place.left(), place.top() + theme.px(4), theme.px(10), theme.px(10))
            painter.setPen(self._pen(f"l{rank}-edge", 1.25))
            painter.setBrush(theme.color(f"l{rank}"))
            painter.drawRoundedRect(swatch, 2, 2)
            painter.setPen(theme.color("text"))
            number = wording.number(level.radius_mm, 1)
            painter.drawText(place, Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter, number)
            room = place.adjusted(theme.px(15), 0, -painter.fontMetrics().horizontalAdvance(number) - 4, 0)
            name = painter.fontMetrics().elidedText(
                level.name, Qt.TextElideMode.ElideRight, int(room.width())
            )
            painter.drawText(room, Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter, name)
