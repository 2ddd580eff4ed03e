"""In which cycle a log starts, where lanes are on slow, stepped or very fast stacks.

The angle of a log counts on from its first line, but whoever starts it does not know the cycle of a slow
stack. The first line is tried in every cycle of the round of the lanes that are logged: a switch should be
on where the program has its level, an output where the program has it. The share of lines that disagree is
the *mismatch* of a cycle. A late or early machine disagrees a little in the right cycle, so every cycle up to
ALIKE times the least mismatch and ALIKE_SHARE of the lines counts as possible. A stack is read where all
possible cycles are the same one of its own round; of others the log is too short to tell, which is said.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction

import numpy as np
import numpy.typing as npt

from shaftscore.base.angles import TURN, wrap
from shaftscore.base.wording import counted, listed
from shaftscore.judge.findings.in_rounds import round_angle
from shaftscore.kinematics.motion.states import level_intervals
from shaftscore.solution import LaneSolution

Reals = npt.NDArray[np.float64]

ALIKE, ALIKE_SHARE = 2.0, 0.005
"""Mismatches up to so many times the least one, and this share of the lines more, are alike (by trial)."""

MOST_LINES = 2_000
"""Lines of a log that are compared; of a longer log some, evenly spaced."""

MOST_CYCLES = 100_000
"""Cycles of a common round that are tried together; with more, each stack is tried by itself."""


@dataclass(frozen=True)
class LoggedSignal:
    """A signal: its lane, its level ("" for the output), and its values, (n,).

    An output is in mm; of a switch values over 0 are on one side of its threshold.
    """

    solved: LaneSolution
    level: str
    values: Reals


@dataclass(frozen=True)
class LogStart:
    """In which cycle of its own round each stack is at the first line, from 0; None where that is not known.

    possible: of these how many cycles each fit alike.
    """

    first: Mapping[str, int | None]
    possible: Mapping[str, int]

    def circle(self, solved: LaneSolution, run_deg: Reals) -> Reals:
        """Return the angles of the circle of a lane's round, (n,) degrees; run: as logged, counted on.

        Raises ValueError for a stack whose cycle is not known.
        """
        first = self.first.get(solved.stack, 0)
        if first is None:
            raise ValueError(f"the log does not tell the cycle of {solved.stack}")
        found: Reals = (run_deg + TURN * first) / float(solved.course.cycles)
        return found


def is_even(solved: LaneSolution) -> bool:
    """Return whether a lane's stack does the same in every cycle, as its own angle times its turns."""
    return solved.course.cycles == 1 and not solved.course.is_stepped


def log_start(signals: Sequence[LoggedSignal], run_deg: Reals) -> LogStart:
    """Return in which cycle a log starts; run: its angles, counted on, (n,) degrees."""
    slow: dict[str, list[LoggedSignal]] = {}
    for one in signals:
        if one.solved.course.cycles > 1:
            slow.setdefault(one.solved.stack, []).append(one)
    some = np.unique(np.linspace(0, len(run_deg) - 1, min(len(run_deg), MOST_LINES)).astype(int))
    misses = {stack: _misses(own, run_deg, some) for stack, own in slow.items()}
    cycles = math.lcm(*(len(found) for found in misses.values()))
    groups = [list(misses)] if cycles <= MOST_CYCLES else [[stack] for stack in misses]
    first: dict[str, int | None] = {}
    possible: dict[str, int] = {}
    for group in groups:
        for stack, found in _possible({stack: misses[stack] for stack in group}).items():
            first[stack] = int(found[0]) if len(found) == 1 else None
            possible[stack] = len(found)
    return LogStart(first, possible)


def _possible(misses: Mapping[str, Reals]) -> Mapping[str, npt.NDArray[np.int64]]:
    """Return the cycles of its own round in which each stack may be at the first line."""
    every = np.arange(math.lcm(*(len(found) for found in misses.values())))
    total = np.sum([found[every % len(found)] for found in misses.values()], axis=0)
    alike = every[total <= ALIKE * total.min() + ALIKE_SHARE]
    return {stack: np.unique(alike % len(found)) for stack, found in misses.items()}


def _misses(signals: Iterable[LoggedSignal], run_deg: Reals, some: npt.NDArray[np.int64]) -> Reals:
    """Return the mismatch of the signals of one stack for each cycle of its round, (cycles,)."""
    own = list(signals)
    course = own[0].solved.course
    firsts = np.arange(int(course.cycles))
    angles = [wrap(course.own((run_deg[some] + TURN * first) / float(course.cycles))[0]) for first in firsts]
    return np.asarray(np.mean([_mismatch(one, np.array(angles), one.values[some]) for one in own], axis=0))


def _mismatch(signal: LoggedSignal, own_deg: Reals, values: Reals) -> Reals:
    """Return the share of lines that disagree, (cycles,); own: (cycles, lines) degrees of the stack."""
    assert signal.solved.motion is not None, "a lane that is logged has a motion"
    if signal.level:
        differ = np.mean(is_due(signal.solved, signal.level, own_deg) != (values > 0), axis=1)
        return np.asarray(np.minimum(differ, 1.0 - differ))  # a switch may be the other way round
    output = signal.solved.motion.at(own_deg.ravel())[0].reshape(own_deg.shape)
    heights = signal.solved.lane.levels.values()
    reach = max(max(heights) - min(heights), 1e-9)
    return np.asarray(np.mean(np.minimum(np.abs(values - output) / reach, 1.0), axis=1))


def is_due(solved: LaneSolution, level: str, own_deg: Reals) -> npt.NDArray[np.bool_]:
    """Return whether a level is due at angles of a lane's own stack, (n,) or (m, n) degrees each."""
    assert solved.motion is not None, "a lane that is logged has a motion"
    due = np.zeros(own_deg.shape, dtype=bool)
    for interval in level_intervals(solved.lane, solved.motion, level):
        start, length = interval.span.spans[0]
        due |= wrap(own_deg - start) <= length
    return due


def turned_cycles(run_deg: Reals) -> float:
    """Return how many cycles a log covers; run: its angles, counted on, (n,) degrees."""
    return float(np.ptp(run_deg)) / TURN


def place_text(circle_deg: float, cycles: Fraction) -> str:
    """Write an angle of the circle of a round as a cycle and the master's angle in it."""
    return round_angle(wrap(circle_deg), cycles)


def unknown_text(labels: Sequence[str], cycles: Fraction, run_deg: Reals, possible: int) -> str:
    """Write that a log does not tell the cycle of lanes of one stack; run: its angles, (n,) degrees."""
    verb = "is" if len(labels) == 1 else "are"
    return (
        f"{listed(labels)} {verb} not read: the log covers {turned_cycles(run_deg):.1f} of "
        f"{counted(int(cycles), 'cycle')}, and {possible:,} first cycles fit it alike. Log more cycles."
    )


def silent_text(column: str, cycles: Fraction, run_deg: Reals) -> str:
    """Write that a signal of a slow stack does not change in a log; run: its angles, (n,) degrees."""
    return (
        f"{column} does not change in the {turned_cycles(run_deg):.1f} cycles of the log; it repeats after "
        f"{counted(int(cycles), 'cycle')}."
    )
