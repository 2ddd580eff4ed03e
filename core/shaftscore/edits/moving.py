"""Edits of several blocks in time: move them together, mirror them, shift lanes, insert time.

Times of blocks to each other are kept, over all lanes, so angles here are of the master shaft; a lane on a
stack that turns k times a cycle goes k times as many degrees of its own.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Iterable, Mapping, Sequence

from shaftscore.base.angles import TURN, Arcs, ahead, turn_to, wrap
from shaftscore.base.errors import EditError
from shaftscore.base.tolerance import EDIT_DEG
from shaftscore.base.wording import counted, degrees, down_to
from shaftscore.edits.base import (
    BlockRef,
    Edited,
    angle_words,
    block_label,
    block_of,
    changed,
    lane_of,
    rounded,
    spanned,
    with_blocks,
    with_lane,
)
from shaftscore.edits.blocks import Neighbours
from shaftscore.edits.runs import mirrored, reach, slid, span_over, stretch_over
from shaftscore.edits.setting_in import least_length
from shaftscore.model.lanes import Block, Lane, MotionPoint
from shaftscore.model.project import Project


def move_blocks(
    project: Project, refs: Sequence[BlockRef], by_deg: float, neighbours: Neighbours = "give"
) -> Edited:
    """Move blocks together by `by_deg`, degrees of the master shaft; what is locked stays.

    With "give" the dwells beside them give way, and all go only as far as the least of these can; with
    "stay" everything else stays and the moves stretch. Raises EditError if all are locked or one is not
    there.
    """
    chosen = movable(project, refs)
    by = clipped(project, chosen, by_deg) if neighbours == "give" else by_deg
    made = {
        lane_id: slid(
            lane_of(project, lane_id), own, by * turns_of(project, lane_id), giving=neighbours == "give"
        )
        for lane_id, own in chosen.items()
    }
    name = f"Move {_named(project, refs)} by {_signed(by)}"
    return _put(project, refs, made, name) if abs(by) > EDIT_DEG / 2 else Edited(project, name, tuple(refs))


def movable(project: Project, refs: Sequence[BlockRef]) -> dict[str, frozenset[int]]:
    """Return, by lane, the places of the blocks that are not locked; raises EditError if all are."""
    free = [ref for ref in refs if not block_of(project, ref).locked]
    if not free:
        raise EditError(f"{_named(project, refs)}: locked; unlock what shall move")
    return {
        lane_id: frozenset(ref.index for ref in free if ref.lane_id == lane_id)
        for lane_id in dict.fromkeys(ref.lane_id for ref in free)
    }


def clipped(project: Project, chosen: Mapping[str, Collection[int]], by_deg: float) -> float:
    """Bring a move of chosen blocks down to what the dwells beside them can give, master degrees."""
    low, high = reach_of(project, chosen)
    by = by_deg if math.isinf(low) and math.isinf(high) else turn_to(0.0, by_deg)
    return min(max(by, low), high)


def reach_of(project: Project, chosen: Mapping[str, Collection[int]]) -> tuple[float, float]:
    """Return how far earlier (at most 0) and later chosen blocks can go together, master degrees."""
    found = [
        (low / turns_of(project, lane_id), high / turns_of(project, lane_id))
        for lane_id, own in chosen.items()
        for low, high in [reach(project.lane(lane_id), own, _deg_per_s(project, lane_id))]
    ]
    return max(low for low, _ in found), min(high for _, high in found)


def turns_of(project: Project, lane_id: str) -> float:
    """Return how often a lane's stack turns in a cycle; whole unless it is slow or stepped."""
    return project.rate_of(project.lane(lane_id))


def _deg_per_s(project: Project, lane_id: str) -> float:
    return 6.0 * project.shaft.speed_rpm * turns_of(project, lane_id)


