"""What all edits share: naming blocks, the result of an edit, and changed records.

An edit is a pure function from a project and arguments to an `Edited`. Angles that an edit sets are
rounded to `EDIT_DEG`; blocks stay sorted by start (the lane's record sees to it). What cannot be
done raises EditError with the reason, and the project stays as it was.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import islice
from typing import Any, TypeVar

from pydantic import ValidationError

from shaftscore.base.angles import TURN, turn_to, wrap
from shaftscore.base.errors import EditError
from shaftscore.base.tolerance import EDIT_DEG
from shaftscore.base.wording import degrees, did_you_mean, plain
from shaftscore.model.base import Record, replaced
from shaftscore.model.faults import faults_of
from shaftscore.model.lanes import Block, Lane
from shaftscore.model.project import Project
from shaftscore.model.references import reference_faults

_DECIMALS = -round(math.log10(EDIT_DEG))
R = TypeVar("R", bound=Record)


@dataclass(frozen=True)
class BlockRef:
    """Names a block by its lane and its place among the lane's blocks; valid for one project object."""

    lane_id: str
    index: int


@dataclass(frozen=True)
class Edited:
    """What an edit gives.

    project: the new one, or the same object if nothing changed. name: of the undo step, in the maker's
    words. selection: blocks to select now, refs into the new project. lane_id: the lane to select, where
    the edit is about a lane.
    """

    project: Project
    name: str
    selection: tuple[BlockRef, ...] = ()
    lane_id: str | None = None


def consistent(project: Project) -> Project:
    """Return the project; raises EditError if it refers to something that is not there."""
    faults = list(islice(reference_faults(project), 3))
    if faults:
        raise EditError("; ".join(str(fault) for fault in faults))
    return project


def rounded(deg: float) -> float:
    """Round an angle to the grid of edits, degrees; raises EditError if it is not finite."""
    if not math.isfinite(deg):
        raise EditError(f"an angle is a finite number, got {deg}")
    return round(deg, _DECIMALS) + 0.0


def changed(record: R, **changes: Any) -> R:
    """Make a record with some fields changed; raises EditError with what makes it impossible."""
    try:
        return replaced(record, **changes)
    except ValidationError as error:
        faults = faults_of(error, changes, [type(record)])
        raise EditError("; ".join(str(fault) for fault in faults)) from error


def constructed(kind: type[R], /, **fields: Any) -> R:
    """Make a record of a kind; raises EditError with what makes it impossible."""
    try:
        return kind(**fields)
    except ValidationError as error:
        faults = faults_of(error, fields, [kind])
        raise EditError("; ".join(str(fault) for fault in faults)) from error


def wrapped(deg: float) -> float:
    """Bring an angle into its turn, 0 <= angle < 360, on the grid of edits."""
    return wrap(rounded(wrap(rounded(deg))))


def same_angle(first: float, second: float) -> bool:
    """Return whether two angles, degrees, are one on the circle, to half the grid of edits."""
    return abs(turn_to(first, second)) <= EDIT_DEG / 2


def spanned(block: Block, start_deg: float, length_deg: float, **changes: Any) -> Block:
    """Return the block a new start and length (angles unwrapped, rounded here) and further changes.

    An end that does not move keeps its value, also where that is not on the grid.
    """
    stays = same_angle(block.start_deg, start_deg)
    if stays and abs(block.length_deg - length_deg) <= EDIT_DEG / 2:
        return changed(block, **changes) if changes else block
    start = block.start_deg if stays else wrapped(start_deg)
    end = rounded(start + min(max(length_deg, 0.0), TURN))
    return changed(block, start_deg=start, end_deg=max(start, end), **changes)


def lane_of(project: Project, lane_id: str) -> Lane:
    """Return a lane by id; raises EditError if there is none."""
    if lane_id not in project.lane_index:
        hint = did_you_mean(lane_id, project.lane_index)
        raise EditError(f'there is no lane "{lane_id}"' + (f"; {hint}" if hint else ""))
    return project.lane(lane_id)


def block_of(project: Project, ref: BlockRef) -> Block:
    """Return a block by ref; raises EditError if there is none."""
    lane = lane_of(project, ref.lane_id)
    if not 0 <= ref.index < len(lane.blocks):
        raise EditError(f"{lane.label} has no block {ref.index + 1}; it has {len(lane.blocks)}")
    return lane.blocks[ref.index]


def free_block_of(project: Project, ref: BlockRef) -> Block:
    """Return a block that may be moved; raises EditError if it is locked or not there."""
    block = block_of(project, ref)
    if block.locked:
        raise EditError(
            f"{block_label(project, ref)} is locked at {degrees(block.start_deg)}; unlock it first"
        )
    return block


def block_label(project: Project, ref: BlockRef) -> str:
    """Name a block for people: lane and level ("Mint open")."""
    return f"{project.lane(ref.lane_id).label} {block_of(project, ref).level}"


def known_level(lane: Lane, level: str) -> str:
    """Return back the level's name; raises EditError if the lane has no such level."""
    if level not in lane.levels:
        hint = did_you_mean(level, lane.levels)
        known = ", ".join(lane.levels) or "none"
        raise EditError(
            f'"{level}" is not one of {lane.label}\'s levels ({known})' + (f"; {hint}" if hint else "")
        )
    return level


def with_lane(project: Project, lane: Lane) -> Project:
    """Put a changed lane in the place of the one with its id; all other lanes stay the same objects."""
    if project.lane(lane.id) is lane:
        return project
    lanes = [lane if other.id == lane.id else other for other in project.lanes]
    return changed(project, lanes=tuple(lanes))


def with_blocks(project: Project, lane_id: str, blocks: Iterable[Block]) -> Project:
    """Return the project with other blocks, in any order, on a lane."""
    return with_lane(project, changed(lane_of(project, lane_id), blocks=tuple(blocks)))


def refs_to(project: Project, lane_id: str, blocks: Sequence[Block]) -> tuple[BlockRef, ...]:
    """Return the refs of blocks by their identity."""
    wanted = {id(block) for block in blocks}
    found = enumerate(project.lane(lane_id).blocks)
    return tuple(BlockRef(lane_id, index) for index, block in found if id(block) in wanted)


def angle_words(deg: float) -> str:
    """Write an angle in the name of an undo step: one decimal, more where it has more ("150.0°")."""
    text = plain(deg)
    return f"{text}°" if len(text.partition(".")[2]) > 1 else degrees(deg)
