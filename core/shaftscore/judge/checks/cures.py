"""Cures that are edits: the smallest change that makes a finding go away, tried before it is offered.

An *attempt* is an edit with its arguments and its sentence. Angles in attempts are of the lane's own
stack, rounded outward (away from the trouble) to 0.1 degree, so that typing the number always cures.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass

from shaftscore.base.angles import wrap
from shaftscore.base.errors import EditError
from shaftscore.base.once import once
from shaftscore.base.tolerance import CURE_DEG
from shaftscore.base.wording import degrees, down_to, up_to
from shaftscore.built.heights import printable_mm
from shaftscore.edits import BlockRef, apply_edit
from shaftscore.judge.findings import Cure
from shaftscore.judge.findings.naming import block_text
from shaftscore.kinematics.course import course_of
from shaftscore.kinematics.motion.lane import LaneMotion
from shaftscore.kinematics.motion.states import StateInterval, level_intervals, range_intervals
from shaftscore.model import Block, Lane, LevelState, Project, RangeState, Stack, replaced
from shaftscore.model.rounds import CYCLE
from shaftscore.solution.lane import motion_of


@dataclass(frozen=True)
class Attempt:
    """An edit that may cure, with the order to the maker."""

    edit: str
    arguments: Mapping[str, object]
    sentence: str


def first_verified(
    project: Project, attempts: Iterable[Attempt], cured: Callable[[Project], bool]
) -> Cure | None:
    """Return the first attempt after which `cured` holds, or None if no attempt does it."""
    for attempt in attempts:
        edited = tried(project, attempt)
        if edited is not None and cured(edited):
            return Cure(sentence=attempt.sentence, edit=attempt.edit, arguments=attempt.arguments)
    return None


def tried(project: Project, attempt: Attempt) -> Project | None:
    """Make the edit; None where it cannot be made to this project."""
    try:
        return apply_edit(project, attempt.edit, **attempt.arguments).project
    except EditError:
        return None


def either(attempts: Sequence[Attempt], applied: Attempt | None = None) -> Cure | None:
    """Return a cure that names some attempts, None where there are none.

    applied: the attempt that is its edit, the first of them if None.
    """
    if not attempts:
        return None
    edit, text = applied or attempts[0], ", or ".join(one.sentence for one in attempts)
    return Cure(sentence=f"{text[:1].upper()}{text[1:]}.", edit=edit.edit, arguments=edit.arguments)


def printable_from(project: Project, thickness_mm: float) -> float:
    """Return the least thickness of whole layers that is at least a required one, mm."""
    return round(printable_mm(thickness_mm, project.print.first_layer_mm, project.print.layer_mm)[1], 6)


def part_of(project: Project, *lane_ids: str) -> Project:
    """Return the machine of a few lanes alone, which edits change and solve faster than the whole.

    Lanes on whose discs these ride are kept too. Rules, flow and measurements are left out.
    """
    ridden = {project.lane(lane_id).disc_of for lane_id in lane_ids}
    kept = tuple(lane for lane in project.lanes if lane.id in lane_ids or lane.id in ridden)
    return replaced(project, lanes=kept, rules=(), flow=None, measured=())


def stack_alone(project: Project, stack: Stack) -> Project:
    """Return the machine with the lanes of one stack alone, which edits of that stack change faster.

    The heights of its parts are those of the whole machine. What names lanes is left out, but for the
    stack's own order.
    """

    def made() -> Project:
        lanes = project.lanes_of(stack)
        orders = tuple(
            one if one is stack or not one.order else replaced(one, order=()) for one in project.stacks
        )
        return replaced(
            project, lanes=lanes, stacks=orders, rules=(), flow=None, measured=(), grid=None, bring_up=()
        )

    return once(project, ("stack alone", stack.id), made)


def moved(project: Project, ref: BlockRef, by_deg: float) -> Attempt:
    """Move a block by at least `by_deg` (own angle; negative: earlier), its moves keeping their length."""
    block = block_of(project, ref)
    start = _outward(block.start_deg + by_deg, by_deg)
    text = (
        f"Start {block_text(project, ref)} at {degrees(wrap(start))}, {shift_text(start - block.start_deg)}."
    )
    return Attempt("place_block", {"ref": ref, "start_deg": _plain(start)}, text)


def ended(project: Project, ref: BlockRef, by_deg: float, neighbours: str = "stay") -> Attempt | None:
    """Move a block's end by at least `by_deg`; None if that would leave the block no length or a turn."""
    block = block_of(project, ref)
    end = _outward(block.end_deg + by_deg, by_deg)
    if not block.start_deg <= end <= block.start_deg + 360:
        return None
    text = f"End {block_text(project, ref)} at {degrees(wrap(end))}, {shift_text(end - block.end_deg)}."
    return Attempt("stretch_block", {"ref": ref, "end_deg": _plain(end), "neighbours": neighbours}, text)


def begun(project: Project, ref: BlockRef, by_deg: float, neighbours: str = "stay") -> Attempt | None:
    """Move a block's start alone by at least `by_deg`; None if that would leave no length or a turn."""
    block = block_of(project, ref)
    start = _outward(block.start_deg + by_deg, by_deg)
    if not block.end_deg - 360 <= start <= block.end_deg:
        return None
    text = (
        f"Begin {block_text(project, ref)} at {degrees(wrap(start))}, {shift_text(start - block.start_deg)}."
    )
    return Attempt("stretch_block", {"ref": ref, "start_deg": _plain(start), "neighbours": neighbours}, text)


def _plain(angle: float) -> float:
    """Bring an angle into one turn, as a person would type it (85.4, not 85.39999999999998)."""
    return wrap(round(wrap(angle), 6))


def outward(by_deg: float) -> float:
    """Round a shift, degrees, away from 0 to what cures are written in."""
    return _plain_number(_outward(by_deg, by_deg))


def _plain_number(value: float) -> float:
    return round(value, 6)


def _outward(angle: float, by_deg: float) -> float:
    return up_to(angle, CURE_DEG) if by_deg > 0 else down_to(angle, CURE_DEG)


def shift_text(by_deg: float) -> str:
    """Write a shift: `7.4° later`."""
    return f"{degrees(up_to(abs(by_deg), CURE_DEG))} {'later' if by_deg > 0 else 'earlier'}"


def block_of(project: Project, ref: BlockRef) -> Block:
    """Return the block that a reference names."""
    return project.lane(ref.lane_id).blocks[ref.index]


def is_free(project: Project, ref: BlockRef) -> bool:
    """Return whether a cure may touch the block."""
    return not block_of(project, ref).locked


def intervals_in(project: Project, state: LevelState | RangeState) -> tuple[StateInterval, ...] | None:
    """Return a state's intervals in an edited project, angles of its circle; None without motion."""
    lane = project.lane(state.lane)
    motion = motion_of(project, lane)
    if not isinstance(motion, LaneMotion):
        return None
    return course_of(project, project.stack_of(lane), CYCLE).on_circle(_own(project, lane, motion, state))


def _own(
    project: Project, lane: Lane, motion: LaneMotion, state: LevelState | RangeState
) -> tuple[StateInterval, ...]:
    if isinstance(state, LevelState):
        return level_intervals(project.named_lane(lane), motion, state.level)
    return range_intervals(lane, motion, state.from_mm, state.to_mm)
