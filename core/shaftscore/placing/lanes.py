"""A lane as the arranging problem sees it: dwells that can move, and its states as expressions.

A *part* is a dwell: one block, or several of one level that touch and stay together. Parts keep the
order in which they were drawn; that is the lane's program. Every end of a state interval lies at a fixed
share of a move, whatever its length, so it is affine in starts and lengths: the share is read off the
lane's own motion, solved with room between its blocks. A lane for which that is not so (drops, and blends
beside a momentary stop) turns as a whole, all its lengths as drawn. Lanes without blocks of their own
and index lanes stand fixed, with the states of the solved project. Starts count the lane's own stack,
in steps; intervals count the master shaft.

How dwells may change. The level at which a lane dwells longest is its *rest*: it shrinks and grows, as the
dwells beside a dragged block do. Every other dwell keeps the length drawn, or shortens where the maker gave
a least length. None shrinks below its least length, nor below the share of the length drawn that is kept
(`placing.changes`). Lanes of one base-circle group that are drawn alike stay alike: one of them has variables
for all its parts, the others are it at another time.

Formulas, with S_i the start, L_i the length and M_i the move after dwell i, all in own steps of 0.1 degree, N
the steps of a turn, k the turns of the stack in a cycle:

    (1) M_i = S_(i+1) - S_i - L_i, and S_n = S_0 + N: the moves fill the turn
    (2) end of a state interval on move i: S_i + L_i + f_i M_i + laps N, f_i the share of the move at which
        the motion crosses the level; f_i depends on the law alone, so (2) is affine in starts and lengths
    (3) master angle = own angle / k, and the interval comes again every N / k
    (4) a rigid lane: every end is S_0 plus its distance as drawn
    (5) a window holds at any turn: 0 <= S + offset - earliest + turns N <= latest - earliest
    (6) M_i >= 1, and >= the shortest move under the lane's limits

All are bookkeeping of a periodic schedule; (2) rests on laws being functions of the share of a move.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil

from shaftscore.base.angles import TURN, ahead, wrap
from shaftscore.base.errors import ShaftscoreError
from shaftscore.edits.setting_in import least_length
from shaftscore.kinematics.motion.blocks import alike
from shaftscore.kinematics.motion.lane import LaneMotion, program, surroundings
from shaftscore.kinematics.motion.moves import BLEND, DROP
from shaftscore.kinematics.motion.segments import Move
from shaftscore.kinematics.motion.states import StateInterval, level_intervals, range_intervals
from shaftscore.kinematics.motion.surroundings import rider_later_deg, sense_of
from shaftscore.model import Block, Lane, LevelState, Project, State, replaced
from shaftscore.placing.affine import STEP_DEG, STEPS, Affine, fixed, var
from shaftscore.placing.changes import MayChange, has_steps, room_in_step
from shaftscore.placing.problem import Problem, Reason
from shaftscore.placing.shortest import Shortest
from shaftscore.solution import Solution

NEAR_DEG = 1e-7
"""An end this near to the end of a move is that end."""

PER_DEG = 1 / STEP_DEG


class ArrangeError(ShaftscoreError):
    """A project that cannot be arranged at all, with the reason."""


@dataclass(frozen=True)
class DwellPart:
    """A dwell: blocks (indices, in turning order), start (unrolled) and length as drawn, degrees.

    least_deg, most_deg: what its length may become. locked: it must stay where it is. rests: it is at the
    level at which the lane dwells longest.
    """

    blocks: tuple[int, ...]
    start_deg: float
    length_deg: float
    least_deg: float
    most_deg: float
    locked: bool
    rests: bool = False


@dataclass(frozen=True)
class HeldInterval:
    """A state interval: from `start` to `end`, master steps, again every `period` steps.

    place: where it begins in the lane's own order, to compare intervals of one lane; -1 for fixed ones.
    full: the state always holds.
    """

    lane: str
    start: Affine
    end: Affine
    period: float
    passing: bool = False
    blocks: tuple[int, ...] = ()
    place: float = -1.0
    full: bool = False

    @property
    def length(self) -> Affine:
        """Its length, steps."""
        return self.end - self.start

    def shifted(self, by: float) -> HeldInterval:
        """Return the interval some steps (0.1 degree) later."""
        return HeldInterval(
            self.lane,
            self.start + by,
            self.end + by,
            self.period,
            self.passing,
            self.blocks,
            self.place,
            self.full,
        )

    def repeated(self, period: float) -> list[HeldInterval]:
        """Return the interval's repeats within a longer period, steps, each repeated every such period."""
        count = round(period / self.period)
        return [
            HeldInterval(
                self.lane,
                self.start + self.period * turn,
                self.end + self.period * turn,
                period,
                self.passing,
                self.blocks,
                self.place + turn * TURN if self.place >= 0 else -1.0,
                self.full,
            )
            for turn in range(count)
        ]