def _put(
    project: Project, refs: Sequence[BlockRef], made: Mapping[str, Sequence[Block]], name: str
) -> Edited:
    """Put changed blocks into their lanes, each at its old place; the refs follow their blocks."""
    edited = project
    for lane_id, blocks in made.items():
        edited = with_blocks(edited, lane_id, blocks)
    places = {lane_id: [id(block) for block in edited.lane(lane_id).blocks] for lane_id in made}
    moved = tuple(
        BlockRef(ref.lane_id, places[ref.lane_id].index(id(made[ref.lane_id][ref.index])))
        if ref.lane_id in made
        else ref
        for ref in refs
    )
    return Edited(edited, name, moved)


def _named(project: Project, refs: Sequence[BlockRef]) -> str:
    return block_label(project, refs[0]) if len(refs) == 1 else counted(len(refs), "block")


def _signed(deg: float) -> str:
    return f"+{angle_words(deg)}" if deg > 0 else angle_words(deg)


# Mirror


def mirror_blocks(project: Project, refs: Sequence[BlockRef], about_deg: float | None = None) -> Edited:
    """Let the program from the first to the last of some blocks go backwards, in each of their lanes.

    about_deg: master angle that stays, the middle of all of them if None. Moves, laws and windows are
    mirrored too; the dwells beside give way. Raises EditError if one in between is locked, or a dwell
    beside has no room.
    """
    if not refs:
        raise EditError("there are no blocks to mirror")
    runs = {
        lane_id: stretch_over(lane_of(project, lane_id), {r.index for r in refs if r.lane_id == lane_id})
        for lane_id in dict.fromkeys(ref.lane_id for ref in refs if block_of(project, ref))
    }
    about = _middle(project, runs) if about_deg is None else rounded(about_deg)
    made = {}
    for lane_id, run in runs.items():
        for index in run:
            _refuse_locked(project, BlockRef(lane_id, index))
        found = mirrored(project.lane(lane_id), run, about * turns_of(project, lane_id))
        if found is None:
            raise EditError(
                f"{project.lane(lane_id).label} has no room to be mirrored about {degrees(about)}"
            )
        made[lane_id] = found.blocks
    return _put(project, refs, made, f"Mirror {_named(project, refs)} about {angle_words(wrap(about))}")


def _middle(project: Project, runs: Mapping[str, Sequence[int]]) -> float:
    """Return the middle of what runs of several lanes take together, master degrees."""
    spans = []
    for lane_id, run in runs.items():
        start, length = span_over(project.lane(lane_id), run)
        spans.append((start / turns_of(project, lane_id), length / turns_of(project, lane_id)))
    rests = ~Arcs.of(spans)
    if rests.is_empty:
        return spans[0][0] + spans[0][1] / 2
    longest = max(rests, key=lambda rest: rest.length)
    return wrap(longest.middle + TURN / 2)


def _refuse_locked(project: Project, ref: BlockRef) -> None:
    if block_of(project, ref).locked:
        raise EditError(f"{block_label(project, ref)} is locked; unlock it first")


# Shift


def shift_lanes(project: Project, lane_ids: Sequence[str], by_deg: float) -> Edited:
    """Let the whole program of some lanes run `by_deg` later, degrees of the master shaft.

    Points of a table go with them. Raises EditError if a block is locked or there is no such lane.
    """
    edited = project
    for lane_id in dict.fromkeys(lane_ids):
        lane = lane_of(project, lane_id)
        for index in range(len(lane.blocks)):
            _refuse_locked(project, BlockRef(lane_id, index))
        edited = with_lane(edited, _shifted(lane, by_deg * turns_of(project, lane_id)))
    count = len(set(lane_ids))
    what = "all lanes" if count == len(project.lanes) > 1 else _lanes_named(project, lane_ids)
    return Edited(edited, f"Shift {what} by {_signed(by_deg)}", lane_id=lane_ids[-1] if count == 1 else None)


def shift_each(project: Project, shifts: Sequence[tuple[str, float]]) -> Edited:
    """Let the whole programs of some lanes run later, each by its own angle.

    shifts: lanes, and degrees of the master shaft. Raises EditError as `shift_lanes` does, and where no lane
    is given.
    """
    if not shifts:
        raise EditError("no lane is given to shift")
    edited = project
    for lane_id, by in shifts:
        edited = shift_lanes(edited, [lane_id], by).project
    return Edited(edited, f"Shift {_lanes_named(project, [lane for lane, _ in shifts])}")


