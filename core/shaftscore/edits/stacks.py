"""The edit of all stacks at once: added, removed, put in order, and which lanes they carry."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from itertools import islice
from typing import Any

from shaftscore.base.errors import EditError, Fault
from shaftscore.base.wording import listed
from shaftscore.edits.base import Edited, changed
from shaftscore.edits.drafts import Draft, ProjectPart, draft_of
from shaftscore.model.lanes import Lane
from shaftscore.model.project import Project
from shaftscore.model.references import reference_faults
from shaftscore.model.shaft import Stack


def set_stacks(project: Project, stacks: Sequence[Stack], homes: Mapping[str, str] | None = None) -> Edited:
    """Replace the stacks.

    homes: lane id to the stack that it moves to; the riders on its disc go with it. Lanes that named no
    stack stay on the one that was the first. Raises EditError if a stack that carries lanes would go.
    """
    made = _with_stacks(project, stacks, homes or {})
    faults = list(islice(reference_faults(made), 3))
    if faults:
        raise EditError("; ".join(str(fault) for fault in faults))
    return Edited(made, "Change the stacks")


def _with_stacks(project: Project, stacks: Sequence[Stack], homes: Mapping[str, str]) -> Project:
    """Put stacks and lanes together; raises EditError if a lane would stand on a stack that goes."""
    there = [stack.id for stack in stacks]
    lanes = tuple(_moved(project, lane, homes, there[:1]) for lane in project.lanes)
    lost = [lane for lane in lanes if lane.stack is not None and lane.stack not in there]
    if lost:
        gone = next(stack for stack in project.stacks if stack.id == lost[0].stack)
        names = listed([lane.label for lane in lost[:5]])
        raise EditError(f"{gone.label} carries {names}; put them on another stack first")
    return changed(project, stacks=tuple(_in_order(stack, homes) for stack in stacks), lanes=lanes)


def _moved(project: Project, lane: Lane, homes: Mapping[str, str], first: Sequence[str]) -> Lane:
    """Move a lane to its new stack; one that stays and named none names its stack only if it must."""
    own = homes.get(lane.disc_of or lane.id)
    if own is not None:
        return lane if lane.stack is None and lane.disc_of is not None else changed(lane, stack=own)
    before = project.stacks[0].id
    if lane.stack is None and lane.disc_of is None and list(first) != [before]:
        return changed(lane, stack=before)
    return lane


def _in_order(stack: Stack, homes: Mapping[str, str]) -> Stack:
    """Leave out of a stack's order what moves to another."""
    order = tuple(lane for lane in stack.order if homes.get(lane, stack.id) == stack.id)
    return stack if order == stack.order else changed(stack, order=order)


@dataclass(frozen=True)
class StacksPart:
    """All stacks as a part; its draft is {"stacks": drafts, "homes": {lane: stack}}."""

    stacks: ProjectPart = field(default_factory=lambda: ProjectPart("stacks", set_stacks))

    def draft(self, project: Project) -> Draft:
        """Return the stacks that are there."""
        return {"stacks": draft_of(project.stacks), "homes": {}}

    def faults(self, project: Project, draft: Draft) -> list[Fault]:
        """Describe what is wrong with a draft; paths begin at the list of stacks."""
        made = self.stacks.records(draft["stacks"])
        if isinstance(made, list):
            return made
        try:
            candidate = _with_stacks(project, made, draft["homes"])
        except EditError as error:
            return [Fault("", str(error))]
        return self.stacks.within(reference_faults(candidate))

    def edited(self, project: Project, draft: Draft) -> Edited:
        """Put a draft there. Raises EditError with all that is wrong in it."""
        made: Any = self.stacks.records(draft["stacks"])
        if isinstance(made, list):
            raise EditError("; ".join(str(fault) for fault in made))
        return set_stacks(project, made, draft["homes"])
