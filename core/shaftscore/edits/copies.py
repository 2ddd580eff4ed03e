"""Edits that copy blocks: duplicate, repeat round the turn, and a clip that goes over the clipboard.

A *clip* holds blocks of some lanes with their times to each other. Its text is JSON of its own kind, so
that it can be told from any other text; reading it is bounded and never trusts what it finds.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Annotated, Literal

from pydantic import Field, ValidationError

from shaftscore.base.angles import TURN, Arcs, ahead, wrap
from shaftscore.base.errors import EditError
from shaftscore.base.wording import counted, degrees
from shaftscore.edits.base import BlockRef, Edited, angle_words, block_label, block_of, lane_of, with_blocks
from shaftscore.edits.laying import Unit, laid_over, unit_of
from shaftscore.edits.moving import turns_of
from shaftscore.edits.runs import runs_of, span_over, stretch_over
from shaftscore.model.base import Record
from shaftscore.model.lanes import Block, Lane, LawName
from shaftscore.model.project import Project

MOST_TEXT = 1 << 20
"""A longer text is no clip."""

MOST_REPEATS = 120
"""Most times that blocks can be repeated round the turn."""


def duplicate_blocks(project: Project, refs: Sequence[BlockRef], by_deg: float) -> Edited:
    """Lay copies of blocks into their lanes, `by_deg` degrees of the master shaft later.

    Raises EditError if one is not there, or a lane is at that level there anyway.
    """
    laid = [
        (lane_id, unit, unit_start + by_deg * turns_of(project, lane_id))
        for lane_id, unit, unit_start in units_of(project, refs)
    ]
    if not laid:
        raise EditError("there are no blocks to copy")
    return _laid(project, laid, f"Copy {_named(project, refs)} {angle_words(by_deg)} on")


def repeat_blocks(project: Project, refs: Sequence[BlockRef], times: int) -> Edited:
    """Let blocks stand `times` times round the turn of their stack, at equal distances.

    Raises EditError if they are too long for that, or times is not 2 to 120.
    """
    if not 2 <= times <= MOST_REPEATS:
        raise EditError(f"blocks are repeated 2 to {MOST_REPEATS} times round the turn, not {times}")
    step = TURN / times
    _refuse_long(project, refs, times)
    laid = [
        (lane_id, unit, start + number * step)
        for number in range(1, times)
        for lane_id, unit, start in units_of(project, refs)
    ]
    edited = _laid(project, laid, f"Repeat {_named(project, refs)} {times} times")
    return Edited(edited.project, edited.name, edited.selection)


def _refuse_long(project: Project, refs: Sequence[BlockRef], times: int) -> None:
    for lane_id, chosen in _chosen(project, refs).items():
        lane = project.lane(lane_id)
        _, length = span_over(lane, stretch_over(lane, chosen))
        if length >= TURN / times:
            raise EditError(
                f"{lane.label}: {degrees(length)} long; {times} times round the turn leaves "
                f"{degrees(TURN / times)} for each"
            )


def _chosen(project: Project, refs: Iterable[BlockRef]) -> dict[str, frozenset[int]]:
    """Return the places of blocks by lane; raises EditError if one is not there."""
    found: dict[str, set[int]] = {}
    for ref in refs:
        block_of(project, ref)
        found.setdefault(ref.lane_id, set()).add(ref.index)
    return {lane_id: frozenset(places) for lane_id, places in found.items()}


def units_of(project: Project, refs: Sequence[BlockRef]) -> list[tuple[str, Unit, float]]:
    """Return the runs among some blocks: lane, unit, own start. Raises EditError if one is not there."""
    return [
        (lane_id, unit_of(lane, run), lane.blocks[run[0]].start_deg)
        for lane_id, chosen in _chosen(project, refs).items()
        for lane in [project.lane(lane_id)]
        for run in runs_of(len(lane.blocks), chosen)
    ]


def _laid(project: Project, laid: Iterable[tuple[str, Unit, float]], name: str) -> Edited:
    """Lay units over lanes and select what was laid."""
    new: dict[str, list[Block]] = {}
    for lane_id, unit, start in laid:
        blocks, made = laid_over(project.lane(lane_id), unit, start)
        project = with_blocks(project, lane_id, blocks)
        new.setdefault(lane_id, []).extend(made)
    selection = tuple(
        BlockRef(lane_id, index)
        for lane_id, made in new.items()
        for index, block in enumerate(project.lane(lane_id).blocks)
        if any(block is one for one in made)
    )
    return Edited(project, name, selection)


def _named(project: Project, refs: Sequence[BlockRef]) -> str:
    return block_label(project, refs[0]) if len(refs) == 1 else counted(len(refs), "block")


# Clips


Degrees = Annotated[float, Field(ge=0, le=720)]


class ClipBlock(Record):
    """A block of a clip: its level with the output there, mm; start from the run's, and length, degrees."""

    level: Annotated[str, Field(max_length=200)]
    output_mm: Annotated[float, Field(ge=0, le=10_000)]
    offset_deg: Degrees
    length_deg: Annotated[float, Field(ge=0, le=360)]
    law: LawName | None = None


