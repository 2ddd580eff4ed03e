"""The discs and spacers of a stack, where they lie on their shaft."""

from __future__ import annotations

from collections.abc import Iterator

from shaftscore.layout.placed import Placement
from shaftscore.layout.stack_turns import stack_course
from shaftscore.layout.stepping import GenevaStepStage, StepStage, step_stages
from shaftscore.model import Project, Stack
from shaftscore.stack import stack_plan


def stack_placements(project: Project, stack: Stack, at: complex = 0j) -> Iterator[Placement]:
    """Yield the discs and spacers of a stack, bottom to top, by the codes of their parts.

    All have their zero marks on the reference line when the machine is at 0°. at: axis of the stack, mm.
    """
    course = stack_course(project, stack, at)
    spacer, number = own_code("SPACER", project, stack), 0
    extra = sorted(under_drivers_mm(project, stack))
    for bottom in (one for one in extra if one < 0):
        number += 1
        yield Placement(spacer, f"spacer {number} of {stack.label}", f"stack {stack.id}", bottom, course)
    for layer in stack_plan(project, stack).layers:
        if layer.lane_id is None:
            number += 1
            code, instance = spacer, f"spacer {number} of {stack.label}"
        else:
            code = instance = project.lane(layer.lane_id).code or layer.lane_id
        yield Placement(code, instance, f"stack {stack.id}", layer.bottom_mm, course)
    for bottom in (one for one in extra if one >= 0):
        number += 1
        yield Placement(spacer, f"spacer {number} of {stack.label}", f"stack {stack.id}", bottom, course)


def under_drivers_mm(project: Project, stack: Stack) -> Iterator[float]:
    """Yield the heights of the spacers between a stack and the drivers of the stages on its ends."""
    for stage in stages_of(project):
        if stage.driving is stack:
            end = stack_plan(project, stack).height_mm if stage.is_up else -stack.spacer_mm
            for place in range(stage.spacers):
                yield end + stage.outward * place * stack.spacer_mm


def stages_of(project: Project) -> tuple[StepStage, ...]:
    """Return the intermittent stages of a project; none where one cannot be made: a finding says why."""
    try:
        return step_stages(project)
    except ValueError:
        return ()


def stage_room(project: Project, stack: Stack, *, up_only: bool = False) -> Iterator[tuple[complex, float]]:
    """Yield middle, from the axis of a stack, and radius of drivers and wheels of the stages on it, mm.

    up_only: those at the top alone.
    """
    for stage in stages_of(project):
        if up_only and not stage.is_up:
            continue
        if stack in (stage.driving, stage.driven):
            at = 0j if stack is stage.driving else -stage.offset
            yield at, stage.plate_mm
            yield at + stage.offset, stage.shape.wheel_mm


def spacer_count(project: Project, stack: Stack) -> int:
    """Return how many spacers a stack has, those under drivers included."""
    between = sum(layer.lane_id is None for layer in stack_plan(project, stack).layers)
    return between + sum(1 for _ in under_drivers_mm(project, stack))


def step_placements(
    project: Project, stage: StepStage, at: complex = 0j, up_mm: float = 0.0
) -> Iterator[Placement]:
    """Yield driver and wheel of a stage; at: axis of the driving stack, up_mm: height of its bottom, mm."""
    codes = step_codes(project, stage)
    for stack, code, what, axis, height in (
        (stage.driving, codes[0], "driver", at, stage.driver_mm),
        (stage.driven, codes[1], stage.wheel_name, at + stage.offset, stage.wheel_mm),
    ):
        is_over = stage.is_up if stack is stage.driven else not stage.is_up
        yield Placement(
            code=code,
            instance=f"{what} of {stage.driven.label}",
            body=f"stack {stack.id}",
            bottom_mm=up_mm + height,
            course=stack_course(project, stack, axis),
            upside_down=is_over,
        )


def step_codes(project: Project, stage: StepStage) -> tuple[str, str]:
    """Return the codes of driver and wheel, numbered where there are several stages."""
    count = sum(stack.steps_from is not None for stack in project.stacks)
    number = "" if count == 1 else str(stage.number)
    word = "GENEVA" if isinstance(stage, GenevaStepStage) else "STEPPED"
    return f"DRIVER{number}", f"{word}{number}"


def own_code(word: str, project: Project, stack: Stack) -> str:
    """Return the code of a stack's own part: the word, and the stack's number if there are several."""
    return word if len(project.stacks) == 1 else f"{word}{1 + project.stacks.index(stack)}"
