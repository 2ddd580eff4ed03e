"""The Disc view: one lane's disc with its follower as the machine stands, and its figures.

It follows the selected lane unless it is pinned. Drawn are the profile, the base circle (dashed), the
other levels (dotted), bore, dogs, zero mark, code and arrow of turn; the roller, its line of travel (a
chain line), the contact normal (accent) and the angle between them; the wedge about the line of travel
in which the limit of the pressure angle lets it lie, and the stretches of the profile beyond the limit.
"""

from __future__ import annotations

import math

from PySide6.QtCore import QPoint, QSize, Qt
from PySide6.QtGui import QGuiApplication, QResizeEvent
from PySide6.QtWidgets import (
    QFrame,
    QGridLayout,
    QHBoxLayout,
    QLabel,
    QMenu,
    QStackedLayout,
    QToolButton,
    QVBoxLayout,
    QWidget,
)

from shaftscore.base import wording
from shaftscore.kinematics.profiles import Profile
from shaftscore.make.table import angles, columns, rows
from shaftscore.model import Lane
from shaftscore.solution import LaneSolution
from shaftscore_app.document import Document
from shaftscore_app.document.ways_out import first_lane, motion_of
from shaftscore_app.document.words import lane_name
from shaftscore_app.runtime.jobs import Jobs
from shaftscore_app.theme import Theme
from shaftscore_app.views.calm import CalmRefresh, copy_button
from shaftscore_app.views.disc_canvas import DiscCanvas, why_no_disc
from shaftscore_app.views.disc_scene import sense_text
from shaftscore_app.views.empty_page import EmptyPage
from shaftscore_app.widgets.chooser import ViewChooser
from shaftscore_app.widgets.menu import Menu

NONE = "–"

BOTH = 240
"""From this width on the figures stand in two columns, px of the design."""

NARROW = 320
"""Under this width the limit of the pressure angle is left out, px."""


HELD_MS = 40
"""While a block is held the disc is redrawn so late, ms: not every frame waits for it."""


