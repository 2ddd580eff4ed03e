"""What a draft comes to, before it is applied: visits, blocks, moves, gates, and whether all has time."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass

from shaftscore.base.errors import EditError
from shaftscore.edits.setting_in import moves_of
from shaftscore.model.flow import Gate
from shaftscore.model.lanes import Lane
from shaftscore.model.project import Project
from shaftscore.model.rules import LevelState
from shaftscore.program.apply import apply_program, lanes_written
from shaftscore.program.laying import TimeProblem, lay_lanes, visits_of
from shaftscore.program.meaning import ProgramDraft

Range = tuple[float, float]
"""From, to."""


@dataclass(frozen=True)
class ProgramSummary:
    """What a draft comes to.

    visits, visiting: visits, and lanes that make them. written: lanes whose program is replaced. blocks_new,
    blocks_kept: blocks of the machine that are new, and that stay as they are. moves: moves of the lanes
    written; moves_deg: shortest and longest, degrees, None without moves. laws: of those moves. gates,
    gates_shut: gates, and those that never open. problems: what has no time. refused: why it cannot be
    applied, empty where it can.
    """

    visits: int
    visiting: int
    written: int
    blocks_new: int
    blocks_kept: int
    moves: int
    moves_deg: Range | None
    laws: tuple[str, ...]
    gates: int
    gates_shut: int
    problems: tuple[TimeProblem, ...]
    refused: str


def summary_of(
    project: Project, draft: ProgramDraft, lane_ids: Collection[str] | None = None
) -> ProgramSummary:
    """Return what a draft comes to if it is applied, to some lanes (by id) or to all that have a place."""
    lanes = lanes_written(draft, lane_ids)
    made, refused = _applied(project, draft, lane_ids)
    laid = lay_lanes(project, draft)
    visits = [visit for visit in visits_of(project, draft) if visit.lane_id in lanes]
    before = {(lane.id, block) for lane in project.lanes for block in lane.blocks}
    after = [(lane.id, block) for lane in made.lanes for block in lane.blocks]
    kept = sum(one in before for one in after)
    lengths = [length for lane_id in lanes for length in _moves(made.lane(lane_id))]
    gates = made.flow.gates if made.flow is not None else ()
    return ProgramSummary(
        visits=len(visits),
        visiting=len({visit.lane_id for visit in visits}),
        written=len(lanes),
        blocks_new=len(after) - kept,
        blocks_kept=kept,
        moves=len(lengths),
        moves_deg=(min(lengths), max(lengths)) if lengths else None,
        laws=tuple(dict.fromkeys(made.lane(lane_id).law for lane_id in lanes if _moves(made.lane(lane_id)))),
        gates=len(gates),
        gates_shut=sum(not opens(made, gate) for gate in gates),
        problems=tuple(problem for lane_id in lanes for problem in laid[lane_id].problems),
        refused=refused,
    )


def _applied(project: Project, draft: ProgramDraft, lane_ids: Collection[str] | None) -> tuple[Project, str]:
    """Return the project with the draft applied; the project itself, and why, where that is refused."""
    try:
        return apply_program(project, draft, lane_ids).project, ""
    except EditError as error:
        return project, str(error)


def _moves(lane: Lane) -> list[float]:
    """Return the lengths of a lane's moves from one level to another, degrees."""
    blocks = lane.blocks
    return [
        gap
        for index, gap in enumerate(moves_of(blocks))
        if blocks[index].level != blocks[(index + 1) % len(blocks)].level
    ]


def opens(project: Project, gate: Gate) -> bool:
    """Return whether a gate ever opens: its state is reached between the lane's lowest and highest dwell."""
    lane = project.lane(gate.state.lane)
    program = project.named_lane(lane)
    heights = _heights(program)
    if not heights:
        return False
    if isinstance(gate.state, LevelState):
        at = program.levels[gate.state.level]
        low, high = at - program.band, at + program.band
    else:
        low, high = gate.state.from_mm, gate.state.to_mm
    return min(heights) <= high and max(heights) >= low


def _heights(lane: Lane) -> list[float]:
    if lane.kind == "points":
        return [point.output_mm for point in lane.points or ()]
    return [lane.levels[block.level] for block in lane.blocks]
