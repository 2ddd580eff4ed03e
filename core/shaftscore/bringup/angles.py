"""Where the shaft is stopped: the angles at which lanes rest, and the steps of the machine."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from functools import reduce

from shaftscore.base.angles import TURN, Arcs, ahead, wrap
from shaftscore.kinematics.motion.surroundings import surroundings
from shaftscore.model import Project
from shaftscore.solution import LaneSolution, Solution

SAME_DEG = 0.05
"""Angles that would be written alike are one."""

MOST_CHECKS = 100
"""Checks of a sheet; a machine with more rests is looked at at evenly chosen ones."""


def dwells(project: Project, solved: LaneSolution) -> Iterator[tuple[str, Arcs]]:
    """Yield every block of a lane as (level, master angles); a rider has those of its disc's lane, later."""
    lane = solved.lane
    host = project.lane(lane.disc_of) if lane.disc_of is not None else lane
    later = surroundings(project, lane).later_deg
    for block in host.blocks:
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


def check_angles(solution: Solution) -> tuple[float, ...]:
    """Return where to stop the shaft in one turn, master angles, degrees: at most MOST_CHECKS.

    Where all lanes rest, and where that leaves a dwell unseen, its middle. Without dwells the steps' starts.
    """
    project = solution.project
    lanes = [one for one in solution.lanes.values() if one.motion is not None]
    found = rest_angles(project, lanes)
    for one in lanes:
        for _, span in dwells(project, one):
            if not any(span.contains(angle) for angle in found):
                found.append(wrap(span.middle))
    angles = each_once(found or project.shaft.step_starts_deg)
    if len(angles) > MOST_CHECKS:
        angles = [angles[place * len(angles) // MOST_CHECKS] for place in range(MOST_CHECKS)]
    return tuple(angles)


def step_at(project: Project, angle_deg: float) -> int:
    """Return the number of the step that a master angle is in, from 1; before the first it is the last."""
    starts = project.shaft.step_starts_deg
    return min(range(len(starts)), key=lambda place: ahead(starts[place], angle_deg)) + 1