class DiscView(QWidget):
    """The view; `lane_id` is the lane it shows."""

    def __init__(self, document: Document, theme: Theme, jobs: Jobs) -> None:
        """Make the view of a document's discs; jobs: lays out long ones."""
        super().__init__()
        self._document, self._theme = document, theme
        self._pinned: str | None = None
        self.canvas = DiscCanvas(document, theme, jobs)
        self.empty = EmptyPage(theme)
        self.chooser = ViewChooser("Lane shown", "Lane: choose whose disc is shown")
        self.pin = QToolButton()
        self._copy = copy_button("motion, pressure angle, profile and curvature, a row a degree", self.copy)
        self._pin_word = QLabel()
        self._figures = {name: QLabel() for name in ("Lift", "Pressure angle", "Radius", "Tightest radius")}
        self._labels = [QLabel(name) for name in self._figures]
        self._build()
        CalmRefresh(self, document, self.refresh, HELD_MS)
        document.cursor_changed.connect(lambda _deg: self._show_cursor())
        theme.changed.connect(self._fit)
        self._fit()

    @property
    def lane_id(self) -> str | None:
        """The lane shown: the pinned one, else the selected one, else the first with a disc."""
        project = self._document.project
        for lane_id in (self._pinned, self._document.selection.lane_id):
            if lane_id is not None and lane_id in project.lane_index:
                return lane_id
        return next((lane.id for lane in project.lanes if lane.has_disc), None)

    def show_lane(self, lane_id: str, *, pinned: bool) -> None:
        """Show a lane; pinned: it stays whatever is selected."""
        self._pinned = lane_id if pinned else None
        if not pinned:
            self._document.select_lane(lane_id)
        self.refresh()

    def copy(self) -> None:
        """Copy the lane's table: a row a degree of its stack, tabs between columns."""
        solution = self._solution
        if solution is None or solution.profile is None:
            return
        table = rows(columns(solution, angles(1.0)))
        QGuiApplication.clipboard().setText("\n".join("\t".join(row) for row in table))

    def refresh(self) -> None:
        """Show the lane as it is now."""
        lane_id = self.lane_id
        self.canvas.set_lane(lane_id)
        lane = self._document.project.lane(lane_id) if lane_id else None
        self.chooser.setText(lane_name(lane) if lane else "No lane yet")
        self.chooser.setEnabled(lane is not None)
        self.pin.setEnabled(lane is not None)
        pinned = self._pinned is not None and self._pinned == lane_id
        self.pin.setChecked(pinned)
        self.pin.setIcon(self._theme.icon("pin", 16, "accent" if pinned else "muted"))
        self._pin_word.setText("Pinned" if pinned else "")
        solution = self._solution
        profile = None if solution is None else solution.profile
        self._pages.setCurrentIndex(1 if profile is None else 0)
        way = first_lane(self._document) or motion_of(self._document.project, lane_id)
        self.empty.say(why_no_disc(solution), way)
        self._copy.setEnabled(profile is not None)
        self.setAccessibleDescription("" if lane is None or profile is None else summary(lane, profile))
        self._show_cursor()

    # Inside

    @property
    def _solution(self) -> LaneSolution | None:
        lane_id = self.lane_id
        return self._document.report.solution.lanes.get(lane_id) if lane_id else None

    def _show_cursor(self) -> None:
        self.canvas.update()
        texts = dict.fromkeys(self._figures, NONE)
        solution = self._solution
        if solution is not None and solution.profile is not None:
            texts |= self._texts(solution)
        for name, label in self._figures.items():
            label.setText(texts[name])
            label.setAccessibleName(f"{name} {texts[name]}".replace("<b>", "").replace("</b>", ""))

    def _texts(self, solution: LaneSolution) -> dict[str, str]:
        profile, contact = solution.profile, self.canvas.contact
        if profile is None or contact is None:
            return {}
        tightest = profile.min_convex_radius_mm
        angle = f"<b>{wording.degrees(abs(contact.pressure_deg))}</b>"
        if contact.lean is not None and self.width() >= self._theme.px(NARROW):
            angle += f" of {wording.degrees(contact.lean.limit_deg)}"
        return {
            "Lift": wording.millimetres(contact.lift_mm, 2),
            "Radius": wording.millimetres(contact.radius_mm, 2),
            "Pressure angle": angle,
            "Tightest radius": wording.millimetres(tightest) if math.isfinite(tightest) else NONE,
        }

    def _choose_from(self) -> None:
        menu = Menu(self)
        for lane in self._document.project.lanes:
            self._add_choice(menu, lane)
        menu.exec(self.chooser.mapToGlobal(QPoint(0, self.chooser.height())))

    def _add_choice(self, menu: QMenu, lane: Lane) -> None:
        action = menu.addAction(lane_name(lane))
        pinned = self._pinned is not None
        action.triggered.connect(lambda _checked=False, chosen=lane.id: self.show_lane(chosen, pinned=pinned))

    def _toggle_pin(self, on: bool) -> None:
        self._pinned = self.lane_id if on else None
        self.refresh()

    def _build(self) -> None:
        self.chooser.clicked.connect(self._choose_from)
        self.setFocusProxy(self.chooser)
        self.pin.setObjectName("plain")
        self.pin.setCheckable(True)
        self.pin.setToolTip("Pin: keep this lane, whatever is selected")
        self.pin.setAccessibleName("Pinned")
        self.pin.clicked.connect(self._toggle_pin)
        self._pin_word.setObjectName("muted")
        self._head = QHBoxLayout()
        for widget in (self.chooser, None, self._pin_word, self.pin, self._copy):
            if widget is None:
                self._head.addStretch(1)
            else:
                self._head.addWidget(widget)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(0)
        column.addLayout(self._head)
        self._pages = QStackedLayout()
        self._pages.addWidget(self.canvas)
        self._pages.addWidget(self.empty)
        column.addLayout(self._pages, 1)
        column.addWidget(self._made_figures())

    def _made_figures(self) -> QWidget:
        foot = QFrame()
        foot.setObjectName("foot")
        self._grid = QGridLayout(foot)
        for label, value in zip(self._labels, self._figures.values(), strict=True):
            label.setObjectName("muted")
            value.setAlignment(Qt.AlignmentFlag.AlignRight)
        self._across = 0
        return foot

    def _lay_figures(self) -> None:
        """Lay the figures in two columns, in one where there is no room for two."""
        across = 2 if self.width() >= self._theme.px(BOTH) else 1
        if across == self._across:
            return
        self._across = across
        for number, (label, value) in enumerate(zip(self._labels, self._figures.values(), strict=True)):
            self._grid.addWidget(label, number // across, 2 * (number % across))
            self._grid.addWidget(value, number // across, 2 * (number % across) + 1)
            value.setMinimumWidth(across - 1)  # in two columns it gives way before it widens the dock
        self._grid.setColumnStretch(1, 2 - across)
        self._grid.setColumnStretch(2, across - 1)

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Show as much as there is room for."""
        super().resizeEvent(event)
        self._lay_figures()
        self._show_cursor()

    def _fit(self) -> None:
        theme = self._theme
        px = theme.px
        self._head.setContentsMargins(px(6), px(6), px(8), 0)
        self._grid.setContentsMargins(px(12), px(8), px(12), px(8))
        self._grid.setHorizontalSpacing(px(5))
        self._grid.setVerticalSpacing(px(6))
        self.chooser.fit(theme, 13)
        self.pin.setIconSize(QSize(px(16), px(16)))
        self._copy.setIcon(theme.icon("copy", 16))
        self._copy.setIconSize(QSize(px(16), px(16)))
        self._pin_word.setFont(theme.font(12))
        for label in self._labels:
            label.setFont(theme.font(12))
        for name, value in self._figures.items():
            value.setFont(theme.font(12, 400 if name == "Pressure angle" else 600))
        self._lay_figures()
        self.refresh()


def summary(lane: Lane, profile: Profile) -> str:
    """Write the disc in one line, for those who hear the view."""
    parts = [f"Disc of {lane.label}: base radius {wording.millimetres(profile.base_radius_mm)}"]
    steepest = max(profile.steep_places, key=lambda place: place.value / place.limit, default=None)
    if steepest is not None and not profile.model.is_flat:
        parts.append(
            f"pressure angle up to {wording.degrees(steepest.value)} of {wording.degrees(steepest.limit)}"
            f" at {wording.degrees(steepest.theta_deg)} of its stack"
        )
    if math.isfinite(profile.min_convex_radius_mm):
        parts.append(f"tightest radius {wording.millimetres(profile.min_convex_radius_mm)}")
    if profile.sense is not None:
        parts.append(sense_text(profile)[:1].lower() + sense_text(profile)[1:])
    return ", ".join(parts)
