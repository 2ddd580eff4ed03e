"""The shortest lengths of moves under their lanes' limits, each found once, in steps of the grid.

Pressure angle and curvature are judged by `kinematics.profiles`; contact force and stress are judged by the
move alone, its way back taking all the time there is. A move that is drawn shorter than the forces allow
may stay so, but is not made shorter still: an arrangement makes nothing worse. Where no disc may become
larger than the largest one now, an automatic base radius ends where the lane's largest lift reaches that.
"""

from __future__ import annotations

from collections.abc import Callable
from math import ceil

import numpy as np

from shaftscore.judge.findings import Severity
from shaftscore.judge.loads.findings import lane_findings
from shaftscore.judge.loads.lane import lane_loads
from shaftscore.kinematics.followers import lift_of
from shaftscore.kinematics.motion.segments import Move
from shaftscore.kinematics.profiles import fits_in, shortest_move
from shaftscore.kinematics.profiles.sizing import LEAST_BASE_MM
from shaftscore.model import Block, Lane, Project, replaced
from shaftscore.model.driven import driven_follower
from shaftscore.placing.affine import STEP_DEG
from shaftscore.solution.lane import begun_lane, finished_lane, lane_reads

LONGEST_DEG = 180.0
"""Longest move that is judged by its forces, degrees; its way back then has as much."""


class Shortest:
    """Keeps what was found, and what the real solver asked for since."""

    def __init__(self, project: Project, largest_disc_mm: float | None = None) -> None:
        """Begin with nothing found; largest_disc_mm: the radius over which no disc may grow, None for any."""
        self._project, self._largest = project, largest_disc_mm
        self._found: dict[object, tuple[float | None, float | None]] = {}
        self._raised: dict[tuple[str, int], float] = {}
        self._asked: dict[tuple[str, int], float] = {}
        self._moves: dict[tuple[str, int], tuple[Lane, Move, float]] = {}
        self._stand: dict[object, bool] = {}

    def steps(
        self, lane: Lane, block: int, move: Move, drawn_deg: float, *, lengths_stay: bool = False
    ) -> float:
        """Return the least length of the move to a block, own steps; as drawn where no length will do.

        lengths_stay: all moves stay as long as they are drawn; of one that keeps its limits so, which is seen
        at once, no more is found out: a step is returned.
        """
        self._moves[lane.id, block] = (lane, move, drawn_deg)
        if lengths_stay and self._stands(lane, block, move, drawn_deg):
            return 1.0
        key = self._alike(lane, move)
        if key not in self._found:
            self._found[key] = (self._by_shape(lane, move), self._by_force(lane, move))
        shape, force = self._found[key]
        length = max(
            drawn_deg if shape is None else shape,
            0.0 if force is None else min(force, drawn_deg),
            self._raised.get((lane.id, block), 0.0),
        )
        steps = float(max(1, ceil(length / STEP_DEG - 1e-6)))
        self._asked[lane.id, block] = steps * STEP_DEG
        return steps

    def known(self, lane_id: str, block: int) -> float:
        """Return the least length that was found for the move to a block, own degrees."""
        return self._asked[lane_id, block]

    def blocks_of(self, lane_id: str) -> range:
        """Return the numbers of a lane's blocks."""
        return range(len(self._project.lane(lane_id).blocks))

    def longer(self, lane_id: str, block: int, factor: float) -> bool:
        """Ask for a longer move to a block than before, by a factor; return False where there is no move."""
        return self._raise(lane_id, block, lambda asked, _drawn: asked * factor)

    def stay(self, lane_id: str, block: int) -> bool:
        """Ask that the move to a block be no shorter than drawn; return whether it could be before."""
        return self._raise(lane_id, block, max)

    def _raise(self, lane_id: str, block: int, raised: Callable[[float, float], float]) -> bool:
        """Ask for a length that is made from the one asked for and the one drawn; return if it is longer."""
        key = (lane_id, block)
        if key not in self._moves:
            return False
        lane, move, drawn_deg = self._moves[key]
        if key not in self._asked:
            self.steps(lane, block, move, drawn_deg)
        self._raised[key] = raised(self._asked[key], drawn_deg)
        return self._raised[key] > self._asked[key] + STEP_DEG / 2

    def _stands(self, lane: Lane, block: int, move: Move, drawn_deg: float) -> bool:
        """Return whether a move keeps its limits as drawn, less what rounding to the grid may take."""
        alike, length = self._alike(lane, move), (round(drawn_deg / STEP_DEG) - 1) * STEP_DEG
        if alike in self._found or (lane.id, block) in self._raised or length < STEP_DEG:
            return False
        key = (alike, length)
        if key not in self._stand:
            try:
                self._stand[key] = fits_in(self._project, lane, move, length, self._base(lane))
            except ValueError:  # no length will do, so that it stays as drawn
                self._stand[key] = True
        return self._stand[key]

    def _alike(self, lane: Lane, move: Move) -> object:
        """Return all that the shortest length of a move depends on."""
        return (
            driven_follower(lane),  # with the links of its parts, which follow the highest level
            lane.parts,
            lane.disc,
            lane.stack,
            lane.load,
            None if self._largest is None else tuple(lane.levels.values()),
            (move.from_level, move.to_level, move.from_mm, move.to_mm, move.law.name, move.mirrored),
        )

    def _by_shape(self, lane: Lane, move: Move) -> float | None:
        try:
            return shortest_move(self._project, lane, move, base_radius_mm=self._base(lane))
        except ValueError:  # no follower stands there: the shape's findings say so
            return None

    def _base(self, lane: Lane) -> float | None:
        """Return the largest base radius that an automatic one may become, mm; None where it is given."""
        if self._largest is None or lane.disc.base_radius_mm != "auto":
            return None
        outputs = np.zeros((4, len(lane.levels)))
        outputs[0] = list(lane.levels.values())
        return max(LEAST_BASE_MM, self._largest - float(lift_of(driven_follower(lane), outputs)[0].max()))

    def _by_force(self, lane: Lane, move: Move) -> float | None:
        """Return the least length at which forces and stress keep their limits; None if none is known."""
        if lane.load is None or not self._keeps(lane, move, LONGEST_DEG):
            return None
        low, high = STEP_DEG, LONGEST_DEG
        while high - low > STEP_DEG:
            middle = (low + high) / 2
            low, high = (low, middle) if self._keeps(lane, move, middle) else (middle, high)
        return high

    def _keeps(self, lane: Lane, move: Move, length_deg: float) -> bool:
        blocks = (
            Block(level=move.from_level, start_deg=0.0, end_deg=1.0),
            Block(level=move.to_level, start_deg=1.0 + length_deg, end_deg=2.0 + length_deg),
        )
        alone = replaced(lane, blocks=blocks, law=move.law.name)
        begun = begun_lane(self._project, alone, lane_reads(self._project, alone))
        loads = lane_loads(self._project, finished_lane(self._project, begun, None))
        return loads is not None and not any(
            finding.severity is not Severity.NOTE for finding in lane_findings(lane.id, loads)
        )
