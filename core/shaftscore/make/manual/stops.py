"""Where the machine is stopped when all lanes are looked at together: as few angles of the test cards as do.

A *stop* is an angle of some test card. The stops of a machine are chosen among them so that every dwell of
every lane is looked at; angles at which few lanes dwell are left out first. A lane that moves at a stop is
not looked at there.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from shaftscore.base.angles import wrap
from shaftscore.base.tolerance import ANGLE_DEG
from shaftscore.bringup.angles import SAME_DEG, dwells, step_at
from shaftscore.make.manual.cards import card_angles, card_lanes
from shaftscore.model import Project
from shaftscore.solution import LaneSolution, Solution


@dataclass(frozen=True)
class BenchStop:
    """A stop: its master angle, degrees, and the step that it is in: its number, from 1, and its name."""

    angle_deg: float
    step: int
    step_name: str


def bench_angles(solution: Solution) -> list[float]:
    """Return the angles of all stops, master degrees, ascending; none for a machine without motion."""
    project = solution.project
    cards = [lanes for _, lanes in card_lanes(solution)]
    angles = sorted({angle for lanes in cards for angle in card_angles(project, lanes)})
    seen = _seen(project, [one for lanes in cards for one in lanes], angles)
    return [angles[place] for place in _fewest(seen)]


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


def bench_stop(project: Project, angle_deg: float) -> BenchStop:
    """Return the stop at a master angle, degrees; an angle before the first step is in the last one."""
    step, names = step_at(project, angle_deg), project.shaft.step_names
    return BenchStop(angle_deg, step, names[step - 1] if step <= len(names) else "")


def is_resting(project: Project, solved: LaneSolution, angle_deg: float) -> bool:
    """Return whether a lane dwells at a master angle, degrees; one without dwells always counts."""
    spans = [span for _, span in dwells(project, solved)]
    return not spans or any(span.contains(angle_deg) for span in spans)
