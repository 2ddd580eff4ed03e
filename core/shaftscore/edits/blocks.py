"""Edits of blocks: place, stretch, add, delete, and what a block carries."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from typing import Literal

from shaftscore.base.angles import TURN, Arcs, ahead, wrap
from shaftscore.base.errors import EditError
from shaftscore.base.tolerance import EDIT_DEG
from shaftscore.base.wording import angle_range, counted, listed
from shaftscore.edits.base import (
    BlockRef,
    Edited,
    angle_words,
    block_label,
    block_of,
    changed,
    free_block_of,
    known_level,
    lane_of,
    refs_to,
    rounded,
    same_angle,
    spanned,
    with_blocks,
    wrapped,
)
from shaftscore.edits.setting_in import set_in, usual_move
from shaftscore.model.lanes import Block, Lane, LawName, Window
from shaftscore.model.project import Project

Neighbours = Literal["give", "stay"]
"""What the dwells beside a moved block do: give way, so that moves keep their lengths, or stay."""


def place_block(
    project: Project,
    ref: BlockRef,
    start_deg: float,
    level: str | None = None,
    neighbours: Neighbours = "give",
) -> Edited:
    """Lift a block out of its lane and set it in so that it starts at `start_deg`, degrees.

    level: the level that it shall have, its own if None. neighbours: see `shaftscore.edits.setting_in` for
    "give"; with "stay" everything else stays and the moves stretch. A place that cannot be reached (past
    a locked block, or past a neighbour of another level) is approached as far as it goes. Raises
    EditError if the block is locked or not there, or the lane has no such level.
    """
    block = free_block_of(project, ref)
    lane = project.lane(ref.lane_id)
    level = block.level if level is None else known_level(lane, level)
    start = wrapped(start_deg)
    if same_angle(start, block.start_deg) and level == block.level:
        return Edited(project, _moved_name(project, ref), (ref,))
    held = block if level == block.level else changed(block, level=level)
    return _set(project, ref, held, start, neighbours, stretched=False)


def stretch_block(
    project: Project,
    ref: BlockRef,
    start_deg: float | None = None,
    end_deg: float | None = None,
    neighbours: Neighbours = "stay",
) -> Edited:
    """Change a block's start, end, or both, degrees; the edge not given stays.

    With "give" the neighbours move so that the moves beside the block keep their lengths, and the edges
    go no further than the neighbours can give. Raises EditError if the block is locked or not there.
    """
    block = free_block_of(project, ref)
    start = block.start_deg if start_deg is None else rounded(start_deg)
    end = block.end_deg if end_deg is None else rounded(end_deg)
    length = end - start if 0 <= end - start <= TURN + EDIT_DEG / 2 else ahead(start, end)
    held = spanned(block, start, length)
    if held is block:
        return Edited(project, _stretched_name(project, ref), (ref,))
    edited = _set(project, ref, held, held.start_deg, neighbours, stretched=True)
    return Edited(edited.project, _stretched_name(edited.project, *edited.selection), edited.selection)


def _set(
    project: Project, ref: BlockRef, held: Block, start: float, neighbours: Neighbours, *, stretched: bool
) -> Edited:
    """Put a held block at `start` and name the step by where it came to stand."""
    lane = project.lane(ref.lane_id)
    blocks: Sequence[Block]
    if neighbours == "stay" or len(lane.blocks) == 1:
        made = spanned(held, start, held.length_deg)
        blocks = [*lane.blocks[: ref.index], made, *lane.blocks[ref.index + 1 :]]
    else:
        made, blocks = set_in(lane, ref.index, held, start, _deg_per_s(project, lane), stretched=stretched)
    edited = with_blocks(project, lane.id, blocks)
    (selected,) = refs_to(edited, lane.id, [made])
    return Edited(edited, _moved_name(edited, selected), (selected,))


def _deg_per_s(project: Project, lane: Lane) -> float:
    """Return the nominal speed of the lane's stack, degrees per second."""
    return 6.0 * project.shaft.speed_rpm * project.rate_of(lane)