def parts_of(project: Project, lane: Lane, may: MayChange) -> tuple[DwellPart, ...]:
    """Group a lane's blocks into dwells, in turning order; may: whether their lengths may change."""
    groups: list[list[int]] = []
    same = alike(lane)
    blocks = lane.blocks
    for index, block in enumerate(blocks):
        if groups and same(blocks[groups[-1][-1]].level, block.level) and _touch(blocks, groups[-1], block):
            groups[-1].append(index)
        else:
            groups.append([index])
    first, last = blocks[groups[0][0]], groups[-1]
    if len(groups) > 1 and same(blocks[last[-1]].level, first.level):
        reach = max(blocks[i].start_deg + blocks[i].length_deg for i in last)
        if reach >= first.start_deg + TURN:
            groups[-1] = last + groups.pop(0)
    rest = resting_level(lane)
    speed = 6.0 * project.shaft.speed_rpm * project.rate_of(lane)
    return tuple(_part(lane, members, rest, speed, may) for members in groups)


def _touch(blocks: Sequence[Block], members: Sequence[int], block: Block) -> bool:
    return block.start_deg <= max(blocks[i].start_deg + blocks[i].length_deg for i in members)


def _part(lane: Lane, members: Sequence[int], rest: str, speed: float, may: MayChange) -> DwellPart:
    blocks = [lane.blocks[index] for index in members]
    start = blocks[0].start_deg
    length = max(ahead(start, block.start_deg) + block.length_deg for block in blocks)
    locked = any(block.locked for block in blocks)
    least = most = length
    if may.lengths and len(blocks) == 1 and not locked and length > 0:
        block = blocks[0]
        given = block.min_length_deg is not None or block.min_length_s is not None
        if given or block.level == rest:
            least = least_length(block, speed)
        if block.level == rest:
            most = TURN
    return DwellPart(tuple(members), start, length, least, most, locked, blocks[0].level == rest)


def resting_level(lane: Lane) -> str:
    """Name the level at which a lane dwells longest in a turn."""
    total: dict[str, float] = {}
    for block in lane.blocks:
        total[block.level] = total.get(block.level, 0.0) + block.length_deg
    return max(total, key=total.__getitem__)


@dataclass(frozen=True)
class MovableLane:
    """A lane that can move: its parts with expressions for their starts, lengths and moves, own steps.

    motion: of the lane with room between its blocks, its parts being the dwells, in the same order; as
    drawn where the lane is rigid, that is turns as a whole. alike: it is another lane at another time, and
    has one variable of its own.
    """

    lane: Lane
    turns: int
    parts: tuple[DwellPart, ...]
    starts: tuple[Affine, ...]
    lengths: tuple[Affine, ...]
    moves: tuple[Affine, ...]
    motion: LaneMotion
    rigid: bool
    alike: bool = False

    @property
    def own_starts(self) -> tuple[int, ...]:
        """Numbers of the variables that are its parts' starts, in order; one where it turns as a whole."""
        found = [next(iter(start.terms), None) for start in self.starts]
        kept = found[:1] if self.rigid or self.alike else found
        return tuple(number for number in kept if number is not None)

    @property
    def own_lengths(self) -> tuple[int, ...]:
        """Numbers of the variables that are its parts' lengths; none where it turns as a whole."""
        if self.rigid or self.alike:
            return ()
        return tuple(number for length in self.lengths for number in length.terms)

    def states(self, state: State, lane: Lane) -> tuple[HeldInterval, ...]:
        """Return the intervals of a state as expressions; `lane`: whose levels it names."""
        found = (
            level_intervals(lane, self.motion, state.level)
            if isinstance(state, LevelState)
            else range_intervals(lane, self.motion, state.from_mm, state.to_mm)
        )
        return tuple(self._held(interval) for interval in found)

    def _held(self, interval: StateInterval) -> HeldInterval:
        period, share = STEPS / self.turns, 1 / self.turns  # (3)
        blocks = interval.blocks
        if not self.rigid:
            blocks = tuple(block for part in blocks for block in self.parts[part].blocks)
        if interval.span.is_full:
            start = self.starts[0] * share
            return HeldInterval(self.lane.id, start, start + period, period, False, blocks, 0.0, True)
        begin, end = interval.span.start, interval.span.start + interval.span.length
        if self.rigid and begin < self.parts[0].start_deg:
            begin, end = begin + TURN, end + TURN
        start, stop = self._place(begin, begin=True), self._place(end, begin=False)
        return HeldInterval(
            self.lane.id, start * share, stop * share, period, interval.passing, blocks, begin
        )

    def _place(self, angle: float, *, begin: bool) -> Affine:
        """Express an unrolled angle of the motion in starts and lengths."""
        if self.rigid:
            return self.starts[0] + (angle - self.parts[0].start_deg) * PER_DEG  # (4)
        laps, within = divmod_turn(angle)
        if not begin and within < NEAR_DEG:
            laps, within = laps - 1, TURN
        for index, start in enumerate(self.starts):
            dwell, move = self.motion.segments[2 * index], self.motion.segments[2 * index + 1]
            along = within - (dwell.start_deg + dwell.length_deg)
            if along <= move.length_deg + NEAR_DEG:
                after = start + self.lengths[index] + laps * STEPS  # (2)
                return after + self.moves[index] * min(max(along / move.length_deg, 0.0), 1.0)
        raise AssertionError("every angle lies in a dwell or a move")


