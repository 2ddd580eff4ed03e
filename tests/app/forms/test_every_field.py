"""Nothing needs a text editor: every field of the file format is edited by a form, a view or a dialog.

The marks of forms and Properties are taken from the widgets themselves, so that a field added to a
record, and not to a form, is seen here.
"""

from __future__ import annotations

import re
from collections.abc import Iterator

import pytest

from shaftscore.base.wording import parse_quantity
from shaftscore.model import (
    Disc,
    FollowerParts,
    Lane,
    Load,
    Project,
    SwingingRoller,
    TranslatingFlat,
    TranslatingRoller,
)
from shaftscore.model.base import Record
from shaftscore.model.faults import records_in
from shaftscore_app.forms.context import Context
from shaftscore_app.forms.editors import worded
from shaftscore_app.forms.parts import FORMS
from shaftscore_app.forms.record_form import RecordForm
from shaftscore_app.forms.specs import specs_of
from shaftscore_app.frame.main_window import MainWindow
from shaftscore_app.theme import Theme
from shaftscore_app.views.properties.live import LaneRows, marks_of

Mark = tuple[str, str]

ELSEWHERE: dict[Mark, str] = {
    ("Project", "format"): "fixed",
    ("Project", "version"): "fixed",
    ("Project", "name"): "Machine > Name and notes, Properties",
    ("Project", "notes"): "Machine > Name and notes",
    ("Project", "shaft"): "Machine > Shaft and steps",
    ("Project", "drive"): "Machine > Motor and drive train",
    ("Project", "lanes"): "Lane > New lane, Delete lane, Move up, down",
    ("Project", "rules"): "Machine > Rules between lanes",
    ("Project", "flow"): "Machine > Flow",
    ("Project", "tolerances"): "Machine > Tolerances",
    ("Project", "limits"): "Machine > Limits",
    ("Project", "materials"): "Machine > Materials",
    ("Project", "print"): "Machine > Printer",
    ("Project", "duty"): "Machine > Duty",
    ("Project", "measured"): "Lane > Correct from measurements",
    ("Measured", "lane"): "Lane > Correct from measurements",
    ("Measured", "level"): "Lane > Correct from measurements",
    ("Measured", "edge"): "Lane > Correct from measurements",
    ("Measured", "angle_deg"): "Lane > Correct from measurements",
    ("Measured", "sense"): "Lane > Correct from measurements",
    ("Lane", "id"): "given once, by its name",
    ("Lane", "name"): "Properties",
    ("Lane", "kind"): "Properties",
    ("Lane", "levels"): "Lane > Levels",
    ("Lane", "guarded"): "Lane > Levels",
    ("Lane", "blocks"): "the timing diagram",
    ("Lane", "follower"): "Properties, Lane > Follower",
    ("Lane", "disc"): "Properties, Lane > Disc",
    ("Lane", "load"): "Properties, Lane > Load",
    ("Lane", "parts"): "Lane > Follower parts",
    ("Project", "frame"): "Machine > Frame",
    ("Lane", "points"): "Lane > Points from CSV",
    ("MotionPoint", "theta_deg"): "Lane > Points from CSV",
    ("MotionPoint", "output_mm"): "Lane > Points from CSV",
    ("Block", "level"): "Properties",
    ("Block", "start_deg"): "Properties",
    ("Block", "end_deg"): "Properties",
    ("Block", "locked"): "Properties",
    ("Block", "window"): "Properties",
    ("Window", "earliest_deg"): "Properties",
    ("Window", "latest_deg"): "Properties",
    ("Block", "min_length_deg"): "Properties",
    ("Block", "min_length_s"): "Properties",
    ("Block", "law"): "Properties",
    ("Project", "grid"): "Lane > Make program",
    ("LaneGrid", "rows"): "Lane > Make program",
    ("LaneGrid", "columns"): "Lane > Make program",
    ("LaneGrid", "cells"): "Lane > Make program",
    ("Project", "home"): "Check > Bring-up",
    ("Home", "angle_deg"): "Check > Bring-up",
    ("Project", "log"): "Check > Log-book",
    ("LogEntry", "date"): "Check > Log-book",
    ("LogEntry", "text"): "Check > Log-book",
    ("LogEntry", "revisions"): "Check > Log-book",
    ("Project", "bring_up"): "Check > Bring-up",
    ("BringUp", "date"): "Check > Bring-up",
    ("BringUp", "revisions"): "Check > Bring-up",
    ("BringUp", "checks"): "Check > Bring-up",
    ("BringUp", "arrived"): "Check > Bring-up",
    ("BringUpCheck", "angle_deg"): "Check > Bring-up",
    ("BringUpCheck", "seen"): "Check > Bring-up",
}
"""What is edited by something made for it, and by what; tests of those are beside them."""


def _records(record: type[Record], seen: set[type[Record]]) -> Iterator[type[Record]]:
    if record in seen:
        return
    seen.add(record)
    yield record
    for info in record.model_fields.values():
        for inner in records_in(info.annotation):
            yield from _records(inner, seen)


def _all_fields() -> set[Mark]:
    """Return every (record, field) that a file may have; `kind` that only tells records apart is one too."""
    return {(r.__name__, name) for r in _records(Project, set()) for name in r.model_fields}


