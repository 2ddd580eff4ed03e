"""Which form belongs to which part of the project: the table behind the items of the menu Machine."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import TypeVar

from shaftscore.base import wording
from shaftscore.edits import (
    Edited,
    set_drive,
    set_duty,
    set_flow,
    set_frame,
    set_limits,
    set_materials,
    set_not_needed,
    set_print,
    set_rules,
    set_shaft,
    set_tolerances,
)
from shaftscore.edits.drafts import DraftPart, ProjectPart
from shaftscore.edits.stacks import StacksPart
from shaftscore.model import (
    Drive,
    Duty,
    Exclusive,
    Limits,
    MachineFrame,
    Order,
    Print,
    Project,
    Record,
    Requires,
    Shaft,
    Tolerances,
)
from shaftscore_app.forms.context import Context
from shaftscore_app.forms.draft import Draft, draft_in, drafts_in
from shaftscore_app.forms.drive_form import DriveForm
from shaftscore_app.forms.editors import FieldEditor, Mark
from shaftscore_app.forms.flow_form import FlowForm
from shaftscore_app.forms.listing import ListEditor, ListHabits
from shaftscore_app.forms.own import AreasEditor, StepsEditor
from shaftscore_app.forms.record_form import RecordForm, rows_of
from shaftscore_app.forms.specs import Spec, kind_of, specs_of, starter_of, title_of
from shaftscore_app.forms.stacks_form import StacksForm
from shaftscore_app.forms.titles import Titles
from shaftscore_app.theme import Theme

HANDS = "Turning parts pinch, springs store energy, stalled motors grow hot: see Help > Cautions."


@dataclass(frozen=True)
class PartForm:
    """A form: what it edits, its titles, its editor, and the draft to begin with where there is none."""

    part: DraftPart
    titles: Titles
    editor: Callable[[Theme, Project], FieldEditor]
    starter: Draft | None = None


R = TypeVar("R", bound=Record)


def _whole(of: Callable[[Project], R], edit: Callable[..., Edited]) -> Callable[[Project, R], Edited]:
    """Let an edit of fields take a whole record; only fields that differ are named in the step.

    of: returns the record that the edit changes.
    """

    def edit_whole(project: Project, made: R) -> Edited:
        own = of(project)
        fields = type(made).model_fields
        changes = {key: getattr(made, key) for key in fields if getattr(made, key) != getattr(own, key)}
        return edit(project, **changes) if changes else Edited(project, "")

    return edit_whole


def _record(
    record: type[Record], own: Mapping[Mark, type[StepsEditor]] | None = None
) -> Callable[[Theme, Project], FieldEditor]:
    def make(theme: Theme, project: Project) -> FieldEditor:
        made = {mark: (lambda spec, e=editor: e(spec, theme)) for mark, editor in (own or {}).items()}
        return RecordForm(theme, Context(project), [record], own=made)

    return make


def _project_spec(key: str) -> Spec:
    return next(spec for spec in specs_of(Project) if spec.key == key)


def _materials(theme: Theme, project: Project) -> FieldEditor:
    return rows_of(_project_spec("materials"), theme, Context(project))


RULES: Sequence[type[Record]] = (Exclusive, Requires, Order)


def _rules(theme: Theme, project: Project) -> FieldEditor:
    context = Context(project)

    def starter(kind: str, _there: Sequence[Draft]) -> Draft:
        first, second = context.first_state(0), context.first_state(1)
        states: Mapping[str, Draft] = {
            "exclusive": {"states": (first, second)},
            "requires": {"when": first, "need": second},
            "order": {"first": first, "then": second},
        }
        record = next(record for record in RULES if kind_of(record) == kind)
        return {**starter_of(record), **states[kind]}

    habits = ListHabits(
        "rule", {kind_of(r): title_of(r) for r in RULES}, starter, lambda draft: rule_words(context, draft)
    )
    form = RecordForm(theme, context, RULES)
    return ListEditor(_project_spec("rules"), theme, form, habits)


def rule_words(context: Context, draft: Draft) -> str:
    """Write a rule in a line."""
    kind = draft.get("kind")
    if kind == "exclusive":
        names = [context.state_words(state) for state in drafts_in(draft.get("states"))]
        return f"Mutually exclusive: {wording.listed(names[:3])}" + (" …" if len(names) > 3 else "")
    first, then = ("when", "need") if kind == "requires" else ("first", "then")
    words = [context.state_words(draft_in(draft, key)) for key in (first, then)]
    return f"{words[0]} needs {words[1]}" if kind == "requires" else f"{words[0]}, then {words[1]}"


FORMS: Mapping[str, PartForm] = {
    "machine.shaft": PartForm(
        ProjectPart("shaft", _whole(lambda project: project.shaft, set_shaft)),
        Titles("Shaft and steps", "The master shaft: one turn is one cycle", size=(620, 430)),
        _record(Shaft, {("Shaft", "steps"): StepsEditor}),
    ),
    "machine.drive": PartForm(
        ProjectPart("drive", set_drive),
        Titles(
            "Motor and drive train",
            "Motor or crank, with the stages of its train",
            HANDS,
            "The machine has no drive yet: torque and rotation are not checked.",
            "Remove drive",
            (820, 560),
        ),
        DriveForm,
        {"source": {**starter_of(next(s for s in specs_of(Drive) if s.key == "source").records[0])}},
    ),
    "machine.stacks": PartForm(
        StacksPart(),
        Titles("Stacks and order", "Shafts with their discs and spacers", size=(940, 720)),
        StacksForm,
    ),
    "machine.rules": PartForm(
        ProjectPart("rules", set_rules),
        Titles("Rules between lanes", "States that exclude or require one another", size=(1040, 520)),
        _rules,
    ),
    "machine.flow": PartForm(
        ProjectPart("flow", set_flow),
        Titles(
            "Flow",
            "Supplies, magazines, gates, channels and outlets",
            absent="Nothing flows through the machine yet.",
            removal="Remove flow",
            size=(980, 640),
        ),
        FlowForm,
        {},
    ),
    "machine.tolerances": PartForm(
        ProjectPart("tolerances", _whole(lambda project: project.tolerances, set_tolerances)),
        Titles("Tolerances", "Errors of parts and times, plus or minus", size=(560, 560)),
        _record(Tolerances),
    ),
    "machine.limits": PartForm(
        ProjectPart("limits", _whole(lambda project: project.limits, set_limits)),
        Titles("Limits", "Limits that every disc must keep", size=(560, 440)),
        _record(Limits),
    ),
    "machine.materials": PartForm(
        ProjectPart("materials", set_materials),
        Titles(
            "Materials",
            "Materials of this machine",
            "They go before the built-in ones of the same name. Take values from the maker of the material.",
            size=(760, 380),
        ),
        _materials,
    ),
    "machine.print": PartForm(
        ProjectPart("print", _whole(lambda project: project.print, set_print)),
        Titles(
            "Printer",
            "Build volume, and corrections measured on the printer",
            "Corrections are applied in export only; the program stays as it is.",
            size=(560, 600),
        ),
        _record(Print),
    ),
    "machine.frame": PartForm(
        ProjectPart("frame", set_frame),
        Titles(
            "Frame",
            "Plates, pillars and place of the motor",
            absent="The machine has no frame yet: no plates and pillars are made.",
            removal="Remove frame",
            size=(560, 480),
        ),
        _record(MachineFrame),
        starter_of(MachineFrame),
    ),
    "machine.duty": PartForm(
        ProjectPart("duty", set_duty),
        Titles(
            "Duty",
            "Running time of the machine",
            absent="The machine has no duty yet: wear is not checked.",
            removal="Remove duty",
            size=(520, 300),
        ),
        _record(Duty),
        starter_of(Duty),
    ),
    "machine.not_needed": PartForm(
        ProjectPart("not_needed", set_not_needed),
        Titles("Areas not needed", "Areas that the verdict leaves out", size=(520, 400)),
        lambda theme, _project: AreasEditor(_project_spec("not_needed"), theme),
    ),
}
"""Command id to its form."""
