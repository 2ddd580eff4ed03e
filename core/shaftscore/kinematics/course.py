"""How a stack's own angle follows the master: the one place that knows slow, fast and stepped stacks.

A *round* is a stretch of the run after which what is looked at repeats: a cycle of the master, several of
them, or a part of one. Its circle of 360 degrees is what states, rules and flow count; a stack turns a whole
number of times in it. A *geared* stack follows it evenly; a *stepped* one rests while its stage is locked,
and each stage of a chain is driven by the stack before it.

Angles are unrolled: circle + 360 is one round on, own + 360 one turn of the stack on. A stepped stack rests
at multiples of its step, and at 0 when the machine starts (or on its way to 0, if it starts within a step).
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction

import numpy as np
import numpy.typing as npt

from shaftscore.base.angles import TURN, Arcs, wrap
from shaftscore.built.intermittent import IntermittentStage
from shaftscore.kinematics.intermittent import stage_of
from shaftscore.kinematics.motion.states import StateInterval, to_master
from shaftscore.model import Lane, Project, Stack
from shaftscore.model.rounds import CYCLE, common_round

Floats = npt.NDArray[np.float64]

LEAST_DEG = 1e-6
"""Stretches shorter than this that reach over the end of a cycle are not in it, degrees."""

_SAME_STEP = 1e-11
"""Shares of a step closer than this to a whole number are that rest."""


@dataclass(frozen=True)
class StepLink:
    """A stage of a chain: its motion, and the driving stack's own angle at which a step starts, degrees."""

    stage: IntermittentStage
    start_deg: float

    def at(self, driver: Floats) -> Floats:
        """Return the driven angle, unrolled degrees, and its derivatives by the driver's, (4, n)."""
        steps = np.floor((driver - self.start_deg) / TURN)
        turned = self.stage.course(driver - self.start_deg - TURN * steps)
        turned[0] += self.stage.step_deg * steps
        return turned

    def first(self, own: Floats) -> Floats:
        """Return the driver's angle at which an angle is reached first, (n,) unrolled degrees each."""
        share = _settled(own / self.stage.step_deg)
        return self._within(np.ceil(share) - 1.0, share)

    def last(self, own: Floats) -> Floats:
        """Return the driver's angle at which an angle is left, (n,) unrolled degrees each."""
        share = _settled(own / self.stage.step_deg)
        return self._within(np.floor(share), share)

    def _within(self, steps: Floats, share: Floats) -> Floats:
        turned = self.stage.driver_at((share - steps) * self.stage.step_deg)
        found: Floats = self.start_deg + TURN * steps + turned
        return found


def _settled(share: Floats) -> Floats:
    """Take shares of a step that are whole but for rounding as whole."""
    whole = np.rint(share)
    return np.where(np.abs(share - whole) < _SAME_STEP * np.maximum(1.0, np.abs(whole)), whole, share)


@dataclass(frozen=True)
class StackCourse:
    """How a stack follows a round.

    turns: of the stack in the round. cycles: of the master in the round. head: turns, in the round, of the
    geared stack that the chain begins with; the stack itself where there is no chain. links: the stages from
    that one on, in order.
    """

    turns: int
    cycles: Fraction
    head: int
    links: tuple[StepLink, ...] = ()

    @property
    def is_stepped(self) -> bool:
        """Whether the stack rests at times."""
        return bool(self.links)

    @property
    def step_deg(self) -> float:
        """One step of a stepped stack, degrees of its own; a whole turn of a geared one."""
        return self.links[-1].stage.step_deg if self.links else TURN

    @property
    def rate(self) -> float:
        """How many turns it makes in a cycle of the master; of a stepped stack on the average."""
        return self.turns if self.cycles == 1 else float(self.turns / self.cycles)

    def own(self, circle_deg: Floats) -> Floats:
        """Return the stack's angle, unrolled degrees, and its derivatives by the circle's, (4, n).

        circle_deg: (n,) unrolled. Rows 1 to 3 are per radian of the circle.
        """
        circle = np.asarray(circle_deg, np.float64)
        found = np.array([circle * self.head, np.full_like(circle, self.head), *np.zeros((2, len(circle)))])
        for link in self.links:
            found = chained(link.at(found[0]), found)
        return found

    def first(self, own_deg: Floats) -> Floats:
        """Return the circle's angle at which own angles are reached first, (n,) unrolled degrees each."""
        for link in reversed(self.links):
            own_deg = link.first(own_deg)
        return own_deg / self.head

    def last(self, own_deg: Floats) -> Floats:
        """Return the circle's angle at which own angles are left, (n,) unrolled degrees each."""
        for link in reversed(self.links):
            own_deg = link.last(own_deg)
        return own_deg / self.head

    def place(self, own_deg: float) -> float:
        """Return the circle's angle at which an own angle of the stack's first turn is reached, degrees."""
        return wrap(float(self.first(np.array([own_deg]))[0])) if self.links else own_deg / self.turns

    def own_at(self, circle_deg: float) -> float:
        """Return the stack's angle in its turn at an angle of the circle, degrees."""
        return wrap(float(self.own(np.array([circle_deg]))[0, 0]) if self.links else circle_deg * self.turns)

    def stretch(self, start_deg: float, length_deg: float) -> Arcs:
        """Return a stretch of the stack's first turn as one of the circle."""
        if not self.links:
            return Arcs.span(start_deg / self.turns, length_deg / self.turns)
        ends = np.array([start_deg, start_deg + length_deg])
        first, last = float(self.first(ends)[0]), float(self.last(ends)[1])
        return Arcs.span(first, max(0.0, last - first) if length_deg else 0.0)

    def on_circle(self, intervals: Sequence[StateInterval]) -> tuple[StateInterval, ...]:
        """Repeat intervals of the stack's own turn over the circle, sorted by start."""
        if not self.links or any(interval.span.is_full for interval in intervals):
            return to_master(intervals, self.turns)
        found = [self._placed(interval, turn) for turn in range(self.turns) for interval in intervals]
        return tuple(sorted(found, key=lambda interval: interval.span.start))

    def _placed(self, interval: StateInterval, turn: int) -> StateInterval:
        start = interval.span.start + TURN * turn
        ends = np.array([start, start + interval.span.length])
        first, last = float(self.first(ends)[0]), float(self.last(ends)[1])
        return replace(interval, span=Arcs.span(first, max(0.0, last - first)))


