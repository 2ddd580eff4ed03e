"""bad-part: a frame that cannot be laid out, so that no plates can be made."""

from __future__ import annotations

from collections.abc import Iterator

from shaftscore.judge.checks.base import MachineCheck, Memo
from shaftscore.judge.findings import Finding, found
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
    try:
        machine_frame(solution)
    except OtherPartError:  # a hub, a wheel or a follower, which has a finding of its own
        return
    except FrameError as error:
        yield found("bad-part", (), value=0.0, limit=0.0, place=PLACE, why=f"The frame: {error}.")


FRAME = MachineCheck(("bad-part",), frame)
