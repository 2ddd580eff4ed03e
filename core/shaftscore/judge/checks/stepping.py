"""bad-part: an intermittent stage whose parts cannot be made or put in, for the reason that export has."""

from __future__ import annotations

from collections.abc import Iterator

from shaftscore.judge.checks.base import MachineCheck, Memo
from shaftscore.judge.findings import Finding, found
from shaftscore.layout.axes import stack_axes
from shaftscore.layout.bed import bed_faults
from shaftscore.layout.frame_plan import FrameError, OtherPartError
from shaftscore.layout.printed import refuse_gone, step_walls
from shaftscore.layout.stacks import step_codes
from shaftscore.layout.stepping import StepStage, step_stage, step_stages
from shaftscore.model import GenevaSteps, Project
from shaftscore.solution import Solution

PLACE = 7000
"""Findings of stages come after those of the drive's parts."""


def stepping(solution: Solution, memo: Memo) -> Iterator[Finding]:
    """Find intermittent stages that cannot be made; nothing where no stack has one."""
    project = solution.project
    if not any(stack.steps_from is not None for stack in project.stacks):
        return
    reads = (project.frame, project.drive, project.print, *project.stacks, *solution.lanes.values())
    faults, _ = memo.kept.keep_late("stepping", reads, lambda _: tuple(_of(solution)))
    yield from faults or ()


def _of(solution: Solution) -> Iterator[Finding]:
    project = solution.project
    stepped = [stack for stack in project.stacks if stack.steps_from is not None]
    all_made = True
    for number, stack in enumerate(stepped, start=1):
        try:
            stage = step_stage(project, stack, number)
            refuse_gone(project.print, step_walls(stage))
        except ValueError as error:
            all_made = False
            what = "Geneva stage" if isinstance(stack.steps_from, GenevaSteps) else "stage with counted teeth"
            yield _bad(number, f"The {what} of {error}")
            continue
        for fault in _over_bed(project, stage):
            yield _bad(number, fault)
    if all_made and project.frame is None:
        yield from _too_near(solution)


def _over_bed(project: Project, stage: StepStage) -> Iterator[str]:
    """Yield that driver or wheel has no room on the printer's bed."""
    codes = step_codes(project, stage)
    sizes = (stage.plate_mm, stage.driver_high_mm), (stage.shape.wheel_mm, stage.wheel_high_mm)
    for code, (radius, high), stack in zip(codes, sizes, (stage.driving, stage.driven), strict=True):
        yield from bed_faults(project, stack.id, code, (2 * radius, 2 * radius, high))


def _too_near(solution: Solution) -> Iterator[Finding]:
    """Yield that stacks meet at the centre distances of their stages; with a frame, that says it."""
    stages = step_stages(solution.project)
    joined = {one.id for stage in stages for one in (stage.driving, stage.driven)}
    stacks = [stack for stack in solution.project.stacks if stack.id in joined]
    try:
        stack_axes(solution, sorted(stacks, key=lambda one: one.steps_from is not None))
    except OtherPartError:  # a wheel on a hub, which has a finding of its own
        return
    except FrameError as error:
        yield _bad(0, str(error))


def _bad(place: int, why: str) -> Finding:
    text = why if why.endswith(".") else f"{why}."
    return found("bad-part", (), value=0.0, limit=0.0, place=PLACE + place, why=text)


STEPPING = MachineCheck(("bad-part",), stepping)
"""The row of the table of checks."""
