"""bad-part: a frame that cannot be laid out, so that no plates can be made; a knob or crank over the bed."""

from __future__ import annotations

from collections.abc import Iterator

from shaftscore.judge.checks.base import MachineCheck, Memo
from shaftscore.judge.findings import Finding, found
from shaftscore.layout.bed import bed_faults
from shaftscore.layout.crank import crank_of, turned_size_mm
from shaftscore.layout.frame import machine_frame
from shaftscore.layout.frame_plan import FrameError, OtherPartError
from shaftscore.solution import Solution

PLACE = 10_000
"""Distinguishes the finding from those of the walls that stacks share."""


def frame(solution: Solution, memo: Memo) -> Iterator[Finding]:
    """Find what keeps the frame from being laid out; nothing without a frame."""
    project = solution.project
    if project.frame is None:
        return
    reads = (project.frame, project.drive, project.print, *project.stacks, *solution.lanes.values())
    found, _ = memo.kept.keep_late("frame", reads, lambda _: tuple(_of(solution)))
    yield from found or ()


def _of(solution: Solution) -> Iterator[Finding]:
    project = solution.project
    try:
        plan = machine_frame(solution)
    except OtherPartError:  # a hub, a wheel or a follower, which has a finding of its own
        return
    except FrameError as error:
        yield found("bad-part", (), value=0.0, limit=0.0, place=PLACE, why=f"The frame: {error}.")
        return
    if plan is None:
        return
    stack = plan.shafts[0].stack
    name = "The knob" if crank_of(project) is None else "The crank arm"
    for fault in bed_faults(project, stack.id, name, turned_size_mm(project, stack)):
        yield found("bad-part", (), value=0.0, limit=0.0, place=PLACE + 1, why=f"{fault}.")


FRAME = MachineCheck(("bad-part",), frame)