def divmod_turn(angle: float) -> tuple[int, float]:
    """Split an unrolled angle into whole turns and what is left, degrees."""
    left = wrap(angle)
    return round((angle - left) / TURN), left


class Lanes:
    """All lanes of a project, those that can move and those that stand fixed."""

    def __init__(
        self,
        solution: Solution,
        problem: Problem,
        shortest: Shortest,
        may: MayChange | None = None,
        *,
        lengths_stay: bool = False,
    ) -> None:
        """Add the variables of all lanes that can move, with what holds within a lane.

        lengths_stay: lanes will only turn as a whole.
        """
        self._solution, self._problem, self._shortest = solution, problem, shortest
        self._lengths_stay = lengths_stay
        self._may = may or MayChange()
        self.project = solution.project
        self.moving: dict[str, MovableLane] = {}
        self._stepped: dict[str, bool] = {}
        for lane in self.project.lanes:
            if lane.kind == "disc" and lane.blocks:
                self.moving[lane.id] = self._moving(lane)
        self._known: dict[State, tuple[HeldInterval, ...]] = {}

    def held(self, state: State) -> tuple[HeldInterval, ...]:
        """Return the intervals of a state. Raises ArrangeError if its lane has no motion."""
        if state not in self._known:
            self._known[state] = self._held(state)
        return self._known[state]

    def _held(self, state: State) -> tuple[HeldInterval, ...]:
        lane = self.project.lane(state.lane)
        if lane.id in self.moving:
            return self.moving[lane.id].states(state, lane)
        host = lane.disc_of if lane.kind == "rider" else None
        if host in self.moving:
            moving = self.moving[host]
            later = rider_later_deg(lane, moving.lane, sense_of(self.project, moving.lane))
            by = later * PER_DEG / moving.turns
            return tuple(held.shifted(by) for held in moving.states(state, self.project.named_lane(lane)))
        solved = self._solution.lanes[lane.id]
        if solved.motion is None:
            raise ArrangeError(f"{lane.label} has no motion yet, and a rule asks for its states")
        return tuple(_fixed(lane.id, interval) for interval in solved.intervals(state))

    def _moving(self, lane: Lane) -> MovableLane:
        parts = parts_of(self.project, lane, self._may)
        rigid = len(parts) > 1 and _is_rigid(lane, parts)
        motion = self._drawn(lane) if rigid else _with_room(self.project, lane, parts)
        like = None if rigid or len(parts) == 1 else self._like(lane, parts)
        if like is None:
            starts, lengths = self._variables(lane, parts, rigid=rigid)
        else:
            starts, lengths = self._after(lane, parts, *like)
        for part, start in zip(parts, starts, strict=True):
            if len(parts) > 1:
                self._kept(lane, part, start)
        following = [*starts[1:], starts[0] + STEPS] if starts else []  # (1)
        moves = [
            after - start - length for start, length, after in zip(starts, lengths, following, strict=True)
        ]
        if len(parts) > 1 and not rigid:
            self._room_for_moves(lane, parts, moves, motion)
        turns = self.project.stack_of(lane).turns
        same = like is not None
        return MovableLane(
            lane, turns, parts, tuple(starts), tuple(lengths), tuple(moves), motion, rigid, same
        )

    def _like(self, lane: Lane, parts: Sequence[DwellPart]) -> tuple[MovableLane, int] | None:
        """Return the lane of the same base-circle group that is drawn alike, and at which part it begins."""
        for other in self.moving.values():
            if other.rigid or other.alike or not _share_disc(other.lane, lane):
                continue
            mine, theirs = (_drawn_form(*one) for one in ((lane, parts), (other.lane, other.parts)))
            for first in range(len(theirs)):
                if mine == [*theirs[first:], *theirs[:first]]:
                    return other, first
        return None

    def _after(
        self, lane: Lane, parts: Sequence[DwellPart], like: MovableLane, first: int
    ) -> tuple[list[Affine], list[Affine]]:
        """Add one start; all else follows from the lane that it is like, of which it begins with a part."""
        begin = self._on_grid(self._start(f"{lane.id} start", *[parts[0].start_deg * PER_DEG] * 2))
        starts, lengths = [], []
        for number, part in enumerate(parts):
            place = first + number
            laps = int(place >= len(parts))
            place -= laps * len(parts)
            start = begin + like.starts[place] + laps * STEPS - like.starts[first]
            if part.locked:
                drawn = part.start_deg * PER_DEG
                self._problem.equal(start, fixed(drawn), Reason("locked", lane.id, part.blocks[0]))
            self._windows(lane, part, start)
            starts.append(start)
            lengths.append(like.lengths[place])
        return starts, lengths

    def _kept(self, lane: Lane, part: DwellPart, start: Affine) -> None:
        """Keep the start where starts may not change, and a dwell in its step where the order may not."""
        by = start - part.start_deg * PER_DEG
        if not self._may.starts:
            for way in (1.0, -1.0):
                self._problem.at_least_0(by * way + 0.5, Reason("kept", "starts"))
        windows = any(lane.blocks[index].window for index in part.blocks)
        if self._may.order or part.rests or part.locked or windows or not self._has_steps(lane):
            return
        back, on = (room * PER_DEG for room in room_in_step(self.project, part.start_deg, part.length_deg))
        reason = Reason("step", lane.id, part.blocks[0])
        self._problem.at_least_0(by - back + 0.5, reason)  # half a step for the grid
        self._problem.at_least_0(by * -1.0 + on + 0.5, reason)

    def _has_steps(self, lane: Lane) -> bool:
        if lane.id not in self._stepped:
            self._stepped[lane.id] = has_steps(self.project, lane)
        return self._stepped[lane.id]

    def _drawn(self, lane: Lane) -> LaneMotion:
        motion = self._solution.lanes[lane.id].motion
        if motion is None:
            what = "its drops and blends keep the lengths drawn, and its blocks leave no time for them"
            raise ArrangeError(f"{lane.label} cannot be arranged: {what}")
        return motion

    def _variables(
        self, lane: Lane, parts: Sequence[DwellPart], *, rigid: bool
    ) -> tuple[list[Affine], list[Affine]]:
        """Add the starts and lengths of a lane's parts; locked ones may stand off the grid."""
        first = parts[0].start_deg * PER_DEG
        if len(parts) == 1:
            return [fixed(first)], [fixed(parts[0].length_deg * PER_DEG)]
        starts: list[Affine] = []
        lengths: list[Affine] = []
        locked_off = next((p.start_deg for p in parts if p.locked), parts[0].start_deg) * PER_DEG
        for index, part in enumerate(parts):
            drawn = part.start_deg * PER_DEG
            if rigid and index:
                start = starts[0] + (drawn - first)
            else:
                start = self._start(f"{lane.id} {index} start", drawn, locked_off if rigid else drawn)
            if part.locked:
                self._problem.equal(start, fixed(drawn), Reason("locked", lane.id, part.blocks[0]))
            elif not rigid:
                start = self._on_grid(start)
            self._windows(lane, part, start)
            starts.append(start)
            lengths.append(fixed(part.length_deg * PER_DEG) if rigid else self._length(lane, index, part))
        return starts, lengths

    def _start(self, name: str, drawn: float, off: float) -> Affine:
        """Add a start near where it was drawn; it lies as far off the grid as `off` does."""
        grid, half = round(drawn), int(STEPS / 2)
        return var(self._problem.new(name, grid - half, grid + half, grid)) + (off - round(off))

    @staticmethod
    def _on_grid(start: Affine) -> Affine:
        return Affine(start.terms, 0.0)

    def _length(self, lane: Lane, index: int, part: DwellPart) -> Affine:
        drawn = part.length_deg * PER_DEG
        if part.least_deg >= part.most_deg - NEAR_DEG:
            return fixed(drawn)
        least, most = ceil(part.least_deg * PER_DEG - 1e-6), int(part.most_deg * PER_DEG + 1e-6)
        hint = min(max(round(drawn), least), most)
        length = var(self._problem.new(f"{lane.id} {index} length", least, most, hint))
        kept = drawn * self._may.share
        if kept > least:
            self._problem.at_least_0(length - min(kept, round(drawn)), Reason("kept", "lengths"))
        return length

    def _windows(self, lane: Lane, part: DwellPart, start: Affine) -> None:
        """Keep the starts of blocks in their windows, at any turn."""
        for index in part.blocks:
            block = lane.blocks[index]
            if block.window is None or block.locked:
                continue
            earliest = block.window.earliest_deg * PER_DEG
            latest = block.window.latest_deg * PER_DEG
            if latest < earliest:
                latest += STEPS
            offset = ahead(part.start_deg, block.start_deg) * PER_DEG
            placed = start + offset - earliest  # (5)
            placed = placed + self._problem.turns(
                f"{lane.id} {index} window", placed, STEPS, latest - earliest
            )
            reason = Reason("window", lane.id, index)
            self._problem.at_least_0(placed, reason)
            self._problem.at_least_0(fixed(latest - earliest) - placed, reason)

    def _room_for_moves(
        self, lane: Lane, parts: Sequence[DwellPart], moves: Sequence[Affine], motion: LaneMotion
    ) -> None:
        """Require for each move at least a step, and the shortest length under the lane's limits."""
        for index, (part, length) in enumerate(zip(parts, moves, strict=True)):
            following = parts[(index + 1) % len(parts)]
            drawn = ahead(wrap(part.start_deg + part.length_deg), following.start_deg)
            self._problem.at_least_0(length - 1.0)  # (6)
            move = motion.segments[2 * index + 1]
            if isinstance(move, Move) and move.rise_mm:
                stay = self._lengths_stay
                least = self._shortest.steps(lane, following.blocks[0], move, drawn, lengths_stay=stay)
                if part.locked and following.locked:
                    least = min(least, drawn * PER_DEG)
                self._problem.at_least_0(length - least, Reason("shortest", lane.id, following.blocks[0]))


