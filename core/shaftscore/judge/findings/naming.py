"""How sentences name what a finding is about, in the maker's own words."""

from __future__ import annotations

from shaftscore.base import wording
from shaftscore.edits import BlockRef
from shaftscore.judge.findings.record import Finding
from shaftscore.model import LevelState, Project, RangeState


def lane_text(project: Project, lane_id: str) -> str:
    """Return the lane's name."""
    return project.lane(lane_id).label


def opening_text(state: LevelState | RangeState) -> str:
    """Return a state without its lane: `open`, or `8.0 mm to 10.0 mm`."""
    if isinstance(state, LevelState):
        return state.level
    return f"{wording.millimetres(state.from_mm)} to {wording.millimetres(state.to_mm)}"


def state_text(project: Project, state: LevelState | RangeState) -> str:
    """Return a state with its lane: `Mint open`."""
    return f"{lane_text(project, state.lane)} {opening_text(state)}"


def block_text(project: Project, ref: BlockRef) -> str:
    """Return a block with its lane: `Mint open`."""
    lane = project.lane(ref.lane_id)
    return f"{lane.label} {lane.blocks[ref.index].level}"


def states_of(finding: Finding) -> tuple[LevelState | RangeState, ...]:
    """Return the states among a finding's subjects."""
    return tuple(subject for subject in finding.subjects if not isinstance(subject, BlockRef))


def is_at(state: LevelState | RangeState) -> str:
    """Describe what a lane does that is in the state; a level named `open` is said as the verb."""
    if isinstance(state, LevelState):
        return "opens" if state.level == "open" else f"is at {state.level}"
    return f"is within {opening_text(state)}"


def is_held(state: LevelState | RangeState) -> str:
    """Describe that a lane is in the state: `is open`, `is at cup`, `is within 8.0 mm to 10.0 mm`."""
    if isinstance(state, LevelState) and state.level == "open":
        return "is open"
    return is_at(state)


def is_not_at(state: LevelState | RangeState) -> str:
    """Describe what a lane does not do that is not in the state."""
    if isinstance(state, LevelState):
        return f"is not at {state.level}"
    return f"is not within {opening_text(state)}"


def move_text(finding: Finding) -> str:
    """Name the stretch of motion that the facts move and to_level describe: `the rise to open`."""
    move, level = finding.facts["move"], finding.facts["to_level"]
    if not level:
        return f"the {move}"
    return f"the {move} {'at' if move == 'dwell' else 'to'} {level}"
