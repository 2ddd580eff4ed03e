"""Properties of the machine, shown while nothing is selected: shaft, steps and limits."""

from __future__ import annotations

from collections.abc import Callable
from typing import TypeVar

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QPushButton

from shaftscore.base import wording
from shaftscore.edits import Edited, set_limits, set_name, set_shaft
from shaftscore.model import Project, Turn
from shaftscore_app.document import Document
from shaftscore_app.document.binding import commit, show
from shaftscore_app.theme import Theme
from shaftscore_app.views.properties.form import Figure, PropertyForm
from shaftscore_app.widgets.choice import Choice, Option
from shaftscore_app.widgets.field import Field, Quantity
from shaftscore_app.widgets.quantities import millimetres, plain_angle, rpm_quantity, text_quantity

T = TypeVar("T")

TURNS: tuple[Option[Turn], ...] = (
    Option("clockwise", "Clockwise"),
    Option("counterclockwise", "Counterclockwise"),
)


FORMS = (
    ("Drive", "machine.drive"),
    ("Stacks", "machine.stacks"),
    ("Rules", "machine.rules"),
    ("Flow", "machine.flow"),
    ("Tolerances", "machine.tolerances"),
    ("Materials", "machine.materials"),
    ("Printer", "machine.print"),
    ("Notes", "machine.notes"),
)
"""What else the machine has forms for, and their commands."""


class MachineSection(PropertyForm):
    """The fields of the whole machine.

    Signals: form_wanted(command id) when a form is wanted.
    """

    form_wanted = Signal(str)

    def __init__(self, document: Document, theme: Theme) -> None:
        """Make the fields; `refresh` fills them."""
        super().__init__(theme)
        self._document, self._theme = document, theme
        self.name = self._add("Name", text_quantity())
        self.section("Shaft")
        self.turn: Choice[Turn] = Choice(theme, "Rotation (seen from top)")
        self.turn.set_options(TURNS)
        self.row("Rotation", self.turn)
        self.speed = self._add("Speed", rpm_quantity())
        self.top_speed = self._add("Highest speed", _top_speed())
        self.steps = self._add("Steps", _steps())
        self.cycle = self.figure("One turn takes")
        self.section("Limits")
        self.rise = self._add("Pressure angle", plain_angle())
        self.fall = self._add("On return strokes", plain_angle())
        self.crest = self._add("Crest radius", millimetres())
        self.hollow = self._add("Hollow margin", millimetres())
        self.largest = self._add("Largest disc", millimetres("half the bed"))
        self._add_forms()
        self._connect()
        self.fit()

    def _add_forms(self) -> None:
        """Add what is there of everything that has a form, with a button to it."""
        self.section("More of the machine")
        self._said_of: dict[str, Figure] = {}
        for name, command_id in FORMS:
            figure, button = Figure(name), QPushButton("Change…")
            button.setAutoDefault(False)
            button.setAccessibleName(f"Change {name.lower()}")
            button.setToolTip(button.accessibleName())
            button.clicked.connect(lambda _on=False, own=command_id: self.form_wanted.emit(own))
            self.row(name, figure, button, spans=(2, 2))
            self._said_of[name] = figure

    @property
    def first(self) -> Field[str]:
        """The field that gets the focus."""
        return self.name

    def refresh(self) -> None:
        """Show the machine."""
        project = self._document.project
        shaft, limits = project.shaft, project.limits
        self.heading.setText(project.name)
        self.remark.setText(wording.counted(len(project.lanes), "lane"))
        show(self.name, project.name)
        show(self.turn, shaft.turn)
        show(self.speed, shaft.speed_rpm)
        show(self.top_speed, shaft.speed_max_rpm)
        show(self.steps, shaft.steps if isinstance(shaft.steps, int) else None)
        show(self.cycle, wording.seconds(60.0 / shaft.speed_rpm))
        show(self.rise, limits.pressure_angle_deg)
        show(self.fall, limits.return_pressure_angle_deg)
        show(self.crest, limits.crest_radius_mm)
        show(self.hollow, limits.hollow_margin_mm)
        show(self.largest, limits.max_disc_radius_mm)
        for name, text in _summary(project).items():
            show(self._said_of[name], text)

    # Inside

    def _connect(self) -> None:
        self.turn.chosen.connect(self._set_turn)
        self._enters(self.name, set_name)
        self._enters(self.speed, lambda project, rpm: set_shaft(project, speed_rpm=rpm))
        self._enters(self.top_speed, lambda project, rpm: set_shaft(project, speed_max_rpm=rpm))
        self._enters(self.steps, lambda project, count: set_shaft(project, steps=count))
        self._enters(self.rise, lambda project, deg: set_limits(project, pressure_angle_deg=deg))
        self._enters(self.fall, lambda project, deg: set_limits(project, return_pressure_angle_deg=deg))
        self._enters(self.crest, lambda project, mm: set_limits(project, crest_radius_mm=mm))
        self._enters(self.hollow, lambda project, mm: set_limits(project, hollow_margin_mm=mm))
        self._enters(self.largest, lambda project, mm: set_limits(project, max_disc_radius_mm=mm))

    def _enters(self, field: Field[T], edit: Callable[[Project, T], Edited]) -> None:
        """Make what is entered in a field one step."""

        def enter(value: T) -> None:
            field.set_fault(self._do(lambda project: edit(project, value)))

        field.entered.connect(enter)

    def _set_turn(self, turn: Turn) -> None:
        self._do(lambda project: set_shaft(project, turn=turn))

    def _do(self, edit: Callable[[Project], Edited]) -> str:
        """Make one undo step; give why it cannot be."""
        document = self._document
        return commit(document, lambda: edit(document.committed))

    def _add(self, name: str, quantity: Quantity[T]) -> Field[T]:
        field = Field(self._theme, name, quantity)
        self.row(name, field)
        return field


def _summary(project: Project) -> dict[str, str]:
    """Write in a word what there is of each thing that has a form."""
    drive, flow = project.drive, project.flow
    return {
        "Drive": "none" if drive is None else drive.source.kind,
        "Stacks": wording.counted(len(project.stacks), "stack"),
        "Rules": wording.counted(len(project.rules), "rule"),
        "Flow": "none" if flow is None else wording.counted(len(flow.gates), "gate"),
        "Tolerances": f"±{wording.degrees(project.tolerances.disc_angle_deg, 2)}",
        "Materials": f"{len(project.materials)} of its own" if project.materials else "built-in",
        "Printer": f"{wording.plain(project.print.bed_x_mm)} × {wording.plain(project.print.bed_y_mm)} mm",
        "Notes": "yes" if project.notes else "none",
    }


def _top_speed() -> Quantity[float]:
    nominal = rpm_quantity()
    return Quantity(nominal.unit, nominal.spoken, nominal.write, nominal.read, "same as speed")


def _steps() -> Quantity[int]:
    return Quantity("steps", "count", str, _read_steps, "uneven")


def _read_steps(text: str) -> int:
    value = wording.parse_number(text.lower().removesuffix("steps").strip())
    if value != int(value) or not 1 <= value <= 720:
        raise ValueError(f"The count of steps is a whole number from 1 to 720, got {wording.plain(value)}")
    return int(value)
