"""The form of the drive, with the speed, sense and torque that reach the shaft above its rows."""

from __future__ import annotations

from pydantic import ValidationError
from PySide6.QtWidgets import QLabel

from shaftscore.base import wording
from shaftscore.judge.loads import drive as drives
from shaftscore.model import Drive, Project
from shaftscore_app.forms.context import Context
from shaftscore_app.forms.draft import ABSENT, Entry
from shaftscore_app.forms.record_form import RecordForm
from shaftscore_app.theme import Theme

OFF = 0.02
"""A speed that is so far from the machine's, as a share of it, is another one."""


class DriveForm(RecordForm):
    """Edits the draft of a drive and shows what reaches the master shaft while it is typed."""

    reached: QLabel

    def __init__(self, theme: Theme, project: Project) -> None:
        """Make the form for a project, with whose speed and sense the drive is compared."""
        self._project = project
        super().__init__(theme, Context(project), [Drive])
        self.changed.connect(self._show_reached)

    def _add_top(self) -> None:
        super()._add_top()
        self.reached = QLabel()
        self.reached.setFont(self._theme.font(12, 600))
        self.reached.setWordWrap(True)
        self.reached.setMinimumHeight(2 * self.reached.fontMetrics().lineSpacing())
        self._column.addWidget(self.reached)

    def set_value(self, value: Entry) -> None:
        """Show a draft, and what reaches the shaft."""
        super().set_value(value)
        self._show_reached()

    def _show_reached(self) -> None:
        self.reached.setText(reached_words(self._project, self.value()))


def reached_words(project: Project, draft: Entry) -> str:
    """Write what a drive brings to the master shaft; that values are missing where it is no drive yet."""
    try:
        drive = Drive.model_validate({} if draft is ABSENT else draft)
    except ValidationError:  # the rows say what is wrong
        return "At the shaft: values are missing or invalid."
    turn, speed = drives.shaft_turn(drive), drives.shaft_speed_rpm(drive)
    given, allowed = drives.given_torque_nm(drive), drives.allowed_torque_nm(drive)
    parts = [
        turn if speed is None else f"{wording.plain(speed, 3)} rev/min {turn}",
        f"{_torque(given)}, {_torque(allowed)} with the reserve",
    ]
    return f"At the shaft: {', '.join(parts)}.{_differences(project, speed, turn)}"


def _torque(nm: float) -> str:
    """Write a torque to two digits at least, however small."""
    return f"{wording.plain(nm, 3 if nm < 1 else 2)} N·m"


def _differences(project: Project, speed: float | None, turn: str) -> str:
    """Return where the machine runs otherwise, as a sentence."""
    shaft, said = project.shaft, []
    if speed is not None and abs(speed - shaft.speed_rpm) > OFF * shaft.speed_rpm:
        said.append(f"{wording.plain(shaft.speed_rpm, 3)} rev/min")
    if turn != shaft.turn:
        said.append(shaft.turn)
    return f" The machine is set to {wording.listed(said)}." if said else ""
