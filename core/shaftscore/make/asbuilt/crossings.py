"""Readings from a bring-up sheet: where a measured output, or the change of a tick, is in the program.

An output of so many mm was measured at an angle at which the lane moves: the program has that output at an
angle near by, and the reading is later by the difference. A lane that was ticked at one level at one check
and at another level at the next one, not far away, has passed the middle between both on the way: the
reading is the middle of both checks.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

import numpy as np
import numpy.typing as npt

from shaftscore.base.angles import TURN, turn_to, wrap
from shaftscore.kinematics.course import LaneCycle
from shaftscore.make.asbuilt.reading import EdgeReading
from shaftscore.model import BringUp
from shaftscore.solution import LaneSolution, Solution

TICKS_DEG = 4.0
"""Checks farther apart than this tell too little of where a lane changed between them, master degrees."""

REACH_DEG = 45.0
"""Nothing is compared with an angle of the program that is farther away, degrees of the lane's own stack."""

FLAT_SHARE = 0.1
"""Where a lane moves slower than this share of its greatest speed, its output tells no angle."""

SAMPLES = 7200
"""Places in a turn at which the program is looked at."""

Reals = npt.NDArray[np.float64]


def sheet_readings(solution: Solution, sheet: BringUp) -> list[EdgeReading]:
    """Return the readings of a sheet; lanes without a disc or a motion of their own have none."""
    found: list[EdgeReading] = []
    for lane in solution.project.lanes:
        solved = solution.lanes[lane.id]
        if lane.has_disc and solved.motion is not None:
            found += _of_lane(solution, solved, sheet)
    return found


def _of_lane(solution: Solution, solved: LaneSolution, sheet: BringUp) -> Iterator[EdgeReading]:
    lane_id = solved.lane.id
    seen = [(check.angle_deg, check.seen[lane_id]) for check in sheet.checks if lane_id in check.seen]
    course = _Course(solved)
    for angle, sighting in seen:
        if isinstance(sighting, float):
            yield from course.reading(f"{sighting:g} mm", sighting, angle)
    levels = solution.project.levels_of(solved.lane)
    for (start, before), (end, after) in pairwise(seen):
        if not isinstance(before, str) or not isinstance(after, str) or before == after:
            continue
        if end - start <= TICKS_DEG:
            middle = (levels[before] + levels[after]) / 2
            yield from course.reading(f"{before} to {after}", middle, (start + end) / 2)


class _Course:
    """A lane's program as a table over its own turn."""

    def __init__(self, solved: LaneSolution) -> None:
        assert solved.motion is not None
        self._solved = solved
        self._angles: Reals = np.linspace(0.0, TURN, SAMPLES + 1)
        values = solved.motion.at(wrap(self._angles))
        self._output: Reals = np.asarray(values[0], float)
        self._speed: Reals = np.asarray(values[1], float)

    def reading(self, name: str, output_mm: float, master_deg: float) -> Iterator[EdgeReading]:
        """Yield the reading of an output at a master angle; none where the program is not there near by."""
        own = LaneCycle(self._solved.course).own(master_deg)
        places = self._crossings(output_mm)
        if not len(places):
            return
        late = np.array([turn_to(float(at), own) for at in places])
        near = int(np.argmin(np.abs(late)))
        if abs(late[near]) > REACH_DEG:
            return
        at = float(places[near])
        falling = bool(np.interp(at, self._angles, self._speed) < 0)
        yield EdgeReading(self._solved.lane.id, name, "passed", at, float(late[near]), False, falling)

    def _crossings(self, output_mm: float) -> Reals:
        """Return the own angles at which the program passes an output on a move, (n,)."""
        off = self._output - output_mm
        here = np.flatnonzero((off[:-1] * off[1:] <= 0) & (off[:-1] != off[1:]))
        fast = np.abs(self._speed[here]) > FLAT_SHARE * np.max(np.abs(self._speed), initial=0.0)
        here = here[fast]
        share = off[here] / (off[here] - off[here + 1])
        return np.asarray(self._angles[here] + share * (TURN / SAMPLES))
