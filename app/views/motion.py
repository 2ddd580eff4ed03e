"""The Motion view: output, velocity, acceleration and jerk of the selected lane over one turn.

Four plots share one axis of angles; the peak of each is marked and written; the cursor can be dragged.
The plot library is loaded when the view is first seen, since that takes longer than all else at start.
"""

from __future__ import annotations

from typing import Any

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QHBoxLayout, QLabel, QStackedLayout, QVBoxLayout, QWidget

from app.document import Document
from app.theme import Theme
from app.views.calm import CalmRefresh, copy_button, copy_columns
from app.views.motion_curves import NAMES, UNITS, Curves, curves_of
from app.words import no_motion_text
from core import wording

HELD_MS = 60
"""While something is held the plots follow this late, ms: they are slow to draw."""

EMPTY = "The motion of the selected lane stands here."


class MotionView(QWidget):
    """The view."""

    def __init__(self, document: Document, theme: Theme) -> None:
        """Make the view of a document's selected lane."""
        super().__init__()
        self._document, self._theme = document, theme
        self._plots: Any = None
        self._is_seen = False
        self._curves: Curves | None = None
        self._title, self._remark, self._empty = QLabel(), QLabel(), QLabel(EMPTY)
        self._copy = copy_button("angle, output, velocity, acceleration and jerk", self.copy)
        self._build()
        CalmRefresh(self, document, self.refresh, HELD_MS)
        document.cursor_changed.connect(self._show_cursor)
        theme.changed.connect(self._fit)
        self._fit()

    @property
    def lane_id(self) -> str | None:
        """The selected lane, else the first."""
        project, selected = self._document.project, self._document.selection.lane_id
        if selected is not None and selected in project.lane_index:
            return selected
        return project.lanes[0].id if project.lanes else None

    @property
    def curves(self) -> Curves | None:
        """What is shown."""
        return self._curves

    def refresh(self) -> None:
        """Show the lane as it is now; does nothing while the view is not seen."""
        if not self._is_seen:
            return
        lane_id = self.lane_id
        solution = self._document.report.solution.lanes.get(lane_id or "")
        self._curves = curves_of(solution) if solution is not None else None
        lane = self._document.project.lane(lane_id) if lane_id else None
        self._title.setText(f"{lane.code or ''} {lane.label}".strip() if lane else "")
        rpm = self._document.project.shaft.speed_rpm
        self._remark.setText(f"at {wording.rpm(rpm)}" if lane else "")
        none = solution.no_motion if solution is not None else None
        self._empty.setText(f"No motion: {no_motion_text(lane, none)}." if lane and none else EMPTY)
        self._pages.setCurrentIndex(0 if self._curves is not None else 1)
        self._copy.setEnabled(self._curves is not None)
        if self._curves is not None:
            self._plots.show_curves(self._curves)
            self.setAccessibleDescription(summary(self._curves))
        self._show_cursor(self._document.cursor_deg)

    def copy(self) -> None:
        """Copy the curves as a table: a row an angle, tabs between columns."""
        if self._curves is None:
            return
        shown = (self._curves.theta_deg >= 0) & (self._curves.theta_deg <= 360)
        heads = ("theta_deg", "s_mm", "v_mm_s", "a_mm_s2", "j_mm_s3")
        copy_columns(heads, (self._curves.theta_deg[shown], *self._curves.values[:, shown]))

    # Inside

    def set_seen(self, seen: bool) -> None:
        """Tell the view whether it stands in front; the plots are loaded when it first does."""
        self._is_seen = seen
        if seen and self._plots is None:
            from app.views.motion_plots import MotionPlots  # the library takes 0.6 s to load

            self._plots = MotionPlots(self._theme)
            self._plots.moved.connect(self._document.set_cursor)
            self._pages.insertWidget(0, self._plots)
        self.refresh()

    def _show_cursor(self, deg: float) -> None:
        if self._plots is not None and self._is_seen:
            self._plots.set_shown(deg)

    def _build(self) -> None:
        self._remark.setObjectName("muted")
        self._empty.setObjectName("muted")
        self._empty.setAlignment(Qt.AlignmentFlag.AlignCenter)
        self._empty.setWordWrap(True)
        self.setFocusProxy(self._copy)
        self._head = QHBoxLayout()
        self._head.addWidget(self._title)
        self._head.addWidget(self._remark)
        self._head.addStretch(1)
        self._head.addWidget(self._copy)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(0)
        column.addLayout(self._head)
        self._pages = QStackedLayout()
        self._pages.addWidget(QWidget())  # the plots' place until they are there
        self._pages.addWidget(self._empty)
        column.addLayout(self._pages, 1)

    def _fit(self) -> None:
        theme = self._theme
        self._head.setContentsMargins(theme.px(12), theme.px(6), theme.px(12), theme.px(2))
        self._head.setSpacing(theme.px(8))
        self._title.setFont(theme.font(12, 600))
        self._remark.setFont(theme.font(12))
        self._empty.setFont(theme.font(12))
        self._copy.setIcon(theme.icon("copy", 16))
        self.refresh()


def summary(curves: Curves) -> str:
    """Say the peaks in one line, for those who hear the view."""
    parts = [
        f"peak {name.lower()} {wording.plain(abs(value), 1)} {unit} at {wording.degrees(deg)}"
        for name, unit, (deg, value) in zip(NAMES[1:], UNITS[1:], curves.peaks, strict=True)
    ]
    return wording.listed(parts).capitalize()
