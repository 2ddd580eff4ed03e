"""The field that a cure changes, and the command whose form shows it.

The cure is made in a copy and the copy compared with the project, so that the place of any cure that is an
edit is found, whatever the edit is called. No Qt.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass

from shaftscore.base.errors import ShaftscoreError
from shaftscore.edits import apply_edit
from shaftscore.judge.findings import Cure, Finding
from shaftscore.judge.report import AREA_OF
from shaftscore.model import Project
from shaftscore.model.base import Record


@dataclass(frozen=True)
class FormPlace:
    """A form and a field in it: text of the button, command of the menus, the lane it is about, path."""

    text: str
    command: str
    lane_id: str | None = None
    path: str = ""


_LANE = re.compile(r"lanes\[(\d+)\]\.(load|follower|disc)\b")
_LANE_FORMS = {"load": "Go to load…", "follower": "Go to follower…", "disc": "Go to disc…"}
_FORMS = {
    "flow": FormPlace("Go to flow…", "machine.flow"),
    "drive": FormPlace("Go to drive…", "machine.drive"),
    "stacks": FormPlace("Go to stack…", "machine.stacks"),
    "frame": FormPlace("Go to frame…", "machine.frame"),
    "rules": FormPlace("Go to rules…", "machine.rules"),
    "shaft": FormPlace("Go to shaft…", "machine.shaft"),
}
"""First step of a path to the form that edits it."""

_FORM_OF_AREA = {"items": "flow", "torque": "drive", "fits": "stacks", "heights": "stacks", "shaft": "stacks"}
"""Where what is found in an area is cured by hand, as the first step of a path."""


def place_of_cure(finding: Finding, project: Project) -> FormPlace | None:
    """Return the form and field that cure a finding; None where that is in the diagram."""
    cure = finding.cure
    if cure is not None and cure.is_edit:
        return _place_of(project, _changed_path(project, cure))
    area = AREA_OF.get(finding.rule, "")
    if area == "forces" and finding.lanes:
        return _place_of(project, f"lanes[{project.lane_index[finding.lanes[0]]}].load")
    return _place_of(project, _FORM_OF_AREA.get(area, ""))


def first_difference(before: object, after: object) -> str:
    """Return the path of the first value in which two records differ, as in the errors of a project file.

    The path ends at a list whose length changed or at a record of another kind; it is empty where nothing
    differs.
    """
    if isinstance(before, Record) and type(before) is type(after):
        return _in_records(before, after)
    if isinstance(before, tuple) and isinstance(after, tuple) and len(before) == len(after):
        return _in_lists(before, after)
    return ""


def _in_records(before: Record, after: object) -> str:
    for name, field in type(before).model_fields.items():
        was, now = getattr(before, name), getattr(after, name)
        if was is not now and was != now:
            return _joined(field.alias or name, first_difference(was, now))
    return ""


def _in_lists(before: Sequence[object], after: Sequence[object]) -> str:
    for place, (was, now) in enumerate(zip(before, after, strict=True)):
        if was is not now and was != now:
            return _joined(f"[{place}]", first_difference(was, now))
    return ""


def _joined(first: str, rest: str) -> str:
    """Join two steps of a path: a place in a list follows without a full stop."""
    return first + rest if not rest or rest.startswith("[") else f"{first}.{rest}"


def _changed_path(project: Project, cure: Cure) -> str:
    """Return the path of what a cure changes first; empty where it can no longer be made."""
    try:
        return first_difference(project, apply_edit(project, cure.edit or "", **cure.arguments).project)
    except ShaftscoreError:
        return ""


def _place_of(project: Project, path: str) -> FormPlace | None:
    """Return the form of a path; None where no form edits it."""
    match = _LANE.match(path)
    if match is not None:
        lane = project.lanes[int(match[1])]
        return FormPlace(_LANE_FORMS[match[2]], f"lane.{match[2]}", lane.id, path)
    form = _FORMS.get(re.split(r"[.\[]", path, maxsplit=1)[0])
    return None if form is None else FormPlace(form.text, form.command, path=path)
