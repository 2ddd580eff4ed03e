"""Which stack the Stack and the Shaft view show."""

from __future__ import annotations

from shaftscore.model import Project, Stack


def stack_shown(project: Project, stack_id: str | None, lane_id: str | None) -> Stack:
    """Return the stack that was chosen, else that of the selected lane, else the first.

    stack_id: None where none was chosen. Ids that the project does not have count as none.
    """
    chosen = next((stack for stack in project.stacks if stack.id == stack_id), None)
    if chosen is not None:
        return chosen
    if lane_id is not None and lane_id in project.lane_index:
        return project.stack_of(project.lane(lane_id))
    return project.stacks[0]
