"""Apply a draft: the blocks of its lanes, the steps and the places of lanes, as one edit.

Only programs change. Levels, followers, discs and all else stay; a lane without a place, or one that is not
chosen, keeps its blocks. A block that stays at its level keeps what it carries, as in the state table.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence

from shaftscore.base.errors import EditError
from shaftscore.base.wording import counted
from shaftscore.edits.base import Edited, changed, consistent, known_level, lane_of, spanned
from shaftscore.edits.state_table.table import Span
from shaftscore.edits.state_table.writing import carrier_of, refuse_moved_locks
from shaftscore.model.lanes import Block, Lane
from shaftscore.model.project import Project
from shaftscore.model.shaft import Shaft
from shaftscore.program.laying import LaidLane, lay_lanes
from shaftscore.program.meaning import ProgramDraft


def lanes_written(draft: ProgramDraft, lane_ids: Collection[str] | None = None) -> tuple[str, ...]:
    """Return the lanes whose programs a draft replaces, by id: all with a place, or those of some lanes."""
    return tuple(own for own in draft.grid.lanes if lane_ids is None or own in lane_ids)


def apply_program(project: Project, draft: ProgramDraft, lane_ids: Collection[str] | None = None) -> Edited:
    """Write the programs that a draft makes, of all lanes with a place or of some of them, by id, or of none.

    Where there are as many frames as steps these stay, else the turn is divided into equal steps; the names
    of the frames become those of the steps. Raises EditError if there is no lane to write, a level is not
    there, moves have no time, or a locked block would move.
    """
    chosen = lanes_written(draft, lane_ids)
    if not chosen and (lane_ids is None or lane_ids):
        raise EditError("none of these lanes has a place in the grid")
    laid = lay_lanes(project, draft)
    written = {lane_id: _written(project, laid[lane_id]) for lane_id in chosen}
    lanes = tuple(written.get(lane.id, lane) for lane in project.lanes)
    made = consistent(changed(project, lanes=lanes, grid=draft.grid, shaft=_with_steps(project.shaft, draft)))
    if not chosen:
        return Edited(made, "Change steps and places of lanes")
    what = project.lane(chosen[0]).label if len(chosen) == 1 else counted(len(chosen), "lane")
    return Edited(made, f"Make the program of {what}", lane_id=chosen[0] if len(chosen) == 1 else None)


def _written(project: Project, laid: LaidLane) -> Lane:
    """Return a lane with other blocks; the lane itself where they are the same."""
    lane = lane_of(project, laid.lane_id)
    for problem in laid.problems:
        if not problem.is_late:
            raise EditError(problem.text(project))
    blocks = _blocks(lane, laid.spans)
    refuse_moved_locks(lane, blocks)
    made = changed(lane, blocks=tuple(blocks))
    return lane if made == lane else made


def _blocks(lane: Lane, spans: Sequence[Span]) -> list[Block]:
    """Make the blocks of dwells; each takes the place of the block of its level that it shares most with."""
    left, made = list(lane.blocks), []
    for span in spans:
        level, start, length = span
        old = carrier_of(left, span)
        if old is None:
            old = Block(level=known_level(lane, level), start_deg=0.0, end_deg=0.0)
        left = [block for block in left if block is not old]
        made.append(spanned(old, start, max(0.0, length)))
    return made


def _with_steps(shaft: Shaft, draft: ProgramDraft) -> Shaft:
    """Let the shaft have as many steps as there are frames, named alike; names at the end may be empty."""
    names = [frame.name for frame in draft.frames]
    while names and not names[-1]:
        names.pop()
    changes: dict[str, object] = {}
    if len(shaft.step_starts_deg) != len(draft.frames):
        changes["steps"] = len(draft.frames)
    if tuple(names) != tuple(shaft.step_names):
        changes["step_names"] = tuple(names)
    return changed(shaft, **changes) if changes else shaft
