"""One cycle of a machine on the axis: where blocks, curves and findings of slow and stepped stacks are in it.

The axis is one turn of the master. Of a lane whose stack turns a whole number of times in a cycle every turn
looks alike; of any other the axis shows what it does in one *cycle*, counted from 1. What runs on into the
cycle before or after ends at the axis' 0 or 360 degrees. Of a stack that turns over 100 times the first turn
is drawn alone.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from types import MappingProxyType

import numpy as np

from shaftscore.base.angles import TURN, Angles, Arcs, wrap
from shaftscore.judge.findings import Finding
from shaftscore.kinematics.course import LaneCycle, course_of
from shaftscore.make.drawing.timing.curves import LaneCurve, curve_of
from shaftscore.make.drawing.timing.shapes import BlockShape, shapes_of
from shaftscore.model import Lane, Project
from shaftscore.model.rounds import CYCLE
from shaftscore.solution import LaneSolution

SAMPLES = 1440
"""Places of a curve in a cycle, beside the motion's own nodes."""


def shapes_in(lane: Lane, seen: LaneCycle) -> tuple[BlockShape, ...]:
    """Return the blocks of a lane as they are in a cycle."""
    if seen.is_alike:
        return shapes_of(lane, seen.course.turns)
    if seen.course.cycles < CYCLE:
        return _first_turn(lane, seen)
    return tuple(
        replace(shape, copy=copy, start_deg=start, length_deg=length)
        for shape in shapes_of(lane)
        for copy, start, length in seen.on_axis(shape.start_deg, shape.own_length_deg)
    )


def _first_turn(lane: Lane, seen: LaneCycle) -> tuple[BlockShape, ...]:
    """Return the blocks of a stack that turns very often, for its first turn in the cycle."""
    by = 1.0 / seen.rate
    return tuple(
        replace(shape, start_deg=shape.start_deg * by, length_deg=shape.length_deg * by)
        for shape in shapes_of(lane)
    )


def curve_in(solution: LaneSolution | None, cycle: int) -> LaneCurve | None:
    """Return the curve of a lane in a cycle; None without motion."""
    if solution is None or solution.motion is None:
        return None
    seen = LaneCycle(solution.course, cycle)
    if seen.is_alike:
        return curve_of(solution)
    if seen.course.cycles < CYCLE:
        return _first_curve(solution, seen)
    nodes = wrap(solution.motion.usual_nodes.theta_deg)
    places = [start for node in nodes for _, start, _ in seen.on_axis(float(node), 0.0)]
    master = np.unique(np.concatenate([np.linspace(0.0, TURN, SAMPLES + 1), places]))
    circle = (master + seen.low_deg) / float(seen.course.cycles)
    return LaneCurve(master, solution.motion.at(seen.course.own(circle)[0])[0])


def _first_curve(solution: LaneSolution, seen: LaneCycle) -> LaneCurve:
    """Return the curve of the first turn of a stack that turns very often, and rest at its end after it."""
    assert solution.motion is not None, "its curve is drawn"
    own = np.linspace(0.0, TURN, SAMPLES + 1)
    output = solution.motion.at(own)[0]
    return LaneCurve(np.append(own / seen.rate, TURN), np.append(output, output[0]))


def findings_in(findings: Sequence[Finding], cycle: int) -> tuple[Finding, ...]:
    """Return findings with their places as angles of the master in a cycle; without one in other cycles."""
    return tuple(one if one.cycles == CYCLE else _finding_in(one, cycle) for one in findings)


def _finding_in(finding: Finding, cycle: int) -> Finding:
    span, by = finding.span, float(finding.cycles)
    facts = {key: value for key, value in finding.facts.items() if key != "at_deg"}
    if span is not None and not span.is_full:
        start, length = (value * by for value in span.spans[0])
        span = _in_cycle(start, length, cycle, by)
    return replace(finding, span=span, cycles=CYCLE, facts=MappingProxyType(facts))


def _in_cycle(start: float, length: float, cycle: int, cycles: float) -> Arcs | None:
    """Return what of a stretch of the round, degrees of the master, is in a cycle; None where nothing is."""
    if cycles < 1:
        return Arcs.span(start, length)
    low = TURN * ((cycle - 1) % max(1, int(cycles)))
    for back in (0.0, TURN * cycles):
        begin, end = max(start - back - low, 0.0), min(start + length - back - low, TURN)
        if end > begin or (length == 0 and 0.0 <= start - low < TURN):
            return Arcs.span(begin, max(0.0, end - begin))
    return None


def cycle_of(finding: Finding) -> int:
    """Return the cycle in which a finding starts, from 1."""
    if finding.span is None or finding.cycles <= CYCLE:
        return 1
    return int(finding.span.start * float(finding.cycles) // TURN) + 1


def slow_lines(project: Project, angles: Angles) -> Iterator[tuple[str, Angles]]:
    """Yield each slow or stepped stack with its turn, 0 to 1, at unrolled master angles, (n,) degrees."""
    for stack in project.stacks:
        course = course_of(project, stack)
        if course.cycles > CYCLE or course.is_stepped:
            own = wrap(course.own(angles / float(course.cycles))[0])
            yield stack.label, own / TURN