def _share_disc(one: Lane, other: Lane) -> bool:
    """Return whether two lanes of one base-circle group differ in no more than place and time."""
    return bool(one.disc.base_group) and all(
        getattr(one, name) == getattr(other, name)
        for name in ("stack", "levels", "law", "follower", "disc", "band_mm", "guarded")
    )


def _drawn_form(lane: Lane, parts: Sequence[DwellPart]) -> list[tuple[object, ...]]:
    """Return what makes two lanes alike but for their time: each part's level, lengths, law, way on."""
    form: list[tuple[object, ...]] = []
    for part, after in zip(parts, [*parts[1:], parts[0]], strict=True):
        block = lane.blocks[part.blocks[0]]
        sizes = (part.length_deg, part.least_deg, part.most_deg, ahead(part.start_deg, after.start_deg))
        form.append((block.level, block.law, len(part.blocks), *(round(size, 6) for size in sizes)))
    return form


def _with_room(project: Project, lane: Lane, parts: Sequence[DwellPart]) -> LaneMotion:
    """Return the motion of a lane with room between its parts, the first dwell at 0."""
    each = TURN / len(parts)
    blocks = [
        _bare(lane.blocks[part.blocks[0]], index * each, 0.3 * each if part.length_deg > 0 else 0.0)
        for index, part in enumerate(parts)
    ]
    if len(parts) == 1:
        blocks = [_bare(lane.blocks[0], 0.0, TURN)]
    roomy = replaced(lane, blocks=tuple(blocks))
    motion = program(roomy, surroundings(project, roomy))
    assert isinstance(motion, LaneMotion), f"{lane.id} has room between its blocks"
    return motion


def _bare(block: Block, start: float, length: float) -> Block:
    return Block(level=block.level, start_deg=start, end_deg=start + length, law=block.law)


def _is_rigid(lane: Lane, parts: Sequence[DwellPart]) -> bool:
    """Return whether a lane turns as a whole: it has a drop, or a blend beside a momentary stop."""
    laws = {lane.blocks[part.blocks[0]].law or lane.law for part in parts}
    return DROP in laws or (BLEND in laws and any(part.length_deg == 0 for part in parts))


def _fixed(lane_id: str, interval: StateInterval) -> HeldInterval:
    span = interval.span
    start = fixed(span.start * PER_DEG)
    end = start + span.length * PER_DEG
    return HeldInterval(lane_id, start, end, STEPS, interval.passing, interval.blocks, -1.0, span.is_full)