class ClipRun(Record):
    """Successive blocks of one lane.

    start_deg: from the clip's start, own degrees of its lane's stack. to_deg, away_deg: lengths of the
    moves beside it.
    """

    lane: Annotated[str, Field(max_length=200)]
    start_deg: Degrees
    to_deg: Annotated[float, Field(ge=0, le=360)]
    away_deg: Annotated[float, Field(ge=0, le=360)]
    blocks: Annotated[tuple[ClipBlock, ...], Field(min_length=1, max_length=720)]


class Clip(Record):
    """Blocks on the clipboard, in the order of their lanes."""

    kind: Literal["shaftscore-blocks"]
    version: Literal[1]
    runs: Annotated[tuple[ClipRun, ...], Field(min_length=1, max_length=10_000)]

    @property
    def lanes(self) -> tuple[str, ...]:
        """Ids of the lanes that the blocks are from."""
        return tuple(dict.fromkeys(run.lane for run in self.runs))


def clip_of(project: Project, refs: Sequence[BlockRef]) -> Clip:
    """Take blocks into a clip; raises EditError without one, or if one is not there."""
    units = units_of(project, refs)
    if not units:
        raise EditError("there are no blocks to copy")
    order = project.lane_index
    begin = _begin(project, units)
    runs = [
        _clip_run(project.lane(lane_id), unit, ahead(begin * turns_of(project, lane_id), start))
        for lane_id, unit, start in sorted(units, key=lambda item: order[item[0]])
    ]
    return Clip(kind="shaftscore-blocks", version=1, runs=tuple(runs))


def _begin(project: Project, units: Iterable[tuple[str, Unit, float]]) -> float:
    """Return the master angle at which units of several lanes begin: after the longest rest of the turn."""
    spans = [
        (start / turns_of(project, lane_id), unit.length_deg / turns_of(project, lane_id))
        for lane_id, unit, start in units
    ]
    rests = ~Arcs.of(spans)
    return spans[0][0] if rests.is_empty else max(rests, key=lambda rest: rest.length).end


def _clip_run(lane: Lane, unit: Unit, start: float) -> ClipRun:
    blocks = tuple(
        ClipBlock(
            level=block.level,
            output_mm=lane.levels[block.level],
            offset_deg=offset,
            length_deg=block.length_deg,
            law=block.law,
        )
        for block, offset in zip(unit.blocks, unit.offsets_deg, strict=True)
    )
    return ClipRun(lane=lane.id, start_deg=start, to_deg=unit.to_deg, away_deg=unit.away_deg, blocks=blocks)


def clip_text(clip: Clip) -> str:
    """Write a clip."""
    return clip.model_dump_json(exclude_defaults=True)


def read_clip(text: str) -> Clip | None:
    """Read a clip; None for any other text."""
    if len(text) > MOST_TEXT or "shaftscore-blocks" not in text[:200]:
        return None
    try:
        return Clip.model_validate_json(text)
    except ValidationError:
        return None


def paste_blocks(project: Project, clip: Clip, at_deg: float, lane_id: str | None = None) -> Edited:
    """Lay a clip over lanes so that its first block starts at a master angle.

    lane_id: where its first lane goes, the next ones below; its own lanes if None, or if that is one of
    them. Levels go by name, else to the nearest output. Raises EditError if lanes or levels are missing.
    """
    goals = _goals(project, clip, lane_id)
    laid = []
    for run in clip.runs:
        lane = lane_of(project, goals[run.lane])
        start = wrap(at_deg * turns_of(project, lane.id)) + run.start_deg
        laid.append((lane.id, _unit_for(lane, run), start))
    count = sum(len(run.blocks) for run in clip.runs)
    return _laid(project, laid, f"Paste {counted(count, 'block')} at {angle_words(wrap(at_deg))}")


def _goals(project: Project, clip: Clip, lane_id: str | None) -> Mapping[str, str]:
    """Return the lane for each lane of a clip."""
    own = clip.lanes
    if lane_id is None or lane_id in own:
        missing = [lane for lane in own if lane not in project.lane_index]
        if missing:
            raise EditError(f'there is no lane "{missing[0]}"; select the lane to paste into')
        return {lane: lane for lane in own}
    first = project.lane_index[lane_of(project, lane_id).id]
    below = [lane.id for lane in project.lanes[first : first + len(own)]]
    if len(below) < len(own):
        raise EditError(
            f"{counted(len(own), 'lane')} were copied, and from {project.lane(lane_id).label} on there "
            f"are {len(below)}"
        )
    return dict(zip(own, below, strict=True))


def _unit_for(lane: Lane, run: ClipRun) -> Unit:
    """Bring a run to the levels of a lane."""
    if not lane.levels:
        raise EditError(f"{lane.label} has no levels yet")
    names = {block.level: _level_for(lane, block) for block in run.blocks}
    if len(set(names.values())) < len(names):
        raise EditError(
            f"{lane.label} has not as many levels ({', '.join(lane.levels)}) as were copied "
            f"({', '.join(names)})"
        )
    blocks = tuple(
        Block(level=names[block.level], start_deg=0.0, end_deg=block.length_deg, law=block.law)
        for block in run.blocks
    )
    return Unit(blocks, tuple(block.offset_deg for block in run.blocks), run.to_deg, run.away_deg)


def _level_for(lane: Lane, block: ClipBlock) -> str:
    if block.level in lane.levels:
        return block.level
    return min(lane.levels, key=lambda name: abs(lane.levels[name] - block.output_mm))
