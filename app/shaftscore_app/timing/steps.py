"""What keys and clicks do to blocks and to the selection, as pure functions.

A *nudge* moves what is held of a block (`Grip`: the whole, its start, its end) to the next line of the
grid. Angles are own angles of the lane's stack.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from shaftscore.base.angles import TURN, ahead, turn_to, wrap
from shaftscore.base.wording import counted
from shaftscore.edits import BlockRef, Edited, add_block, move_blocks, place_block, stretch_block
from shaftscore.edits.blocks import Neighbours
from shaftscore.edits.moving import movable
from shaftscore.make.drawing.timing.hits import Grip
from shaftscore.make.drawing.timing.rows import grouped
from shaftscore.make.drawing.timing.shapes import levels_of
from shaftscore.model import Block, Lane, Project
from shaftscore_app.document.selection import Selection

SLACK_DEG = 1e-6
"""An edge nearer to a line of the grid than this stands on it."""

NEXT_GRIP = {Grip.WHOLE: Grip.START, Grip.START: Grip.END, Grip.END: Grip.WHOLE}
"""What a key holds after the next press of E."""


def next_line(deg: float, grid_deg: float, way: int) -> float:
    """Return the next line of the grid after (way 1) or before (way -1) an angle."""
    lines = deg / grid_deg
    slack = SLACK_DEG / grid_deg
    number = math.floor(lines + slack) + 1 if way > 0 else math.ceil(lines - slack) - 1
    return number * grid_deg


def nudge(project: Project, ref: BlockRef, grip: Grip, grid_deg: float, way: int, *, stay: bool) -> Edited:
    """Move a block, or one edge of it, by one line of the grid; stay: the neighbours stay where they are.

    Raises EditError where the block may not move.
    """
    block = project.lane(ref.lane_id).blocks[ref.index]
    neighbours = _neighbours(stay=stay)
    if grip is Grip.WHOLE:
        start = wrap(next_line(block.start_deg, grid_deg, way))
        return place_block(project, ref, start, neighbours=neighbours)
    if grip is Grip.START:
        start = min(block.end_deg, max(block.end_deg - TURN, next_line(block.start_deg, grid_deg, way)))
        return stretch_block(project, ref, start_deg=start, neighbours=neighbours)
    end = max(block.start_deg, min(block.start_deg + TURN, next_line(block.end_deg, grid_deg, way)))
    return stretch_block(project, ref, end_deg=end, neighbours=neighbours)


def nudge_all(project: Project, refs: Sequence[BlockRef], grid_deg: float, way: int, *, stay: bool) -> Edited:
    """Move blocks together so that the last one goes to the next line of the grid.

    Raises EditError where none may move.
    """
    ref = next((ref for ref in reversed(refs) if not _block(project, ref).locked), refs[-1])
    start = _block(project, ref).start_deg
    by = (next_line(start, grid_deg, way) - start) / project.rate_of(project.lane(ref.lane_id))
    return move_blocks(project, refs, by, _neighbours(stay=stay))


def change_levels(project: Project, refs: Sequence[BlockRef], way: int, *, stay: bool) -> Edited | None:
    """Return each of some blocks the level `way` higher, one after the other; None where none has one.

    What is locked, or has no such level, stays. Blocks are known by where they start, since others may join
    while one changes. Raises EditError where all are locked or one may not move.
    """
    movable(project, refs)
    places = [(ref.lane_id, _block(project, ref).start_deg) for ref in refs]
    made, changed = project, 0
    for lane_id, start in places:
        ref = _at(made, lane_id, start)
        edited = None if _block(made, ref).locked else change_level(made, ref, way, stay=stay)
        made, changed = (edited.project, changed + 1) if edited is not None else (made, changed)
    selection = tuple(dict.fromkeys(_at(made, lane_id, start) for lane_id, start in places))
    name = f"Change the level of {counted(changed, 'block')}"
    return Edited(made, name, selection) if changed else None


def move_and_change_levels(
    project: Project, refs: Sequence[BlockRef], by_deg: float, way: int, *, stay: bool
) -> Edited | None:
    """Change the levels of some blocks, then move them together by `by_deg` of the master shaft.

    None, and EditError, as with `change_levels`.
    """
    changed = change_levels(project, refs, way, stay=stay)
    if changed is None or abs(by_deg) < SLACK_DEG:
        return changed
    moved = move_blocks(changed.project, changed.selection, by_deg, _neighbours(stay=stay))
    return Edited(moved.project, f"{moved.name} to another level", moved.selection)


def without_level(project: Project, refs: Sequence[BlockRef], way: int) -> int:
    """Count the blocks, locked ones apart, that have no level `way` higher and so keep theirs."""
    blocks = [(project.lane(ref.lane_id), _block(project, ref)) for ref in refs]
    return sum(
        not block.locked and other_level(lane, block.level, way) is None for lane, block in blocks if way
    )


def ranks_between(lane: Lane, level: str, other: str) -> int:
    """Return how many levels of a lane lie from one up to another; negative where the other is lower."""
    names = [found.name for found in levels_of(lane)]
    return names.index(other) - names.index(level)


def _neighbours(*, stay: bool) -> Neighbours:
    return "stay" if stay else "give"


def _block(project: Project, ref: BlockRef) -> Block:
    return project.lane(ref.lane_id).blocks[ref.index]


def _at(project: Project, lane_id: str, start_deg: float) -> BlockRef:
    """Return the block whose start is nearest to an own angle."""
    blocks = project.lane(lane_id).blocks
    return BlockRef(
        lane_id, min(range(len(blocks)), key=lambda index: abs(turn_to(blocks[index].start_deg, start_deg)))
    )


def step_length(starts_deg: Sequence[float], deg: float) -> float:
    """Return the length of the step in which an angle lies, degrees."""
    following = step_from(starts_deg, deg, 1)
    before = step_from(starts_deg, deg + 2 * SLACK_DEG, -1)
    return ahead(before, following) or TURN


def other_level(lane: Lane, level: str, way: int) -> str | None:
    """Return the level so many above (way 1 or more) or below (way -1 or less); None past the end."""
    names = [found.name for found in levels_of(lane)]
    index = names.index(level) + way
    return names[index] if 0 <= index < len(names) else None


def change_level(project: Project, ref: BlockRef, way: int, *, stay: bool) -> Edited | None:
    """Lift a block to its next level and set it in there; None at the highest or lowest.

    Raises EditError where the block may not move.
    """
    lane = project.lane(ref.lane_id)
    block = lane.blocks[ref.index]
    level = other_level(lane, block.level, way)
    if level is None:
        return None
    return place_block(project, ref, block.start_deg, level, _neighbours(stay=stay))


def add_at(project: Project, lane_id: str, own_deg: float, level: str, grid_deg: float) -> Edited:
    """Add a block that starts at the grid line nearest to an own angle. Raises EditError."""
    start = wrap(round(own_deg / grid_deg) * grid_deg)
    return add_block(project, lane_id, start, level)


def level_to_add(lane: Lane, own_deg: float) -> str | None:
    """Return the level for a block added with a key: the lowest that no block there already holds."""
    names = [level.name for level in levels_of(lane)]
    inside = [block.level for block in lane.blocks if ahead(block.start_deg, own_deg) <= block.length_deg]
    return next((name for name in names if name not in inside), names[0] if names else None)


# Selection


def toggled(selection: Selection, ref: BlockRef) -> Selection:
    """Add a block to the selection, or take it out."""
    if ref in selection.blocks:
        rest = tuple(other for other in selection.blocks if other != ref)
        return Selection(ref.lane_id, rest, selection.finding)
    return Selection.of_blocks((*selection.blocks, ref), selection.finding)


def lane_toggled(selection: Selection, lane_id: str) -> Selection:
    """Add a lane to those selected, without its blocks, or take it out; blocks are no longer selected."""
    rest = tuple(other for other in selection.lane_ids if other != lane_id)
    was = lane_id in selection.lane_ids and not selection.blocks
    return Selection.of_lanes(rest if was else (*rest, lane_id), selection.finding)


def lanes_up_to(lane_ids: Sequence[str], selection: Selection, lane_id: str) -> Selection:
    """Select all lanes shown between the one selected first and another, without their blocks."""
    anchor = selection.lane_ids[0] if selection.lane_ids else lane_id
    if anchor not in lane_ids:
        return Selection.of_lanes((lane_id,), selection.finding)
    low, high = sorted((lane_ids.index(anchor), lane_ids.index(lane_id)))
    inner = [one for one in lane_ids[low : high + 1] if one not in (anchor, lane_id)]
    return Selection.of_lanes(tuple(dict.fromkeys((anchor, *inner, lane_id))), selection.finding)


def up_to(project: Project, lane_ids: Sequence[str], selection: Selection, ref: BlockRef) -> Selection:
    """Select all blocks between the one selected first and `ref`, in the lanes between theirs."""
    if not selection.blocks:
        return Selection.of_blocks((ref,), selection.finding)
    anchor = selection.blocks[0]
    rows = sorted(lane_ids.index(one.lane_id) for one in (anchor, ref) if one.lane_id in lane_ids)
    starts = sorted(project.lane(one.lane_id).blocks[one.index].start_deg for one in (anchor, ref))
    between = [
        BlockRef(lane_id, index)
        for lane_id in (lane_ids[rows[0] : rows[-1] + 1] if rows else ())
        for index, block in enumerate(project.lane(lane_id).blocks)
        if starts[0] <= block.start_deg <= starts[-1]
    ]
    inner = [one for one in between if one not in (anchor, ref)]
    return Selection.of_blocks((anchor, *inner, ref), selection.finding)


def beside(project: Project, selection: Selection, way: int, cursor_deg: float) -> BlockRef | None:
    """Return the next (way 1) or previous block of the selected lane, round the turn; None without blocks."""
    if selection.lane_id is None:
        return None
    lane = project.lane(selection.lane_id)
    count = len(lane.blocks)
    if not count:
        return None
    own = [ref for ref in selection.blocks if ref.lane_id == lane.id]
    if not own:
        return _nearest_block(project, lane, cursor_deg)
    return BlockRef(lane.id, (own[-1].index + way) % count)


def below(
    project: Project, lane_ids: Sequence[str], selection: Selection, way: int
) -> tuple[str, BlockRef | None] | None:
    """Return the next (way 1) or previous lane shown, and its block nearest in angle to the selected one."""
    if not lane_ids:
        return None
    if selection.lane_id not in lane_ids:
        return lane_ids[0 if way > 0 else -1], None
    index = lane_ids.index(selection.lane_id) + way
    if not 0 <= index < len(lane_ids):
        return None
    lane = project.lane(lane_ids[index])
    if not selection.blocks or not lane.blocks:
        return lane.id, None
    held = selection.blocks[-1]
    block = project.lane(held.lane_id).blocks[held.index]
    turns = project.rate_of(project.lane(held.lane_id))
    return lane.id, _nearest_block(project, lane, (block.start_deg + block.length_deg / 2) / turns)


def _nearest_block(project: Project, lane: Lane, master_deg: float) -> BlockRef:
    own = wrap(master_deg * project.rate_of(lane))

    def away(index: int) -> float:
        middle = wrap(lane.blocks[index].start_deg + lane.blocks[index].length_deg / 2)
        return min(ahead(own, middle), ahead(middle, own))

    return BlockRef(lane.id, min(range(len(lane.blocks)), key=away))


def more(project: Project, selection: Selection) -> Selection:
    """Select the blocks of the lane, then of its group, then all."""
    lane_id = selection.lane_id or (project.lanes[0].id if project.lanes else None)
    if lane_id is None:
        return selection
    group = next(lanes for _, lanes in grouped(project) if any(lane.id == lane_id for lane in lanes))
    circles = [[project.lane(lane_id)], group, list(project.lanes)]
    for lanes in circles:
        refs = _all_blocks(lanes, last=lane_id)
        if not set(refs) <= set(selection.blocks):
            return Selection.of_blocks(refs, selection.finding)
    return selection


def _all_blocks(lanes: Sequence[Lane], last: str) -> tuple[BlockRef, ...]:
    """Return all blocks, those of one lane last, so that it stays the selected lane."""
    ordered = sorted(lanes, key=lambda lane: lane.id == last)
    return tuple(BlockRef(lane.id, index) for lane in ordered for index in range(len(lane.blocks)))


def step_from(starts_deg: Sequence[float], deg: float, way: int) -> float:
    """Return the start of the next step (way 1), or of the step before (way -1), of an angle."""
    if way > 0:
        return next((start for start in starts_deg if start > deg + SLACK_DEG), starts_deg[0])
    return next((start for start in reversed(starts_deg) if start < deg - SLACK_DEG), starts_deg[-1])
