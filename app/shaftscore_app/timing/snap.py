"""Snapping: which edge of a held block is drawn to what, and why. Pure.

Angles are own angles of the held lane's stack. A *target* attracts the start, the end, or both edges of
the held block within its reach in px; once it holds, it holds until the edge is 2 px past that reach.
The best kind wins, then the nearest; where none is near, the grid rounds.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from enum import IntEnum

from shaftscore.base.angles import Arcs, turn_to, wrap
from shaftscore.kinematics.course import LaneCycle
from shaftscore.make.drawing.timing.cycle import shapes_in
from shaftscore.make.drawing.timing.hits import Grip
from shaftscore.model import Project

HOLD_PX = 2.0
"""A target that holds keeps holding this much beyond its reach, px of the design."""

FREE_STEP_DEG = 0.1
"""Without snapping, edges stand on whole tenths of a degree."""


class SnapKind(IntEnum):
    """What attracts, the best first."""

    ZONE = 0
    MARK = 1


_REACH_PX = {SnapKind.ZONE: 8.0, SnapKind.MARK: 6.0}


@dataclass(frozen=True)
class Target:
    """An own angle that attracts some edges of the held block; words: why, in two or three words."""

    kind: SnapKind
    deg: float
    words: str
    grips: tuple[Grip, ...] = (Grip.START, Grip.END)


@dataclass(frozen=True)
class Hold:
    """A target that holds an edge of the block."""

    target: Target
    grip: Grip


@dataclass(frozen=True)
class Snapped:
    """What to add to the raw angles, and what holds, if anything does."""

    shift_deg: float
    hold: Hold | None = None


def marks(
    project: Project,
    lane_id: str,
    cursor_deg: float | None = None,
    only: Iterable[str] | None = None,
    cycle: int = 1,
) -> tuple[Target, ...]:
    """Gather what attracts a block of a lane: steps, the cursor, starts and ends of other lanes' blocks.

    only: lanes whose blocks count (all others if None); the block's own lane never does, since its
    blocks give way.
    """
    own = LaneCycle.of(project, project.lane(lane_id), cycle).own
    steps = [
        Target(SnapKind.MARK, own(deg), f"step {number}")
        for number, deg in enumerate(project.shaft.step_starts_deg, 1)
    ]
    cursor = [] if cursor_deg is None else [Target(SnapKind.MARK, own(cursor_deg), "cursor")]
    others = project.lane_index if only is None else only
    blocks = [target for other in others if other != lane_id for target in _ends(project, other, own, cycle)]
    return (*steps, *cursor, *blocks)


def _ends(project: Project, lane_id: str, own: Callable[[float], float], cycle: int) -> Iterable[Target]:
    lane = project.lane(lane_id)
    for shape in shapes_in(lane, LaneCycle.of(project, lane, cycle)):
        begin, end = own(shape.start_deg), own(shape.start_deg + shape.length_deg)
        name = f"{lane.label} {shape.level.name}"
        yield Target(SnapKind.MARK, begin, f"start of {name}")
        if not shape.is_stop:
            yield Target(SnapKind.MARK, end, f"end of {name}")


def zone_ends(starts: Arcs, length_deg: float) -> tuple[Target, ...]:
    """Return the ends of free zones. starts: where the block's start may stand; length_deg: the block's."""
    if starts.is_full:
        return ()
    begins = [Target(SnapKind.ZONE, zone.start, "free from here", (Grip.START,)) for zone in starts]
    ends = [
        Target(SnapKind.ZONE, wrap(zone.end + length_deg), "free to here", (Grip.END,)) for zone in starts
    ]
    return (*begins, *ends)


def snap(
    edges: Mapping[Grip, float],
    targets: Sequence[Target],
    px_per_deg: float,
    grid_deg: float,
    *,
    held: Hold | None = None,
    origin: Mapping[Grip, float] | None = None,
    u: float = 1.0,
) -> Snapped:
    """Draw a block to a target or to the grid.

    edges: raw own angles of the edges that move, the leading one first. px_per_deg: of own angles.
    held: what held before this move. origin: where the edges stood at first; within 2 px of there nothing
    else draws, and the grid has these places too, so that a block can always be put back exactly.
    """
    slack = HOLD_PX * u / px_per_deg
    home = _home(edges, origin or {})
    if home is not None and abs(home) <= slack:
        return Snapped(home)
    for kind in SnapKind:
        reach = _REACH_PX[kind] * u / px_per_deg
        near = [target for target in targets if target.kind is kind]
        if held is not None and held.grip in edges and held.target in near:
            shift = turn_to(edges[held.grip], held.target.deg)
            if abs(shift) <= reach + slack:
                return Snapped(shift, held)
        nearest = _nearest(edges, near)
        if nearest is not None and abs(nearest.shift_deg) <= reach:
            return nearest
    return Snapped(_to_grid(edges, grid_deg, origin or {}))


def _nearest(edges: Mapping[Grip, float], targets: Sequence[Target]) -> Snapped | None:
    found = [
        (turn_to(deg, target.deg), target, grip)
        for grip, deg in edges.items()
        for target in targets
        if grip in target.grips
    ]
    if not found:
        return None
    shift, target, grip = min(found, key=lambda one: abs(one[0]))
    return Snapped(shift, Hold(target, grip))


def _home(edges: Mapping[Grip, float], origin: Mapping[Grip, float]) -> float | None:
    """Return the shift that puts a block back where it stood; None where that is not known."""
    grip, deg = next(iter(edges.items()))
    return turn_to(deg, origin[grip]) if grip in origin else None


def _to_grid(edges: Mapping[Grip, float], grid_deg: float, origin: Mapping[Grip, float]) -> float:
    deg = next(iter(edges.values()))
    on_grid = round(deg / grid_deg) * grid_deg - deg
    home = _home(edges, origin)
    return on_grid if home is None else min(on_grid, home, key=abs)


def free_shift(edges: Mapping[Grip, float], origin: Mapping[Grip, float]) -> float:
    """Return the shift without snapping: to whole tenths of a degree, or back home."""
    return _to_grid(edges, FREE_STEP_DEG, origin)
