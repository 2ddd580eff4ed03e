"""The discs and spacers of a stack, where they lie on their shaft."""

from __future__ import annotations

from collections.abc import Iterator

from shaftscore.layout.placed import Placement, turning
from shaftscore.model import Project, Stack
from shaftscore.stack import stack_plan, turn_sign


def stack_placements(project: Project, stack: Stack, at: complex = 0j) -> Iterator[Placement]:
    """Yield the discs and spacers of a stack, bottom to top, by the codes of their parts.

    All have their zero marks on the reference line when the machine is at 0°. at: axis of the stack, mm.
    """
    course = turning(turn_sign(project, stack) * stack.turns, at)
    spacer, number = own_code("SPACER", project, stack), 0
    for layer in stack_plan(project, stack).layers:
        if layer.lane_id is None:
            number += 1
            code, instance = spacer, f"spacer {number} of {stack.label}"
        else:
            code = instance = project.lane(layer.lane_id).code or layer.lane_id
        yield Placement(code, instance, f"stack {stack.id}", layer.bottom_mm, course)


def own_code(word: str, project: Project, stack: Stack) -> str:
    """Return the code of a stack's own part: the word, and the stack's number if there are several."""
    return word if len(project.stacks) == 1 else f"{word}{1 + project.stacks.index(stack)}"