def _moved_name(project: Project, ref: BlockRef) -> str:
    return f"Move {block_label(project, ref)} to {angle_words(block_of(project, ref).start_deg)}"


def _stretched_name(project: Project, ref: BlockRef) -> str:
    block = block_of(project, ref)
    ends = f"{angle_words(block.start_deg)} to {angle_words(wrap(block.end_deg))}"
    return f"Stretch {block_label(project, ref)} to {ends}"


def set_block_level(project: Project, ref: BlockRef, level: str) -> Edited:
    """Change a block's level where it is; the neighbours stay.

    Raises EditError if the block is locked or not there, or the lane has no such level.
    """
    block = free_block_of(project, ref)
    lane = project.lane(ref.lane_id)
    name = f"Change {block_label(project, ref)} to {known_level(lane, level)}"
    if level == block.level:
        return Edited(project, name, (ref,))
    return _exchanged(project, [ref], [changed(block, level=level)], name)


def add_block(
    project: Project, lane_id: str, start_deg: float, level: str, length_deg: float | None = None
) -> Edited:
    """Add a dwell that starts at `start_deg`, degrees.

    length_deg: if None that of the lane's last block at that level, else of its last one (one step for an
    empty lane). Set into a dwell
    of another level it cuts that in two, with moves of the lane's usual length; elsewhere it leaves the
    others where they are. Raises EditError if there is no such lane or level.
    """
    lane = lane_of(project, lane_id)
    start = wrapped(start_deg)
    if length_deg is None:
        alike = [block for block in lane.blocks if block.level == level] or lane.blocks
        length_deg = alike[-1].length_deg if alike else _step_length(project)
    made = Block(
        level=known_level(lane, level), start_deg=start, end_deg=rounded(start + _bounded(length_deg))
    )
    others = _cut(lane, made)
    edited = with_blocks(project, lane_id, [*others, made])
    return Edited(
        edited, f"Add {lane.label} {level} at {angle_words(start)}", refs_to(edited, lane_id, [made])
    )


def _bounded(length_deg: float) -> float:
    if not 0 <= length_deg <= TURN:
        raise EditError(f"a block is 0 to 360 degrees long, got {length_deg}")
    return length_deg


def _step_length(project: Project) -> float:
    return TURN / len(project.shaft.step_starts_deg)


def _cut(lane: Lane, made: Block) -> list[Block]:
    """Cut the dwell in which a new block stands, leaving room for the moves to and from it."""
    move = usual_move(lane)
    others: list[Block] = []
    for block in lane.blocks:
        inside = ahead(block.start_deg, made.start_deg) + made.length_deg <= block.length_deg
        if block.locked or block.level == made.level or not inside:
            others.append(block)
        else:
            others += _halves(block, made, move)
    return others


def _halves(block: Block, made: Block, move: float) -> list[Block]:
    """Return what is left of a dwell before and after a block set into it."""
    lead = ahead(block.start_deg, made.start_deg)
    rest = block.length_deg - lead - made.length_deg
    first = spanned(block, block.start_deg, max(0.0, lead - move))
    after = min(move, rest)
    second = spanned(
        block, block.start_deg + lead + made.length_deg + after, rest - after, law=None, window=None
    )
    return [first, second]


def delete_blocks(project: Project, refs: Sequence[BlockRef]) -> Edited:
    """Take blocks out; two dwells of one level to the sides of one that goes join into one.

    Raises EditError if one is locked or not there.
    """
    labels = [f"{block_label(project, ref)}" for ref in refs if free_block_of(project, ref)]
    name = f"Delete {listed(labels) if len(labels) <= 2 else counted(len(labels), 'block')}"
    edited = project
    for lane_id in dict.fromkeys(ref.lane_id for ref in refs):
        gone = {ref.index for ref in refs if ref.lane_id == lane_id}
        edited = with_blocks(edited, lane_id, _without(edited.lane(lane_id).blocks, gone))
    return Edited(edited, name)


