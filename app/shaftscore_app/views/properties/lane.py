"""Properties of a lane: what it is called, its levels and law, its follower, its disc and its load."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QPushButton

from shaftscore.base import wording
from shaftscore.edits import Edited, rename_lane, set_kind
from shaftscore.kinematics.profiles import Profile
from shaftscore.model import (
    Disc,
    Lane,
    Load,
    Project,
    SwingingRoller,
    TranslatingFlat,
    TranslatingRoller,
)
from shaftscore.solution import LaneSolution
from shaftscore_app.document import Document
from shaftscore_app.document.binding import commit, show
from shaftscore_app.theme import Theme
from shaftscore_app.views.properties.figures import NONE
from shaftscore_app.views.properties.form import Figure, PropertyForm
from shaftscore_app.views.properties.levels import LevelsLive
from shaftscore_app.views.properties.live import LaneRows, common
from shaftscore_app.widgets.choice import Choice, Option
from shaftscore_app.widgets.field import Field
from shaftscore_app.widgets.quantities import text_quantity

KINDS: tuple[Option[str], ...] = (
    Option("disc", "Disc", "by its blocks"),
    Option("index", "Index", "steps on each turn"),
    Option("rider", "Rider", "on another disc"),
    Option("points", "Points", "by a table"),
)


class LaneSection(PropertyForm):
    """The fields of a lane.

    Signals: form_wanted(command id) when the dialog of levels, linkage or points is wanted.
    """

    form_wanted = Signal(str)

    def __init__(self, document: Document, theme: Theme) -> None:
        """Make the fields; `refresh` fills them."""
        super().__init__(theme)
        self._document, self._theme = document, theme
        self.name = Field(theme, "Name", text_quantity())
        self.row("Name", self.name)
        self.said = self.fault_row()
        self.rows = LaneRows(self, document, theme, self._lanes, self.say)
        self._add_lane()
        self._add_follower()
        self._add_disc()
        self._add_load()
        self.name.entered.connect(self._set_name)
        self.kind.chosen.connect(self._set_kind)
        for fold in self._folds:
            fold.toggled.connect(lambda _open: self.refresh())
        self.fit()

    def _add_lane(self) -> None:
        rows, theme = self.rows, self._theme
        rows.add("", Lane, "group", "law", "band_mm")
        self._levels = self._button_row("Levels", "lane.levels")
        self.levels = LevelsLive(self._document, theme, self._lanes, self.say)
        self.wide(self.levels)
        self.kind: Choice[str] = Choice(theme, "Kind of lane")
        self.kind.set_options(KINDS)
        self.fold("More of the lane")
        self.row("Kind", self.kind)
        rows.add("", Lane, "disc_of", "stack", "code")
        self._points = self._button_row("Points", "lane.point_table")
        self.group, self.law, self.band = (rows.widget("", key) for key in ("group", "law", "band_mm"))

    def _add_follower(self) -> None:
        rows = self.rows
        self.section("Follower")
        rows.add_follower_kind()
        rows.add("", Lane, "station_deg")
        rows.add("follower", TranslatingRoller, "roller_radius_mm", "offset_mm")
        rows.add("follower", SwingingRoller, "arm_mm", "pivot_distance_mm", "pivot_side")
        rows.add("follower", TranslatingFlat, "face_width_mm", "closure")
        self.fold("More of the follower")
        for record in (TranslatingRoller, SwingingRoller, TranslatingFlat):
            rows.add("follower", record)
        self._link = self._button_row("Linkage", "lane.follower")
        self.station = rows.widget("", "station_deg")
        self.roller, self.offset = (rows.widget("follower", k) for k in ("roller_radius_mm", "offset_mm"))

    def _add_disc(self) -> None:
        rows = self.rows
        _, self._governed = self.section("Disc")
        rows.add("disc", Disc, "base_radius_mm", "thickness_mm")
        rows.add("", Lane, "offset_deg")
        names = ("Base radius", "Largest radius", "Pressure angle", "Tightest crest", "Tightest hollow")
        self._figures = [self.figure(name) for name in names]
        self.fold("More of the disc")
        rows.add("disc", Disc)
        self.base, self.thickness = (rows.widget("disc", key) for key in ("base_radius_mm", "thickness_mm"))
        self.turned = rows.widget("", "offset_deg")

    def _add_load(self) -> None:
        self.fold("Load")
        self.rows.add("load", Load)

    def _button_row(self, name: str, command_id: str) -> tuple[Figure, QPushButton]:
        """Add a row that says what is there, with a button to a dialog."""
        figure = Figure(name)
        button = QPushButton("Change…")
        button.setAutoDefault(False)
        button.setAccessibleName(f"Change {name.lower()}")
        button.setToolTip(button.accessibleName())
        button.clicked.connect(lambda: self.form_wanted.emit(command_id))
        self.row(name, figure, button, spans=(2, 2))
        return figure, button

    @property
    def first(self) -> Field[str]:
        """The field that gets the focus."""
        return self.name

    # What it shows

    def refresh(self) -> None:
        """Show the selected lane."""
        if self._document.selection.lane_id is None:
            return
        lane, lanes = self._lane, self._lanes()
        several = len(lanes) > 1
        blocks = wording.counted(sum(len(one.blocks) for one in lanes), "block")
        self.heading.setText(wording.counted(len(lanes), "lane") if several else lane.label)
        self.remark.setText("  ".join(filter(None, [None if several else lane.code, blocks])))
        show(self.name, common(one.name for one in lanes))
        show(self.kind, common(one.kind for one in lanes))
        for widget in (self.name, self.kind):
            widget.setEnabled(not several)
        self.rows.refresh()
        self.levels.refresh()
        self._show_tables(lane)
        for figure, button in (self._levels, self._link, self._points):
            if several:  # the dialogs are of one lane
                show(figure, NONE)
            button.setEnabled(not several and (button is not self._levels[1] or lane.kind != "rider"))
        self._show_figures(None if several else self._document.report.solution.lanes[lane.id])

    def _show_tables(self, lane: Lane) -> None:
        show(self._levels[0], wording.counted(len(lane.levels), "level") if lane.levels else "none")
        link = lane.follower.link
        show(self._link[0], "none" if link is None else wording.counted(len(link), "row"))
        show(self._points[0], "none" if lane.points is None else wording.counted(len(lane.points), "point"))

    def _show_figures(self, solution: LaneSolution | None) -> None:
        """Show what the disc came to; none where there is no disc, or several lanes are shown."""
        profile = solution.profile if solution else None
        if solution is None or profile is None:
            why = solution.no_profile.what if solution and solution.no_profile else ""
            self._governed.setText(why)
            self._governed.setToolTip(why)
            for figure in self._figures:
                show(figure, NONE)
            return
        governed = profile.base_governed_by
        self._governed.setText("" if governed == "given" else f"sized by {governed.replace('-', ' ')}")
        texts = (
            wording.millimetres(profile.base_radius_mm, 2),
            wording.millimetres(profile.max_radius_mm, 2),
            _steepest(profile),
            _radius(profile.min_convex_radius_mm),
            _radius(profile.min_hollow_radius_mm),
        )
        for figure, text in zip(self._figures, texts, strict=True):
            show(figure, text)

    # What it changes

    def _set_name(self, name: str) -> None:
        self.name.set_fault(self._do(lambda project, lane_id: rename_lane(project, lane_id, name)))

    def _set_kind(self, kind: str) -> None:
        fault = self._do(lambda project, lane_id: set_kind(project, lane_id, kind))
        self.say(fault)
        if fault:
            self.refresh()

    def _do(self, edit: Callable[[Project, str], Edited]) -> str:
        """Make one undo step of an edit of the lane; give why it cannot be."""
        document, lane_id = self._document, self._lane.id
        return commit(document, lambda: edit(document.committed, lane_id))

    # Inside

    @property
    def _lane(self) -> Lane:
        return self._document.project.lane(self._document.selection.lane_id or "")

    def _lanes(self) -> Sequence[Lane]:
        """Return all lanes that the fields are of, the one selected last at the head."""
        project, lane_ids = self._document.project, self._document.selection.lane_ids
        return tuple(project.lane(lane_id) for lane_id in reversed(lane_ids))


def _radius(mm: float) -> str:
    return wording.millimetres(mm, 2) if math.isfinite(mm) else NONE


def _steepest(profile: Profile) -> str:
    angle, where = profile.max_pressure_angle_deg, profile.max_pressure_at_deg
    return f"{wording.degrees(angle)} at {wording.degrees(where)}"
