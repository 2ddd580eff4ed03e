"""From blocks to dwells: what overlaps or touches is one dwell, or a clash.

`Alike` says whether two level names mean one and the same rest; for most lanes that is the same
name, for an index lane its highest level and 0 are one rest.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence

from shaftscore.base.angles import TURN, Arcs, ahead
from shaftscore.base.tolerance import ANGLE_DEG
from shaftscore.kinematics.motion.no_motion import Clash
from shaftscore.kinematics.motion.segments import Dwell
from shaftscore.model import Block, Lane

Alike = Callable[[str, str], bool]


def alike(lane: Lane) -> Alike:
    """Return the test whether two of a lane's levels are one rest."""
    if lane.kind != "index":
        return lambda one, other: one == other
    rest = rest_levels(lane)
    return lambda one, other: one == other or (one in rest and other in rest)


def rest_levels(lane: Lane) -> frozenset[str]:
    """Name the levels of an index lane that are its one rest: 0 and the highest."""
    highest = max(lane.levels.values(), default=0.0)
    return frozenset(name for name, height in lane.levels.items() if height in (0.0, highest))


def clashes(blocks: Sequence[Block], same: Alike) -> Iterator[Clash]:
    """Find the pairs of blocks of different levels that overlap or touch (within 1e-9 degree)."""
    seen: set[frozenset[int]] = set()
    for i, j, lead in _successors(blocks):
        pair = frozenset((i, j))
        if not same(blocks[i].level, blocks[j].level) and pair not in seen:
            seen.add(pair)
            past = max(0.0, blocks[i].length_deg - lead)
            yield Clash(i, j, Arcs.span(blocks[j].start_deg, min(past, blocks[j].length_deg)), past)


def _successors(blocks: Sequence[Block]) -> Iterator[tuple[int, int, float]]:
    """Yield (i, j, lead) for every block j that begins `lead` degrees into block i, or at its end."""
    order = in_order(blocks)
    for place, i in enumerate(order):
        for j in [*order[place + 1 :], *order[:place]]:
            lead = ahead(blocks[i].start_deg, blocks[j].start_deg)
            lead = 0.0 if lead > TURN - ANGLE_DEG else lead
            if lead > blocks[i].length_deg + ANGLE_DEG:
                break
            yield i, j, lead


def in_order(blocks: Sequence[Block]) -> list[int]:
    """Return the blocks' indices by rising start."""
    return sorted(range(len(blocks)), key=lambda index: blocks[index].start_deg)


def dwells(lane: Lane) -> list[Dwell]:
    """Join blocks that overlap or touch, also through 0; dwells in turning order, by rising start.

    The lane must be free of clashes. A dwell that takes up the whole turn has length 360.
    """
    groups: list[tuple[float, float, list[int]]] = []
    for index in in_order(lane.blocks):
        start = lane.blocks[index].start_deg
        end = start + lane.blocks[index].length_deg
        if groups and start <= groups[-1][1] + ANGLE_DEG:
            first, last, members = groups[-1]
            groups[-1] = (first, max(last, end), [*members, index])
        else:
            groups.append((start, end, [index]))
    while len(groups) > 1 and groups[0][0] + TURN <= groups[-1][1] + ANGLE_DEG:
        _, end, members = groups.pop(0)
        first, last, others = groups[-1]
        groups[-1] = (first, max(last, end + TURN), others + members)
    return [_dwell(lane, start, end, tuple(members)) for start, end, members in groups]


def _dwell(lane: Lane, start: float, end: float, members: tuple[int, ...]) -> Dwell:
    level = lane.blocks[members[0]].level
    return Dwell(start, min(end - start, TURN), lane.levels[level], level, members)
