"""The cycle of the master that charts of loads show, where figures are of a round of several cycles."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

import numpy as np

from shaftscore.base import wording
from shaftscore.base.angles import TURN, Arcs, wrap
from shaftscore.judge.findings.in_rounds import cycle_place, round_angle, round_range
from shaftscore.judge.loads.lane import GRID
from shaftscore.kinematics.course import StackCourse
from shaftscore.model.rounds import CYCLE
from shaftscore_app.widgets.chart_layout import Floats


@dataclass(frozen=True)
class ShownCycle:
    """A cycle, from 1, of a round of so many; angles of charts are those of the master in it.

    Figures have angles of the *circle* of the round: 360° of it are the whole round.
    """

    cycles: Fraction = CYCLE
    cycle: int = 1

    @property
    def own(self) -> int:
        """The cycle in the round, from 1: what shows repeats with the round."""
        return 1 + (self.cycle - 1) % max(1, int(self.cycles))

    @property
    def circle(self) -> Floats:
        """Angles of the circle at the angles of a chart, (n,) degrees."""
        if self.cycles == CYCLE:
            return GRID
        return np.asarray(wrap((GRID + TURN * (self.own - 1)) / float(self.cycles)))

    @property
    def label(self) -> str:
        """Which cycle it is: "cycle 7 of 10"; empty where there is one."""
        return f"cycle {self.own:,} of {int(self.cycles):,}" if self.cycles > 1 else ""

    def shown(self, circle_deg: float) -> float | None:
        """Return the angle of the master at a place of the circle, degrees; None where in another cycle."""
        at = cycle_place(circle_deg, self.cycles)
        return at.deg if at.cycle == self.own else None

    def words(self, circle_deg: float) -> str:
        """Write a place of the circle."""
        return round_angle(circle_deg, self.cycles)

    def stretch_words(self, span: Arcs) -> str:
        """Write a stretch of the circle."""
        return wording.angle_range(span) if self.cycles == CYCLE else round_range(span, self.cycles)


def first_place(course: StackCourse, own_deg: float) -> float:
    """Return the first place of the circle at which a stack is at an angle of its own, degrees."""
    return float(wrap(course.first(np.array([wrap(own_deg)]))[0]))
