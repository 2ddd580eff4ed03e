"""Where the shaft is stopped: the angles at which lanes rest, and the steps of the machine."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from functools import reduce
from math import ceil

import numpy as np
import numpy.typing as npt

from shaftscore.base.angles import TURN, Arcs, ahead, wrap
from shaftscore.base.tolerance import ANGLE_DEG
from shaftscore.kinematics.course import LaneCycle
from shaftscore.kinematics.motion.surroundings import surroundings
from shaftscore.model import Project
from shaftscore.solution import LaneSolution, Solution

SAME_DEG = 0.05
"""Angles that would be written alike are one."""

LANES_A_CARD = 6
"""Lanes beside one another on a test card; a larger group has several cards."""

MOST_CHECKS = 100
"""Checks of a sheet; a machine with more rests is looked at at evenly chosen ones."""


def dwells(project: Project, solved: LaneSolution) -> Iterator[tuple[str, Arcs]]:
    """Yield every block of a lane as (level, master angles); a rider has those of its disc's lane, later.

    Of a slow or stepped stack those of the first cycle.
    """
    lane = solved.lane
    host = project.lane(lane.disc_of) if lane.disc_of is not None else lane
    later = surroundings(project, lane).later_deg
    seen = LaneCycle(solved.course)
    for block in host.blocks:
        if not seen.is_alike:
            for _, begin, over in seen.on_axis(block.start_deg + later, block.length_deg):
                yield block.level, Arcs.span(begin, over)
            continue
        for turn in range(solved.turns):
            start = (block.start_deg + later + TURN * turn) / solved.turns
            yield block.level, Arcs.span(start, block.length_deg / solved.turns)


def rest_angles(project: Project, lanes: Sequence[LaneSolution]) -> list[float]:
    """Return the middles of all stretches in which every lane dwells, master angles, ascending, each once.

    A lane that has no blocks (it moves by points) is left out of this.
    """
    resting = [
        Arcs.of(span.spans[0] for _, span in found) for one in lanes if (found := [*dwells(project, one)])
    ]
    if not resting:
        return []
    common = reduce(Arcs.__and__, resting)
    if common.is_full:
        return [0.0]
    return each_once(wrap(part.middle) for part in common)


def each_once(angles: Iterable[float]) -> list[float]:
    """Return angles in degrees in rising order, those that are written alike once."""
    kept: list[float] = []
    for angle in sorted(angles):
        if not kept or angle - kept[-1] > SAME_DEG:
            kept.append(angle)
    return kept


def card_lanes(solution: Solution) -> Iterator[tuple[str, list[LaneSolution]]]:
    """Yield the title and the lanes of every test card; lanes without motion are left out."""
    groups: dict[str, list[LaneSolution]] = {}
    for lane in solution.project.lanes:
        solved = solution.lanes[lane.id]
        if solved.motion is not None:
            groups.setdefault(lane.group, []).append(solved)
    for group, lanes in groups.items():
        size = ceil(len(lanes) / ceil(len(lanes) / LANES_A_CARD))
        pieces = [lanes[first : first + size] for first in range(0, len(lanes), size)]
        for number, piece in enumerate(pieces, start=1):
            name = group or "Lanes without a group"
            yield f"{name} ({number} of {len(pieces)})" if len(pieces) > 1 else name, piece


def alone_angles(project: Project, solved: LaneSolution, angles: Sequence[float]) -> list[float]:
    """Return the middles of a lane's dwells that none of some angles looks at, master angles, degrees.

    Of a lane without dwells (it moves by points) the start of every step.
    """
    spans = [span for _, span in dwells(project, solved)]
    unseen = [span for span in spans if not any(span.contains(angle) for angle in angles)]
    return each_once([wrap(span.middle) for span in unseen] if spans else project.shaft.step_starts_deg)


def card_angles(project: Project, lanes: Sequence[LaneSolution]) -> list[float]:
    """Return all angles that the card of some lanes looks at, those of single lanes included, ascending."""
    angles = rest_angles(project, lanes)
    return each_once([*angles, *(angle for one in lanes for angle in alone_angles(project, one, angles))])


def check_angles(solution: Solution) -> tuple[float, ...]:
    """Return where to stop the shaft in one turn to look at all lanes, master angles, at most MOST_CHECKS.

    They are angles of the test cards, chosen so that every dwell of every lane is looked at; those at which
    few lanes dwell are left out first.
    """
    project = solution.project
    cards = [lanes for _, lanes in card_lanes(solution)]
    angles = sorted({angle for lanes in cards for angle in card_angles(project, lanes)})
    seen = _seen(project, [one for lanes in cards for one in lanes], angles)
    found = each_once(angles[place] for place in _fewest(seen))
    if len(found) > MOST_CHECKS:
        found = [found[place * len(found) // MOST_CHECKS] for place in range(MOST_CHECKS)]
    return tuple(found)


def _seen(
    project: Project, lanes: Iterable[LaneSolution], angles: Sequence[float]
) -> list[npt.NDArray[np.intp]]:
    """Return the numbers of the dwells at each angle; of a lane without dwells, one of its own an angle."""
    starts: list[float] = []
    lengths: list[float] = []
    for one in lanes:
        spans = [span.spans[0] for _, span in dwells(project, one)]
        spans = spans or [(angle - SAME_DEG / 2, SAME_DEG) for angle in angles]
        starts += [start for start, _ in spans]
        lengths += [length for _, length in spans]
    begin, wide = np.array(starts) - ANGLE_DEG, np.array(lengths) + 2 * ANGLE_DEG
    return [np.flatnonzero(wrap(angle - begin) <= wide) for angle in angles]


def _fewest(seen: Sequence[npt.NDArray[np.intp]]) -> list[int]:
    """Return places that see all that any sees: those that see least are tried first to be left out."""
    count = np.bincount(np.concatenate(seen)) if seen else np.zeros(0, np.intp)
    kept = set(range(len(seen)))
    for place in sorted(kept, key=lambda place: len(seen[place])):
        if np.all(count[seen[place]] > 1):
            kept.remove(place)
            count[seen[place]] -= 1
    return sorted(kept)


def step_at(project: Project, angle_deg: float) -> int:
    """Return the number of the step that a master angle is in, from 1; before the first it is the last."""
    starts = project.shaft.step_starts_deg
    return min(range(len(starts)), key=lambda place: ahead(starts[place], angle_deg)) + 1