def chained(outer: Floats, inner: Floats) -> Floats:
    """Chain derivatives up to the third, (4, n) each: outer's by inner, inner's by the circle's angle."""
    _, a, b, c = inner
    value, p, q, r = outer
    return np.array([value, p * a, q * a * a + p * b, r * a**3 + 3.0 * q * a * b + p * c])


def course_of(project: Project, stack: Stack, cycles: Fraction | None = None) -> StackCourse:
    """Return how a stack follows a round of so many cycles; its own round if None.

    Raises ValueError for a round in which the stack does not turn a whole number of times.
    """
    rate = project.rates[stack.id]
    cycles = common_round([rate]) if cycles is None else cycles
    chain = project.chain_of(stack)
    turns, head = rate * cycles, project.rates[chain[-1].id] * cycles
    if turns.denominator != 1 or head.denominator != 1:
        raise ValueError(f"{stack.label} makes {turns} turns in {cycles} cycles")
    stages = [one.steps_from for one in reversed(chain)]
    links = tuple(StepLink(stage_of(stage), stage.start_deg) for stage in stages if stage is not None)
    return StackCourse(int(turns), cycles, int(head), links)


@dataclass(frozen=True)
class LaneCycle:
    """How a lane's stack follows the master in one cycle, from 1."""

    course: StackCourse
    cycle: int = 1

    @staticmethod
    def of(project: Project, lane: Lane, cycle: int = 1) -> LaneCycle:
        """Return it for a lane of a project."""
        return LaneCycle(course_of(project, project.stack_of(lane)), cycle)

    @property
    def is_alike(self) -> bool:
        """Whether every cycle looks alike, and every turn of the stack in it."""
        return self.course.cycles == CYCLE and not self.course.is_stepped

    @property
    def low_deg(self) -> float:
        """Angle of the master at which the cycle starts in the stack's round, unrolled degrees."""
        return TURN * ((self.cycle - 1) % max(1, int(self.course.cycles)))

    @property
    def rate(self) -> float:
        """How much the stack turns for each turn of the master; on the average if it is stepped (turns)."""
        return self.course.rate

    def own(self, master_deg: float) -> float:
        """Return the stack's angle in its turn at an angle of the master in this cycle, degrees."""
        if self.is_alike:
            return wrap(self.course.turns * master_deg)
        return self.course.own_at((master_deg + self.low_deg) / float(self.course.cycles))

    def turned(self, from_deg: float, to_deg: float) -> float:
        """Return how far the stack turns between angles of the master in this cycle, unwrapped degrees."""
        if not self.course.is_stepped:
            return (to_deg - from_deg) * self.rate
        places = (np.array([from_deg, to_deg]) + self.low_deg) / float(self.course.cycles)
        start, end = self.course.own(places)[0].tolist()
        return float(end - start)

    def ratio(self, master_deg: float) -> float:
        """Return how fast the stack turns there for the master; its mean where a stage holds it."""
        if not self.course.is_stepped:
            return self.rate
        place = np.array([(master_deg + self.low_deg) / float(self.course.cycles)])
        return float(self.course.own(place)[1][0]) / float(self.course.cycles) or self.rate

    def circle(self, master_deg: float) -> float:
        """Return the angle of the stack's round at an angle of the master in this cycle, degrees."""
        if self.course.cycles == CYCLE:
            return master_deg
        return (master_deg + self.low_deg) / float(self.course.cycles)

    def on_axis(self, start_deg: float, length_deg: float) -> Iterator[tuple[int, float, float]]:
        """Yield where a stretch of the stack's turn is in this cycle: its copy, start and length, degrees.

        A stretch may be there several times, or not at all.
        """
        cycles, course, low = float(self.course.cycles), self.course, self.low_deg
        for copy in range(-1, course.turns + 1):
            own = np.array([start_deg, start_deg + length_deg]) + TURN * copy
            first, last = (
                float(course.first(own)[0]) * cycles - low,
                float(course.last(own)[1]) * cycles - low,
            )
            begin, end = max(first, 0.0), min(max(first, last), TURN)
            if end - begin > LEAST_DEG or (length_deg == 0 and 0.0 <= first < TURN):
                yield copy, begin, end - begin