def _without(blocks: Sequence[Block], gone: set[int]) -> list[Block]:
    """Take blocks out, joining the dwells beside them."""
    kept = [index for index in range(len(blocks)) if index not in gone]
    joined = [blocks[index] for index in kept[:1]]
    for before, index in pairwise(kept):
        if index - before > 1 and _joinable(joined[-1], blocks[index]):
            joined[-1] = _joined(joined[-1], blocks[index])
        else:
            joined.append(blocks[index])
    ends_gone = bool({0, len(blocks) - 1} & gone)
    if ends_gone and len(joined) > 1 and _joinable(joined[-1], joined[0]):
        joined[0] = _joined(joined.pop(), joined[0])
    return joined


def _joinable(first: Block, second: Block) -> bool:
    return first.level == second.level and not (first.locked or second.locked)


def _joined(first: Block, second: Block) -> Block:
    length = ahead(first.start_deg, second.start_deg) + second.length_deg
    return spanned(first, first.start_deg, length)


def set_locked(project: Project, refs: Sequence[BlockRef], locked: bool) -> Edited:
    """Lock blocks (no edit moves them) or unlock them; raises EditError if one is not there."""
    blocks = [block_of(project, ref) for ref in refs]
    name = f"{'Lock' if locked else 'Unlock'} {_named(project, refs)}"
    return _exchanged(project, refs, [changed(block, locked=locked) for block in blocks], name)


def set_block_law(project: Project, ref: BlockRef, law: LawName | None) -> Edited:
    """Choose the law of the move that leads to a block; None for the lane's law.

    Raises EditError if there is no such block or law.
    """
    made = changed(block_of(project, ref), law=law)
    name = f"Change the law to {block_label(project, ref)} to {law or 'the lane’s'}"
    return _exchanged(project, [ref], [made], name)


def set_window(
    project: Project, ref: BlockRef, earliest_deg: float | None, latest_deg: float | None
) -> Edited:
    """Set the earliest and latest start of a block, degrees; None for both removes the window.

    Raises EditError if there is no such block, or only one angle is given.
    """
    block, label = block_of(project, ref), block_label(project, ref)
    if earliest_deg is None or latest_deg is None:
        if earliest_deg != latest_deg:
            raise EditError(f"a window has two ends, got {earliest_deg} and {latest_deg}")
        return _exchanged(project, [ref], [changed(block, window=None)], f"Free {label} of its window")
    arc = Arcs.between(rounded(earliest_deg), rounded(latest_deg))
    window = Window(earliest_deg=rounded(arc.start), latest_deg=rounded(arc.start + arc.length))
    name = f"Keep {label} within {angle_range(arc)}"
    return _exchanged(project, [ref], [changed(block, window=window)], name)


def set_least_length(
    project: Project, ref: BlockRef, least_deg: float | None = None, least_s: float | None = None
) -> Edited:
    """Set a block's minimum length, in degrees or in seconds; None for both removes it.

    Raises EditError if there is no such block, or both are given.
    """
    made = changed(block_of(project, ref), min_length_deg=least_deg, min_length_s=least_s)
    return _exchanged(project, [ref], [made], f"Change the least length of {block_label(project, ref)}")


def _named(project: Project, refs: Sequence[BlockRef]) -> str:
    """Name one block, or count several."""
    return block_label(project, refs[0]) if len(refs) == 1 else counted(len(refs), "block")


def _exchanged(project: Project, refs: Sequence[BlockRef], made: Sequence[Block], name: str) -> Edited:
    """Put changed blocks, whose starts are the same, in the places of others."""
    edited = project
    for lane_id in dict.fromkeys(ref.lane_id for ref in refs):
        blocks = list(edited.lane(lane_id).blocks)
        for ref, block in zip(refs, made, strict=True):
            if ref.lane_id == lane_id:
                blocks[ref.index] = block
        edited = with_blocks(edited, lane_id, blocks)
    return Edited(edited, name, tuple(refs))
