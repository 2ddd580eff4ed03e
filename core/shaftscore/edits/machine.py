"""Edits of the machine as a whole: its name, shaft, drive, stacks, rules, flow, limits and tolerances."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

from shaftscore.base.errors import EditError
from shaftscore.base.wording import did_you_mean, listed
from shaftscore.edits.base import Edited, changed, consistent
from shaftscore.model.flow import Flow
from shaftscore.model.parts import MachineFrame
from shaftscore.model.project import Area, Duty, Material, Measured, Project
from shaftscore.model.rules import Rule
from shaftscore.model.shaft import Drive, Stack


def set_name(project: Project, name: str) -> Edited:
    """Name the project; raises EditError if the name is over 200 characters."""
    return Edited(changed(project, name=name), f"Name the project {name}")


def set_notes(project: Project, notes: str) -> Edited:
    """Write the project's notes; raises EditError if they are over 100,000 characters."""
    return Edited(changed(project, notes=notes), "Change the notes")


def set_names(project: Project, name: str, notes: str) -> Edited:
    """Name the project and write its notes; raises EditError if one of them is too long."""
    return Edited(changed(project, name=name, notes=notes), "Change name and notes")


def words_of(fields: Sequence[str]) -> str:
    """Turn field names into words ("speed_rpm" to "speed")."""
    units = (
        "_deg",
        "_mm",
        "_rpm",
        "_nm",
        "_n",
        "_s",
        "_g",
        "_percent",
        "_per_min",
        "_n_per_mm",
        "_mm3_s",
        "_gpa",
        "_mpa",
    )
    words = []
    for name in fields:
        unit = next((unit for unit in sorted(units, key=len, reverse=True) if name.endswith(unit)), "")
        words.append(name.removesuffix(unit).replace("_", " "))
    return listed(words)


def _part(part: str, noun: str) -> Callable[..., Edited]:
    """Make the edit of some fields of one part of the project."""

    def edit(project: Project, **fields: Any) -> Edited:
        made = changed(getattr(project, part), **fields)
        return Edited(consistent(changed(project, **{part: made})), f"Change {noun} {words_of([*fields])}")

    edit.__name__ = f"set_{part}"
    edit.__doc__ = f"Change fields of the project's `{part}`; raises EditError if they are not allowed."
    return edit


set_shaft = _part("shaft", "the shaft’s")
set_limits = _part("limits", "the limit of")
set_tolerances = _part("tolerances", "the tolerance of")
set_print = _part("print", "the printer’s")


def set_drive(project: Project, drive: Drive | None) -> Edited:
    """Set the machine's motor or crank with its train, or remove it."""
    return Edited(changed(project, drive=drive), "Change the drive" if drive else "Remove the drive")


def set_stage(project: Project, number: int, **fields: Any) -> Edited:
    """Change fields of a stage of the train, counted from 1; raises EditError if it is not there."""
    drive = project.drive
    if drive is None or not 1 <= number <= len(drive.stages):
        count = 0 if drive is None else len(drive.stages)
        raise EditError(f"there is no stage {number}; the train has {count}")
    made = changed(drive.stages[number - 1], **fields)
    stages = (*drive.stages[: number - 1], made, *drive.stages[number:])
    text = f"Change stage {number}’s {words_of([*fields])}"
    return Edited(changed(project, drive=changed(drive, stages=stages)), text)


def set_rules(project: Project, rules: Sequence[Rule]) -> Edited:
    """Replace the rules; raises EditError if one names a lane or level that is not there."""
    return Edited(consistent(changed(project, rules=tuple(rules))), "Change the rules")


def set_flow(project: Project, flow: Flow | None) -> Edited:
    """Replace or remove the flow, one without parts counts as none.

    Raises EditError if it names what is not there.
    """
    flow = flow if flow is not None and flow.ids else None
    name = "Change the flow" if flow else "Remove the flow"
    before = project.flow if project.flow is not None and project.flow.ids else None
    return Edited(project if flow == before else consistent(changed(project, flow=flow)), name)


def set_materials(project: Project, materials: Sequence[Material]) -> Edited:
    """Replace the materials; raises EditError if one that is used goes, or a name is doubled."""
    return Edited(consistent(changed(project, materials=tuple(materials))), "Change the materials")


def set_measured(project: Project, measured: Sequence[Measured]) -> Edited:
    """Write down what was measured; raises EditError if it names a lane or level that is not there."""
    return Edited(consistent(changed(project, measured=tuple(measured))), "Change what was measured")


def set_duty(project: Project, duty: Duty | None) -> Edited:
    """Set how long the machine runs, or remove it."""
    return Edited(changed(project, duty=duty), "Change the duty" if duty else "Remove the duty")


def set_frame(project: Project, frame: MachineFrame | None) -> Edited:
    """Set the frame, or remove it; raises EditError if its material is not there."""
    named = "Change the frame" if frame else "Remove the frame"
    return Edited(consistent(changed(project, frame=frame)), named)


def set_not_needed(project: Project, not_needed: Sequence[Area]) -> Edited:
    """Set the areas of the verdict that are left out; raises EditError if one is named twice."""
    return Edited(changed(project, not_needed=tuple(not_needed)), "Change the areas not needed")


def stack_of(project: Project, stack_id: str) -> Stack:
    """Return a stack by id; raises EditError if there is none."""
    for stack in project.stacks:
        if stack.id == stack_id:
            return stack
    hint = did_you_mean(stack_id, [stack.id for stack in project.stacks])
    raise EditError(f'there is no stack "{stack_id}"' + (f"; {hint}" if hint else ""))


def set_stack(project: Project, stack_id: str, **fields: Any) -> Edited:
    """Change fields of a stack; raises EditError if it is not there or they are not allowed."""
    own = stack_of(project, stack_id)
    if fields.get("id", stack_id) != stack_id:
        raise EditError(f'the id "{stack_id}" stays, since others refer to it; change the name instead')
    made = changed(own, **fields)
    stacks = tuple(made if stack is own else stack for stack in project.stacks)
    return Edited(consistent(changed(project, stacks=stacks)), f"Change {own.label}’s {words_of([*fields])}")


def add_stack(project: Project, stack: Stack) -> Edited:
    """Add a shaft that carries discs; raises EditError if its id is taken."""
    made = changed(project, stacks=(*project.stacks, stack))
    return Edited(consistent(made), f"Add the stack {stack.label}")


def delete_stack(project: Project, stack_id: str) -> Edited:
    """Remove a stack; raises EditError if lanes are on it or it is the last."""
    own = stack_of(project, stack_id)
    used = [lane.label for lane in project.lanes if project.stack_of(lane) is own]
    if used:
        raise EditError(f"{own.label} carries {listed(used[:5])}; put them on another stack first")
    made = changed(project, stacks=tuple(stack for stack in project.stacks if stack is not own))
    return Edited(consistent(made), f"Delete the stack {own.label}")
