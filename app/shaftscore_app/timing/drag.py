"""The story of a held block, on plain values: press, move, release or cancel. No Qt.

Pointer angles are unwrapped angles of the master shaft, so that a block can be dragged through 360 as
often as one likes. The angle between pointer and block is kept from press to drop, and so is the height
between pointer and level line. Each move gives a *preview*: an edit of the project as it was at the
press. A release gives that edit once; a cancel, or a drop where the block began, gives none.

Several blocks may be held by one of them: they go sideways together, and up or down by as many levels as
the held one, each within its own lane's; one that has no such level keeps its own. Held as a *copy*,
everything stays and copies go with the pointer instead.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import lru_cache

from shaftscore.base.angles import TURN, Arcs, turn_to, wrap
from shaftscore.base.errors import EditError
from shaftscore.edits import BlockRef, Edited, duplicate_blocks, move_blocks, place_block, stretch_block
from shaftscore.edits.blocks import Neighbours
from shaftscore.kinematics.course import LaneCycle
from shaftscore.make.drawing.timing.hits import Grip
from shaftscore.make.drawing.timing.shapes import levels_of, nearest_level
from shaftscore.model import Block, Lane, Project
from shaftscore_app.timing import steps
from shaftscore_app.timing.snap import Hold, Target, free_shift, snap, zone_ends

SAME_DEG = 1e-5
"""Places closer than this are the same, degrees: edits round finer."""

START_PX = 4.0
"""A press becomes a drag after this way, px of the design."""

FreeZones = Callable[[str], Arcs]
"""Gives, for a level, where the start of the held block could stand without any finding (own angles)."""


@dataclass(frozen=True)
class Press:
    """Where a block was taken: which, what of it, and the pointer's angle and output there.

    group: all blocks that go with it, itself included, where there are several. copies: whether copies go.
    """

    ref: BlockRef
    grip: Grip
    pointer_deg: float
    pointer_mm: float
    group: tuple[BlockRef, ...] = ()
    copies: bool = False

    @property
    def refs(self) -> tuple[BlockRef, ...]:
        """All blocks that are held."""
        return self.group if self.grip is Grip.WHOLE and self.group else (self.ref,)

    @property
    def is_single(self) -> bool:
        """Whether one block alone is moved."""
        return len(self.refs) == 1 and not self.copies


@dataclass(frozen=True)
class Pointer:
    """Where the pointer is now.

    deg: unwrapped master angle. mm: output at its height. way_px: farthest from the press so far.
    px_per_deg: scale of the axis. free: leave the grid (Alt). flip: the other treatment of the
    neighbours (Shift).
    """

    deg: float
    mm: float
    way_px: float
    px_per_deg: float
    free: bool = False
    flip: bool = False


@dataclass(frozen=True)
class DragHabits:
    """The person's settings: the grid, whether to snap, whether moves keep their length, free zones."""

    grid_deg: float = 0.5
    snapping: bool = True
    moves_keep: bool = True
    zones: bool = True


@dataclass(frozen=True)
class HeldBlock:
    """The held block now.

    edited: what a release would give, or None where nothing changed. start_deg, end_deg: own angles of
    the block as it would stand, unwrapped. moved_deg: how far its held edge went, own, counted on. hold:
    what it is drawn to. refused: why it cannot stand where the pointer is, or empty; the last place
    that was possible is then shown. zones: where its start could stand at this level without any finding
    (own angles), or None where that is not asked. keeping: how many of several blocks have no level so far up
    or down as the held one goes, and keep theirs.
    """

    press: Press
    edited: Edited | None
    ref: BlockRef
    level: str
    start_deg: float
    end_deg: float
    moved_deg: float = 0.0
    hold: Hold | None = None
    refused: str = ""
    zones: Arcs | None = None
    keeping: int = 0

    @property
    def changed(self) -> bool:
        """Whether the block would stand elsewhere than before."""
        return self.edited is not None

    @property
    def refs(self) -> tuple[BlockRef, ...]:
        """All blocks that are held, as they stand now, the one under the pointer first."""
        moved = self.press.refs if self.edited is None else self.edited.selection
        return tuple(dict.fromkeys((self.ref, *moved)))