def _form_marks(theme: Theme, project: Project) -> set[Mark]:
    marks: set[Mark] = set()
    editors = [form.editor(theme, project) for form in FORMS.values()]
    editors.append(RecordForm(theme, Context(project), [TranslatingRoller, SwingingRoller, TranslatingFlat]))
    editors.append(RecordForm(theme, Context(project), [Disc]))
    editors.append(RecordForm(theme, Context(project), [Load]))
    editors.append(RecordForm(theme, Context(project), [FollowerParts]))
    for editor in editors:
        marks |= editor.all_marks()
        editor.deleteLater()
    return marks


@pytest.fixture
def marks(window: MainWindow) -> set[Mark]:
    rows: LaneRows = window.properties.lane.rows
    return _form_marks(window.theme, window.document.project) | set(marks_of(rows))


def test_every_field_of_the_format_is_edited_somewhere(marks: set[Mark]) -> None:
    missing = {mark for mark in _all_fields() - marks if mark not in ELSEWHERE}
    assert not missing


def test_nothing_is_said_to_be_edited_that_is_not_there(marks: set[Mark]) -> None:
    bases = {"FollowerBase"}
    fields = _all_fields()
    assert not {mark for mark in ELSEWHERE if mark not in fields}
    assert not {mark for mark in marks if mark not in fields and mark[0] not in bases}


def test_a_field_that_no_form_shows_would_be_seen(marks: set[Mark]) -> None:
    assert ("Stack", "backlash_deg") in marks
    assert ("Stack", "backlash_deg") not in ELSEWHERE
    assert ("Stack", "made_up_mm") not in marks


@pytest.mark.parametrize("record", list(_records(Project, set())), ids=lambda record: record.__name__)
def test_every_number_has_its_unit_and_its_range(record: type[Record]) -> None:
    """A number without a unit is a ratio, a coefficient, or a count whose unit is its noun."""
    plain = {
        "torque_reserve",
        "efficiency",
        "output_ratio",
        "contact_friction",
        "guide_friction",
        "poisson",
        "friction",
        "static_ratio",
        "ratio",
        "force_reserve",
        "count",
        "version",
        "rows",
        "columns",
    }
    for spec in specs_of(record):
        if spec.kind in ("number", "count") and spec.fields[0] not in plain:
            assert spec.unit, spec
            assert spec.spoken, spec
            if spec.kind == "number":
                assert parse_quantity(f"2 {spec.unit}", spec.unit) == 2, spec
        if spec.kind == "number" and not spec.auto:
            assert spec.span, spec


def _told(record: type[Record]) -> dict[str, str]:
    """Return what the records' own text says of each field: its "field: sentence" parts."""
    found: dict[str, str] = {}
    for base in reversed(record.__mro__):
        if issubclass(base, Record) and base is not Record:
            found |= _told_by(base)
    return found


def _told_by(record: type[Record]) -> dict[str, str]:
    text = " ".join((record.__doc__ or "").split())
    found: dict[str, str] = {}
    names: list[str] = []
    for sentence in re.split(r"(?<=\.) ", text):
        head, colon, rest = sentence.partition(": ")
        words = re.split(r", | and | or ", re.sub(r" \(.*?\)", "", head))
        if colon and all(word in record.model_fields or word in ("from",) for word in words):
            names, said = words, rest
        else:
            said = sentence if names else ""
        for name in names:
            found[name] = f"{found.get(name, '')} {said}".strip()
    return {name: said.rstrip(".") for name, said in found.items()}


@pytest.mark.parametrize("record", list(_records(Project, set())), ids=lambda record: record.__name__)
def test_what_a_field_means_is_told_by_the_records_text(record: type[Record]) -> None:
    told = _told(record)
    assert set(told) <= {*record.model_fields, "from"}
    numbers = [name for name in record.model_fields if name.endswith(("_mm", "_deg", "_rpm", "_nm"))]
    unsaid = [name for name in numbers if not told.get(name)]
    if record not in (Lane,) and record.__name__ not in TOLD_AS_A_WHOLE:
        assert not unsaid


TOLD_AS_A_WHOLE = {
    "RangeState",
    "LinkPoint",
    "MotionPoint",
    "Window",
    "Block",
    "TranslatingFlat",
    "Order",
    "Reload",
    "Measured",
}
"""Records whose text says their few fields in one sentence."""


@pytest.mark.parametrize("record", list(_records(Project, set())), ids=lambda record: record.__name__)
def test_every_tooltip_is_a_sentence_of_its_own(record: type[Record]) -> None:
    """It says more than the label, begins like a sentence, and shows no key of the file."""
    specs = [] if record is Project else specs_of(record)
    bare = re.compile(r"(Of|To|For|In|By|As|On|At|With|Which|That) ")
    for spec in specs:
        assert spec.advice, f"{record.__name__}.{spec.key} has no text in forms/tips.py"
        assert spec.advice.lower() != spec.label.lower(), spec
        assert spec.advice[0].isupper() or spec.advice[0].isdigit(), spec
        assert not re.search(r"[a-z]_[a-z]|\b(null|id|absent)\b", spec.advice), spec
        assert not bare.match(spec.advice), spec
        assert len(spec.advice) <= 150, spec
        assert not spec.advice.endswith("."), spec


def test_choices_of_a_stack_say_what_is_done() -> None:
    shown = {choice: worded(choice) for choice in ("as-they-lie", "one-way", "lined-up", "built", "drawing")}
    assert shown == {
        "as-they-lie": "Tightened as they lie",
        "one-way": "Turned one way while tightened",
        "lined-up": "Lined up",
        "built": "On the built stack",
        "drawing": "By dimension, as drawn",
    }