def _shifted(lane: Lane, by: float) -> Lane:
    blocks = tuple(spanned(block, block.start_deg + by, block.length_deg) for block in lane.blocks)
    if lane.points is None:
        return changed(lane, blocks=blocks)
    points = [
        MotionPoint(theta_deg=wrap(rounded(p.theta_deg + by)), output_mm=p.output_mm) for p in lane.points
    ]
    return changed(lane, blocks=blocks, points=tuple(sorted(points, key=lambda point: point.theta_deg)))


def _lanes_named(project: Project, lane_ids: Sequence[str]) -> str:
    return project.lane(lane_ids[0]).label if len(set(lane_ids)) == 1 else counted(len(set(lane_ids)), "lane")


# Insert time


def insert_time(
    project: Project, at_deg: float, by_deg: float, lane_ids: Sequence[str] | None = None
) -> Edited:
    """Insert time at a master angle: what follows up to the end of the turn comes `by_deg` later.

    A dwell or move under way there takes longer; the last dwell that begins before the turn's end gives
    the room, its own end stays. Negative: take time out there. lane_ids: all lanes if None. Raises EditError
    where a lane has not so much to give, or a block that would change is locked.
    """
    at, by = wrap(rounded(at_deg)), rounded(by_deg)
    edited = project
    for lane_id in dict.fromkeys(lane_ids if lane_ids is not None else (lane.id for lane in project.lanes)):
        lane, turns = lane_of(project, lane_id), turns_of(project, lane_id)
        made = _opened(lane, wrap(at * turns), by * turns, _deg_per_s(project, lane_id))
        for index, (old, new) in enumerate(zip(lane.blocks, made, strict=True)):
            if old is not new:
                _refuse_locked(project, BlockRef(lane_id, index))
        edited = with_blocks(edited, lane_id, made)
    what = f"{angle_words(by)} at" if by >= 0 else f"{angle_words(-by)} from"
    return Edited(edited, f"{'Insert' if by >= 0 else 'Take'} {what} {angle_words(at)}")


def _opened(lane: Lane, at: float, by: float, deg_per_s: float) -> list[Block]:
    """Return a lane's blocks with `by` own degrees inserted at an own angle."""
    blocks = list(lane.blocks)
    following = [index for index, block in enumerate(blocks) if block.start_deg >= at]
    if not following:
        return blocks
    under_way = [index for index, block in enumerate(blocks) if _runs_at(block, at)]
    last = following[-1]
    room = math.inf if last in under_way else blocks[last].length_deg - least_length(blocks[last], deg_per_s)
    if by > room + EDIT_DEG:
        giver = f"{blocks[last].level} from {degrees(blocks[last].start_deg)}"
        raise EditError(f"{lane.label}: its last dwell, {giver}, {_can_give(room, by)}")
    until = _until_next(blocks, at, under_way)
    if -by > until + EDIT_DEG:
        raise EditError(f"{lane.label}: what comes after {degrees(at)} {_can_give(until, by)}")
    for index in {*following, *under_way}:
        begin = by * (index in following)
        end = by * (index in under_way or (index in following and index != last))
        block = blocks[index]
        blocks[index] = spanned(block, block.start_deg + begin, block.length_deg + end - begin)
    return blocks


def _runs_at(block: Block, at: float) -> bool:
    """Whether a dwell is under way at an angle, neither just beginning nor at its end."""
    return 0 < ahead(block.start_deg, at) < block.length_deg


def _until_next(blocks: Sequence[Block], at: float, under_way: Iterable[int]) -> float:
    """Return the degrees from an angle to where the dwell there ends, or the next begins."""
    ends = [blocks[index].length_deg - ahead(blocks[index].start_deg, at) for index in under_way]
    return min([*ends, *(block.start_deg - at for block in blocks if block.start_deg >= at)])


def _can_give(room: float, by: float) -> str:
    return f"can give {degrees(down_to(max(0.0, room), 0.1))}, not {degrees(abs(by))}"