@dataclass
class Drag:
    """One drag of one block, from press to release or cancel; afterwards it does nothing more.

    cycle: the one shown. What was taken stays under the pointer: on a stepped stack the block moves where its
    stage does, and stands still where that holds it.
    """

    project: Project
    press: Press
    habits: DragHabits = field(default_factory=DragHabits)
    marks: Sequence[Target] = ()
    zones: FreeZones | None = None
    u: float = 1.0
    cycle: int = 1
    held: HeldBlock | None = field(default=None, init=False)
    is_over: bool = field(default=False, init=False)
    _placed_as: tuple[object, ...] = field(default=(), init=False)

    def __post_init__(self) -> None:
        """Look up the block and remember the zones of each level once asked for."""
        self._block = self.lane.blocks[self.press.ref.index]
        self._turns = self.project.rate_of(self.lane)
        self._course = LaneCycle.of(self.project, self.lane, self.cycle)
        self._zones = lru_cache(self.zones) if self.zones else None

    @property
    def lane(self) -> Lane:
        """The lane as it was at the press."""
        return self.project.lane(self.press.ref.lane_id)

    @property
    def block(self) -> Block:
        """The block as it was at the press."""
        return self._block

    def free_starts(self, level: str, *, flip: bool = False) -> Arcs | None:
        """Return where the block's start could stand at a level; None where that is not asked.

        Zones are of whole blocks whose moves keep their length, and of copies.
        """
        press, habits = self.press, self.habits
        asked = press.copies or habits.moves_keep != flip
        if self._zones is None or not (asked and habits.zones and press.grip is Grip.WHOLE):
            return None
        return self._zones(level)

    @property
    def is_stuck(self) -> bool:
        """Whether what is held is locked, so that nothing can move."""
        return self._block.locked and not self.press.copies

    def move(self, pointer: Pointer) -> HeldBlock | None:
        """Follow the pointer; None while the press is not a drag yet, or where nothing may move."""
        if self.is_over or self.is_stuck:
            return None
        if self.held is None and pointer.way_px < START_PX * self.u:
            return None
        held = self._moved(pointer)
        zones = self.free_starts(held.level, flip=pointer.flip)
        self.held = replace(held, zones=zones, keeping=self._keeping(held.level))
        return self.held

    def release(self) -> Edited | None:
        """Let go: give the edit to perform, or None where the block stands where it began."""
        edited = self.held.edited if self.held and not self.is_over else None
        self.is_over = True
        return edited

    def cancel(self) -> None:
        """Put everything back: there is nothing to perform."""
        self.held = None
        self.is_over = True

    # Inside

    def _keeping(self, level: str) -> int:
        """Count the held blocks that have no level as far from theirs as `level` is from the held one's."""
        ranks = steps.ranks_between(self.lane, self._block.level, level)
        return steps.without_level(self.project, self.press.refs, ranks)

    def _moved(self, pointer: Pointer) -> HeldBlock:
        way = self._course.turned(self.press.pointer_deg, pointer.deg)
        level = self._level_at(pointer)
        raw = {grip: deg + way for grip, deg in self._edges().items()}
        shift, hold = self._snapped(raw, level, pointer)
        return self._placed(level, way + shift, hold, pointer.flip)

    def _edges(self) -> Mapping[Grip, float]:
        """Return the edges that move with the pointer, own angles, the leading one first."""
        ends = {Grip.START: self._block.start_deg, Grip.END: self._block.end_deg}
        if self.press.grip is Grip.WHOLE:
            return ends
        return {self.press.grip: ends[self.press.grip]}

    def _level_at(self, pointer: Pointer) -> str:
        if self.press.grip is not Grip.WHOLE or self.press.copies or len(levels_of(self.lane)) < 2:
            return self._block.level
        output = self.lane.levels[self._block.level] + pointer.mm - self.press.pointer_mm
        return nearest_level(self.lane, output).name

    def _snapped(self, raw: Mapping[Grip, float], level: str, pointer: Pointer) -> tuple[float, Hold | None]:
        if pointer.free or not self.habits.snapping:
            return free_shift(raw, self._edges()), None
        targets = tuple(self.marks)
        starts = self.free_starts(level, flip=pointer.flip)
        if starts is not None:
            targets = (*zone_ends(starts, self._block.length_deg), *targets)
        snapped = snap(
            raw,
            targets,
            pointer.px_per_deg / self._course.ratio(pointer.deg),
            self.habits.grid_deg,
            held=self.held.hold if self.held else None,
            origin=self._edges(),
            u=self.u,
        )
        return snapped.shift_deg, snapped.hold

    def _placed(self, level: str, moved: float, hold: Hold | None, flip: bool) -> HeldBlock:
        """Set the block in where it is held; a place that was tried last is not tried again."""
        neighbours: Neighbours = "give" if self.habits.moves_keep != flip else "stay"
        start, end = self._ends(moved)
        asked = (level, round(start, 6), round(end, 6), neighbours)
        if self.held is not None and asked == self._placed_as:
            return replace(self.held, hold=hold if self._stands(self.held, start, end) else None)
        self._placed_as = asked
        if (
            level == self._block.level
            and abs(start - self._block.start_deg) + abs(end - self._block.end_deg) < SAME_DEG
        ):
            return self._at_home(hold)
        try:
            edited = self._edit(level, start, end, neighbours)
        except EditError as error:
            return self._stopped(str(error))
        return self._as_edited(edited, start, end, moved, hold)

    def _ref_in(self, edited: Edited, start: float) -> BlockRef:
        """Find the held block, or the copy of it that starts at an own angle, in what an edit gives.

        Blocks may have joined where several have changed their level.
        """
        if len(edited.selection) == len(self.press.refs) and not self.press.copies:
            return edited.selection[self.press.refs.index(self.press.ref)]
        own = [ref for ref in edited.selection if ref.lane_id == self.press.ref.lane_id]
        blocks = edited.project.lane(self.press.ref.lane_id).blocks
        return min(own, key=lambda ref: abs(turn_to(blocks[ref.index].start_deg, start)))

    def _as_edited(
        self, edited: Edited, start: float, end: float, moved: float, hold: Hold | None
    ) -> HeldBlock:
        """Show the block where the edit has put it, which may be short of where the pointer is."""
        if edited.project == self.project:
            return self._at_home(hold)
        ref = self._ref_in(edited, start)
        block = edited.project.lane(ref.lane_id).blocks[ref.index]
        aim = end if self.press.grip is Grip.END else start
        stands = block.end_deg if self.press.grip is Grip.END else block.start_deg
        held = HeldBlock(
            self.press,
            edited,
            ref,
            block.level,
            block.start_deg,
            block.end_deg,
            moved + turn_to(aim, stands),
            hold,
        )
        return held if self._stands(held, start, end) else replace(held, hold=None)

    def _stands(self, held: HeldBlock, start: float, end: float) -> bool:
        """Return whether a block stands where it was to stand."""
        return max(abs(turn_to(held.start_deg, start)), abs(turn_to(held.end_deg, end))) < SAME_DEG

    def _at_home(self, hold: Hold | None = None, refused: str = "") -> HeldBlock:
        """Return the block as it stood at the press."""
        block = self._block
        return HeldBlock(
            self.press, None, self.press.ref, block.level, block.start_deg, block.end_deg, 0.0, hold, refused
        )

    def _ends(self, moved: float) -> tuple[float, float]:
        """Return both ends, unwrapped, when the held edge has moved; a stretch ends at nothing or a turn."""
        start, end = self._block.start_deg, self._block.end_deg
        if self.press.grip is Grip.START:
            return min(end, max(end - TURN, start + moved)), end
        if self.press.grip is Grip.END:
            return start, max(start, min(start + TURN, end + moved))
        return start + moved, end + moved

    def _edit(self, level: str, start: float, end: float, neighbours: Neighbours) -> Edited:
        project, press = self.project, self.press
        by = (start - self._block.start_deg) / self._turns
        if press.copies:
            return duplicate_blocks(project, press.refs, by)
        ranks = steps.ranks_between(self.lane, self._block.level, level)
        if not press.is_single and ranks:
            stay = neighbours == "stay"
            edited = steps.move_and_change_levels(project, press.refs, by, ranks, stay=stay)
            return edited or Edited(project, "", press.refs)
        if not press.is_single:
            return move_blocks(project, press.refs, by, neighbours)
        if press.grip is Grip.WHOLE:
            return place_block(project, press.ref, wrap(start), level, neighbours)
        if press.grip is Grip.START:
            return stretch_block(project, press.ref, start_deg=start, neighbours=neighbours)
        return stretch_block(project, press.ref, end_deg=end, neighbours=neighbours)

    def _stopped(self, why: str) -> HeldBlock:
        """Stay at the last place that was possible."""
        if self.held is None:
            return self._at_home(refused=why)
        return replace(self.held, hold=None, refused=why)
