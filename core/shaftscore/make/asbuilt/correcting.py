"""The edit that corrects the machine by what was measured on it.

A profile turned by `offset_deg` brings its lane later by that much (its point for the program's angle
theta passes the follower when the stack stands at theta + offset). The lag was measured with discs made
at the lane's present offset, so the discs that undo it have offset = present offset - lag. The play is
written into the stack, where the check counts on it. Rows are of the discs that were there: they are
taken away in the same step, so that nothing is corrected twice.
"""

from __future__ import annotations

from shaftscore.base.angles import turn_to
from shaftscore.base.errors import EditError
from shaftscore.edits import Edited, set_lane, set_measured, set_stack
from shaftscore.edits.base import rounded
from shaftscore.make.asbuilt.model import AsBuilt
from shaftscore.model.project import Project

MOST_PLAY_DEG = 90.0
"""The largest play that a stack's record holds, degrees."""


def new_offset(project: Project, lane_id: str, lag_deg: float) -> float:
    """Return the offset that undoes a lag, degrees, within half a turn either way."""
    return rounded(turn_to(0.0, project.lane(lane_id).offset_deg - lag_deg))


def correct_as_built(project: Project, found: AsBuilt) -> Edited:
    """Turn each measured lane's profile against its lag, write down the play, and drop the rows.

    A play that came out under 0 by scatter is written as 0. Raises EditError for a play over 90 degrees,
    which no train has: a row is wrong.
    """
    made = project
    for lane in found.lanes:
        offset = new_offset(project, lane.lane_id, lane.lag_deg)
        made = set_lane(made, lane.lane_id, offset_deg=offset).project
    for stack in found.stacks:
        if stack.play_deg is None:
            continue
        if stack.play_deg > MOST_PLAY_DEG:
            raise EditError(f"a play of {stack.play_deg:.1f}° cannot be: look at the rows turned backward")
        made = set_stack(made, stack.stack_id, backlash_deg=rounded(max(0.0, stack.play_deg))).project
    return Edited(set_measured(made, ()).project, "Correct from measurements")
