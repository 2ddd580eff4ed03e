"""Properties of a lane: what it is called, its levels and law, its follower, and its disc."""

from __future__ import annotations

import math
from typing import Any

from PySide6.QtWidgets import QWidget

from app.binding import commit, show
from app.document import Document
from app.theme import Theme
from app.views.properties.figures import NONE
from app.views.properties.form import Form
from app.views.properties.laws import law_options
from app.widgets.choice import Choice
from app.widgets.field import Field, Quantity
from app.widgets.quantities import angle, millimetres, text_quantity
from core import wording
from core.edits import apply_edit
from core.model import Lane, SwingingRoller, TranslatingRoller
from core.profiles import Profile
from core.solution import LaneSolution


class LaneSection(Form):
    """The fields of a lane."""

    def __init__(self, document: Document, theme: Theme) -> None:
        """Make the fields; `refresh` fills them."""
        super().__init__(theme)
        self._document, self._theme = document, theme
        self.name = self._add("Name", text_quantity())
        self.group = self._add("Group", text_quantity())
        self.law = Choice(theme, "Law of its moves")
        self.row("Law", self.law)
        self.band = self._add("Band", millimetres("auto"))
        self.section("Follower")
        self.station = self._add("Station", angle(document))
        self.roller = self._add("Roller radius", millimetres())
        self.offset = self._add("Offset", millimetres("auto"))
        _, self._governed = self.section("Disc")
        self.base = self._add("Base radius", millimetres("auto"))
        self.thickness = self._add("Thickness", millimetres())
        self.turned = self._add("Turned by", angle(document))
        names = ("Base radius", "Largest radius", "Pressure angle", "Tightest crest", "Tightest hollow")
        self._figures = [self.figure(name) for name in names]
        self._connect()
        self.fit()

    @property
    def first(self) -> Field:
        """The field that gets the focus."""
        return self.name

    # What it shows

    def refresh(self) -> None:
        """Show the selected lane."""
        lane = self._lane
        self.heading.setText(lane.label)
        self.remark.setText("  ".join(filter(None, [lane.code, wording.counted(len(lane.blocks), "block")])))
        show(self.name, lane.name)
        show(self.group, lane.group)
        self.law.set_options(law_options())
        show(self.law, lane.law)
        show(self.band, lane.band_mm)
        show(self.station, lane.station_deg)
        self._show_follower(lane)
        show(self.base, _or_none(lane.disc.base_radius_mm))
        show(self.thickness, lane.disc.thickness_mm)
        show(self.turned, lane.offset_deg)
        self._show_figures(self._document.report.solution.lanes[lane.id])

    def _show_follower(self, lane: Lane) -> None:
        rolls = isinstance(lane.follower, TranslatingRoller | SwingingRoller)
        self.roller.setEnabled(rolls)
        self.offset.setEnabled(isinstance(lane.follower, TranslatingRoller))
        show(self.roller, getattr(lane.follower, "roller_radius_mm", None))
        show(self.offset, _or_none(getattr(lane.follower, "offset_mm", None)))

    def _show_figures(self, solution: LaneSolution) -> None:
        profile = solution.profile
        if profile is None:
            why = solution.no_profile.what if solution.no_profile else ""
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

    def _connect(self) -> None:
        self.name.entered.connect(lambda name: self._do(self.name, "rename_lane", name=name))
        self.law.chosen.connect(lambda law: self._set(self.law, law=law))
        for field, key in ((self.group, "group"), (self.band, "band_mm"), (self.station, "station_deg")):
            field.entered.connect(lambda value, f=field, k=key: self._set(f, **{k: value}))
        self.turned.entered.connect(lambda value: self._set(self.turned, offset_deg=value))
        self.roller.entered.connect(lambda value: self._set_follower(self.roller, roller_radius_mm=value))
        self.offset.entered.connect(
            lambda value: self._set_follower(self.offset, offset_mm="auto" if value is None else value)
        )
        self.base.entered.connect(
            lambda value: self._set_disc(self.base, base_radius_mm="auto" if value is None else value)
        )
        self.thickness.entered.connect(lambda value: self._set_disc(self.thickness, thickness_mm=value))

    def _set(self, field: QWidget, **fields: object) -> None:
        self._do(field, "set_lane", **fields)

    def _set_follower(self, field: Field, **fields: object) -> None:
        self._do(field, "set_follower", **fields)

    def _set_disc(self, field: Field, **fields: object) -> None:
        self._do(field, "set_disc", **fields)

    def _do(self, field: Any, edit: str, **arguments: object) -> None:
        """Make one undo step, or mark the field with why it cannot be."""
        document, lane_id = self._document, self._lane.id
        fault = commit(document, lambda: apply_edit(document.committed, edit, lane_id=lane_id, **arguments))
        if isinstance(field, Field):
            field.set_fault(fault)

    # Inside

    @property
    def _lane(self) -> Lane:
        return self._document.project.lane(self._document.selection.lane_id or "")

    def _add(self, name: str, quantity: Quantity) -> Field:
        field = Field(self._theme, name, quantity)
        self.row(name, field)
        return field


def _or_none(value: float | str | None) -> float | None:
    """Give a number, or None for "auto"."""
    return None if isinstance(value, str) or value is None else value


def _radius(mm: float) -> str:
    return wording.millimetres(mm, 2) if math.isfinite(mm) else NONE


def _steepest(profile: Profile) -> str:
    angle, where = profile.max_pressure_angle_deg, profile.max_pressure_at_deg
    return f"{wording.degrees(angle)} at {wording.degrees(where)}"
