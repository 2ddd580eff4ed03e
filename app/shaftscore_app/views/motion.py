"""The Motion view: output, velocity, acceleration and jerk of the chosen lanes over one turn.

Four plots share one axis of angles; the peak of each is marked and written, and so is the acceleration at
which a spring loses contact; the cursor can be dragged. Shown are the lanes of the selection, or those
chosen in the list, however the selection moves. The plot library is loaded when the view is first
seen, since that takes longer than all else at start.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np
from PySide6.QtCore import QPoint, QSize
from PySide6.QtGui import QAction, QGuiApplication, QResizeEvent
from PySide6.QtWidgets import QHBoxLayout, QLabel, QMenu, QStackedLayout, QVBoxLayout, QWidget

from shaftscore.base import wording
from shaftscore.model import Lane
from shaftscore.model.cells import text_cell
from shaftscore_app.document import Document
from shaftscore_app.document.coverage import RowAction
from shaftscore_app.document.ways_out import first_lane, motion_of
from shaftscore_app.document.words import lane_name, no_motion_text
from shaftscore_app.runtime.turns import UNPAINTED, Later
from shaftscore_app.theme import Theme
from shaftscore_app.views.calm import CalmRefresh, copy_button, copy_columns
from shaftscore_app.views.empty_page import EmptyPage
from shaftscore_app.views.motion_curves import (
    INKS,
    MOST_LANES,
    NAMES,
    UNITS,
    LaneCurves,
    curves_of,
    release_of,
)
from shaftscore_app.widgets.chooser import ViewChooser
from shaftscore_app.widgets.legend import Legend
from shaftscore_app.widgets.menu import Menu

if TYPE_CHECKING:
    from shaftscore_app.views.motion_plots import MotionPlots

HELD_MS = 60
"""While something is held the plots follow this late, ms: they are slow to draw."""

EMPTY = "Select a lane to see its motion."
FOLLOW = "Lanes of the selection"
LONG_NAMES = 2
"""With more lanes than this the legend has their codes alone."""

HEADS = ("theta_deg", "s_mm", "v_mm_s", "a_mm_s2", "j_mm_s3")


class MotionView(QWidget):
    """The view."""

    def __init__(self, document: Document, theme: Theme) -> None:
        """Make the view of a document's chosen lanes."""
        super().__init__()
        self._document, self._theme = document, theme
        self._plots: MotionPlots | None = None
        self._is_seen = False
        self._chosen: tuple[str, ...] = ()
        self._shown: tuple[LaneCurves, ...] = ()
        self.chooser, self.legend = ViewChooser("Lanes shown"), Legend(theme)
        self._remark, self.empty = QLabel(), EmptyPage(theme, EMPTY)
        self._copy = copy_button("angle, output, velocity, acceleration and jerk", self.copy)
        self._build()
        CalmRefresh(self, document, self.refresh, HELD_MS)
        self._late = Later(self, self.refresh, UNPAINTED)
        document.cursor_changed.connect(self._show_cursor)
        document.cycle_changed.connect(lambda _cycle: self.refresh())
        theme.changed.connect(self._fit)
        self._fit()

    @property
    def lane_ids(self) -> tuple[str, ...]:
        """The lanes to show: the chosen ones, else those of the selection, else the first; in file order."""
        index, selection = self._document.project.lane_index, self._document.selection
        selected = set(selection.lane_ids)
        for wanted in (set(self._chosen), selected):
            found = tuple(lane_id for lane_id in index if lane_id in wanted)
            if found:
                return found[:MOST_LANES]
        return tuple(index)[:1]

    @property
    def shown(self) -> tuple[LaneCurves, ...]:
        """What is shown."""
        return self._shown

    def choose(self, lane_ids: tuple[str, ...]) -> None:
        """Show these lanes whatever is selected; none: follow the selection again."""
        self._chosen = lane_ids
        self.refresh()

    def refresh(self) -> None:
        """Show the lanes as they are now; does nothing while the view is not seen."""
        if not self._is_seen or self._plots is None:
            return
        lanes = [self._document.project.lane(lane_id) for lane_id in self.lane_ids]
        self._shown = tuple(filter(None, map(self._curves, lanes)))
        if self._shown:
            self._plots.show_lanes(self._shown)
        self._say(lanes)
        self._pages.setCurrentWidget(self._plots if self._shown else self.empty)
        self._copy.setEnabled(bool(self._shown))
        self.setAccessibleDescription("; ".join(map(summary, self._shown)))
        self._show_cursor(self._document.cursor_deg)

    def copy(self) -> None:
        """Copy the curves as a table: a row an angle, tabs between columns; lane by lane of several."""
        if len(self._shown) == 1:
            copy_columns(HEADS, _columns(self._shown[0]))
        elif self._shown:
            lines = ["\t".join(("lane", *HEADS))]
            for lane in self._shown:
                rows = zip(*_columns(lane), strict=True)
                lines += [
                    "\t".join((text_cell(lane.label), *(f"{value:.9g}" for value in row))) for row in rows
                ]
            QGuiApplication.clipboard().setText("\n".join(lines))

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Let the legend stand where there is room for it."""
        super().resizeEvent(event)
        self.legend.stand_in(self._head, 1, self.width())

    # Inside

    def _curves(self, lane: Lane) -> LaneCurves | None:
        report = self._document.report
        solution = report.solution.lanes.get(lane.id)
        curves = curves_of(solution, self._document.cycle) if solution is not None else None
        if curves is None:
            return None
        loads = report.loads.lanes.get(lane.id) if report.loads is not None else None
        return LaneCurves(lane.id, lane_name(lane), curves, release_of(loads) if loads is not None else None)

    def _say(self, lanes: list[Lane]) -> None:
        """Name the lanes, the speed, and why one has no curves."""
        one = len(lanes) == 1
        several = wording.counted(len(lanes), "lane") if lanes else "No lane yet"
        self.chooser.setText(lane_name(lanes[0]) if one else several)
        self.chooser.setEnabled(bool(lanes))
        inks = INKS if len(self._shown) > 1 else ()
        names = [(*ink, self._named(lane)) for ink, lane in zip(inks, self._shown, strict=False)]
        if self._shown and self._plots is not None and self._plots.draws_limits:
            names.append(("text", (4.0, 2.0), "Contact lost"))
        self.legend.set_entries(tuple(names))
        rpm = self._document.project.shaft.speed_rpm
        self._remark.setText(f"at {wording.rpm(rpm)}" if lanes else "")
        self.legend.stand_in(self._head, 1, self.width())
        still = [lane for lane in lanes if lane.id not in {shown.lane_id for shown in self._shown}]
        solutions = self._document.report.solution.lanes
        why = [
            f"{'' if one else lane.label + ': '}No motion: {no_motion_text(lane, none)}."
            for lane in still
            if (solution := solutions.get(lane.id)) and (none := solution.no_motion)
        ]
        self.empty.say("\n".join(why) or EMPTY, self._way_out(still))
        self.chooser.setToolTip("\n".join(["Lanes: choose whose motion is shown", *why]))

    def _way_out(self, still: Sequence[Lane]) -> RowAction | None:
        """Return what gives the lanes without motion one: the first that has no states yet."""
        project = self._document.project
        ways = (motion_of(project, lane.id) for lane in still)
        return first_lane(self._document) or next(filter(None, ways), None)

    def _named(self, lane: LaneCurves) -> str:
        """Name a lane in the legend, by its code alone where there are many."""
        code = self._document.project.lane(lane.lane_id).code
        return code if code and len(self._shown) > LONG_NAMES else lane.label

    def set_seen(self, seen: bool) -> None:
        """Set whether the view is in front; the plots are loaded when it first is."""
        self._is_seen = seen
        if seen and self._plots is None:
            from shaftscore_app.views.motion_plots import MotionPlots  # the library takes 0.6 s to load

            self._plots = MotionPlots(self._theme)
            self._plots.moved.connect(self._document.set_cursor)
            self._pages.insertWidget(0, self._plots)
        self.refresh()

    def menu(self) -> QMenu:
        """Return the list of lanes: those shown are ticked."""
        menu = Menu(self)
        follow = menu.addAction(FOLLOW)
        follow.setCheckable(True)
        follow.setChecked(not self._chosen)
        follow.triggered.connect(lambda: self.choose(()))
        menu.addSeparator()
        for lane in self._document.project.lanes:
            self._add_choice(menu, lane)
        return menu

    def _add_choice(self, menu: QMenu, lane: Lane) -> None:
        action = QAction(lane_name(lane), menu)
        action.setCheckable(True)
        action.setChecked(lane.id in self.lane_ids)
        action.setEnabled(action.isChecked() or len(self.lane_ids) < MOST_LANES)
        action.triggered.connect(lambda on, lane_id=lane.id: self._toggle(lane_id, on=on))
        menu.addAction(action)

    def _toggle(self, lane_id: str, *, on: bool) -> None:
        others = tuple(other for other in self.lane_ids if other != lane_id)
        self.choose((*others, lane_id) if on else others)

    def _choose_from(self) -> None:
        menu = self.menu()
        menu.exec(self.chooser.mapToGlobal(QPoint(0, self.chooser.height())))
        menu.deleteLater()

    def _show_cursor(self, deg: float) -> None:
        if self._plots is not None and self._is_seen:
            self._plots.set_shown(deg)

    def _build(self) -> None:
        self._remark.setObjectName("muted")
        self.chooser.clicked.connect(self._choose_from)
        self.setFocusProxy(self.chooser)
        self._head = QHBoxLayout()
        self._head.addWidget(self.chooser)
        self._head.addWidget(self.legend, 1)
        self._head.addStretch()
        self._head.addWidget(self._remark)
        self._head.addWidget(self._copy)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(0)
        column.addLayout(self._head)
        self._pages = QStackedLayout()
        self._pages.addWidget(QWidget())  # the plots' place until they are there
        self._pages.addWidget(self.empty)
        column.addLayout(self._pages, 1)

    def _fit(self) -> None:
        theme = self._theme
        self._head.setContentsMargins(theme.px(6), theme.px(4), theme.px(8), 0)
        self._head.setSpacing(theme.px(8))
        self.chooser.fit(theme)
        self._remark.setFont(theme.font(12))
        self._copy.setIcon(theme.icon("copy", 16))
        self._copy.setIconSize(QSize(theme.px(16), theme.px(16)))
        self._late.ask()


def summary(lane: LaneCurves) -> str:
    """Write the peaks in one line, for those who hear the view."""
    parts = [
        f"peak {name.lower()} {wording.plain(abs(value), 1)} {unit} at {wording.degrees(deg)}"
        for name, unit, (deg, value) in zip(NAMES[1:], UNITS[1:], lane.curves.peaks, strict=True)
    ]
    if lane.release is not None:
        deg, _, limit = lane.release.slack
        parts.append(f"contact is lost under {wording.plain(limit, 1)} mm/s² at {wording.degrees(deg)}")
    return f"{lane.label}: {wording.listed(parts)}"


def _columns(lane: LaneCurves) -> tuple[np.ndarray, ...]:
    """Return angle and values of one turn, a column each."""
    shown = (lane.curves.theta_deg >= 0) & (lane.curves.theta_deg <= 360)
    return (lane.curves.theta_deg[shown], *lane.curves.values[:, shown])
