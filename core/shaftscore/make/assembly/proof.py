"""The proof of the assembly as a whole: all pairs of bodies, all followers, all joints.

Pairs are filtered by their heights and by the circles about them; those that never move against one another
are looked at once. *Quick* looks at 24 angles of the cycle and at the ends of the states of a pair's lanes;
the *full* proof goes in steps of 1°. A pair of one stack repeats with its turns: its angles are those of one
turn of that stack, so that no step of a faster or a slower shaft is larger, and none is lost in which a
stepped one rests. Two shafts of different turns are followed until both repeat, in steps of 1° of the faster.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from math import lcm

import numpy as np

from shaftscore.base.progress import Progress, Silent
from shaftscore.base.wording import degrees, millimetres
from shaftscore.layout import PlanPose
from shaftscore.layout.stack_turns import master_at_deg
from shaftscore.make.assembly.machine import MachineAssembly
from shaftscore.make.assembly.meeting import MeetingPair, Penetration, Reals, Stretch
from shaftscore.make.assembly.placed import PlacedBody
from shaftscore.make.assembly.rolling import RollerProof, RollingTask, prove_rolling
from shaftscore.make.proof.fits import FitProof
from shaftscore.model import Project, Stack

QUICK_ANGLES = 24
"""Angles of a turn in the quick proof, beside the ends of states."""

FULL_ANGLES = 360
"""Angles of a turn in the full proof."""

MOST_ANGLES = 36_000
"""Angles at most at which two shafts of different turns are looked at."""


Pair = tuple[PlacedBody, PlacedBody]
"""Two bodies."""


@dataclass(frozen=True)
class AssemblyFault:
    """One thing wrong with the assembly.

    what: the sentence. parts: codes or names of the bodies. lanes: ids of their lanes. by_mm, limit_mm: the
    amount and what is allowed; None where a joint turns too far or too little. first_deg, worst_deg: angles
    of the master shaft, None where the fault does not depend on the angle.
    """

    what: str
    parts: tuple[str, ...]
    lanes: tuple[str, ...]
    by_mm: float | None = None
    limit_mm: float | None = None
    first_deg: float | None = None
    worst_deg: float | None = None


@dataclass(frozen=True)
class AssemblyProof:
    """What was found of the assembly.

    full: whether the cycle was followed in steps of 1°. bodies, pairs, fixed, joints: how many bodies there
    are, pairs of them that could meet, those among them that never move against one another, and joints.
    rollers: one a follower.
    """

    full: bool
    bodies: int
    pairs: int
    fixed: int
    joints: int
    rollers: tuple[RollerProof, ...]
    faults: tuple[AssemblyFault, ...]

    @property
    def holds(self) -> bool:
        """Whether nothing is wrong."""
        return not self.faults

    @property
    def largest_gap_mm(self) -> float | None:
        """The gap between a follower and its disc that is farthest from what it should be, None without."""
        gaps = [roller.gap_mm for roller in self.rollers if np.isfinite(roller.gap_mm)]
        return max(gaps, key=abs, default=None)


def prove_assembly(
    machine: MachineAssembly,
    joints: Sequence[FitProof] = (),
    *,
    full: bool = False,
    progress: Progress | None = None,
) -> AssemblyProof:
    """Prove an assembly; joints: what was found of the fits of its parts.

    Raises RimError where a body cannot be cut, Cancelled as the progress does.
    """
    progress = progress or Silent()
    pairs = list(_pairs(machine.bodies))
    looks = _Looks(machine, FULL_ANGLES if full else QUICK_ANGLES)
    rollers, fixed = [], 0
    for number, task in enumerate(machine.rollers):
        progress.report(0.3 * number / len(machine.rollers), f"Rolling {task.follower.name}")
        rollers.append(prove_rolling(task, looks.angles_deg((task.follower, task.disc))))
    found: dict[int, list[AssemblyFault]] = {}
    for done, number in enumerate(sorted(range(len(pairs)), key=lambda number: looks.key(pairs[number]))):
        first, second = pairs[number]
        progress.report(0.3 + 0.7 * done / len(pairs), f"Turning {first.name} and {second.name}")
        pair = MeetingPair(first, second, looks.angles_deg(pairs[number]), looks.pose)
        fixed += pair.is_still
        found[number] = list(_pair_faults(machine, pair))
    faults = [fault for number in range(len(pairs)) for fault in found[number]]
    faults += [fault for roller in rollers for fault in _roller_faults(roller)]
    faults += [fault for joint in joints for fault in _joint_faults(joint)]
    bodies = len(machine.bodies)
    return AssemblyProof(full, bodies, len(pairs), fixed, len(joints), tuple(rollers), tuple(faults))


def _pairs(bodies: Sequence[PlacedBody]) -> Iterator[Pair]:
    """Yield the pairs of a frame that share some height, going upward."""
    order = sorted(bodies, key=lambda one: one.heights_mm)
    for number, first in enumerate(order):
        for second in order[number + 1 :]:
            if second.heights_mm[0] >= first.heights_mm[1]:
                break
            if first.frame == second.frame:
                yield first, second


class _Looks:
    """The angles at which pairs are looked at, and where bodies are there.

    Both are kept as long as pairs of the same lanes and stacks follow one another.
    """

    def __init__(self, machine: MachineAssembly, count: int) -> None:
        """Take the machine and how many angles of a turn are looked at, beside the ends of states."""
        self._machine, self._count = machine, count
        self._key: tuple[tuple[str, ...], ...] = ()
        self._angles = np.zeros(0)
        self._poses: dict[int, PlanPose] = {}

    @staticmethod
    def key(pair: Pair) -> tuple[tuple[str, ...], ...]:
        """Return the stacks and lanes of a pair, on which its angles depend."""
        follows, lanes = {one.follows for one in pair}, {one.lane for one in pair}
        return tuple(sorted(follows)), tuple(sorted(lanes))

    def angles_deg(self, pair: Pair) -> Reals:
        """Return the angles of the master shaft at which a pair is looked at, (n,) ascending degrees."""
        if (key := self.key(pair)) != self._key:
            even = _even(self._machine.project, pair, self._count)
            own = [self._machine.ends_deg[lane] for lane in key[1] if lane in self._machine.ends_deg]
            self._key, self._angles, self._poses = key, np.unique(np.concatenate([even, *own])), {}
        return self._angles

    def pose(self, body: PlacedBody) -> PlanPose:
        """Return where a body is at the angles that were asked for last."""
        if id(body) not in self._poses:
            self._poses[id(body)] = body.course(self._angles)
        return self._poses[id(body)]


def _even(project: Project, pair: Pair, count: int) -> Reals:
    """Return angles of the master at which two bodies are seen: count in a turn of the faster, (n,)."""
    stacks = [stack for stack in project.stacks if any(one.follows == stack.id for one in pair)]
    rates = {stack.id: project.rates[stack.id] for stack in stacks}
    if len(stacks) == 1 or (stacks and len(set(rates.values())) == 1 and not _any_steps(stacks)):
        return master_at_deg(project, stacks[0], np.asarray(np.arange(count) * (360.0 / count)))
    cycles = lcm(*(rate.denominator for rate in rates.values()))
    fastest = max((rate * cycles for rate in rates.values()), default=Fraction(1))
    many = min(count * int(fastest), MOST_ANGLES)
    return np.asarray(np.arange(many) * (360.0 * cycles / many))


def _any_steps(stacks: Sequence[Stack]) -> bool:
    return any(stack.steps_from is not None for stack in stacks)


def _pair_faults(machine: MachineAssembly, pair: MeetingPair) -> Iterator[AssemblyFault]:
    contact = machine.contact(pair.first, pair.second)
    skipped: frozenset[Stretch] = frozenset()
    if contact.kind == "rolling":
        skipped = frozenset(stretch for task in _tasks(machine, pair) for stretch in task.stretches())
    found = pair.penetration(contact.limit_mm, skipped)
    if found is not None:
        yield _penetration_fault(pair, found, contact.limit_mm)


def _tasks(machine: MachineAssembly, pair: MeetingPair) -> Iterator[RollingTask]:
    both = {pair.first.name, pair.second.name}
    return (task for task in machine.rollers if {task.disc.name, task.follower.name} == both)


def _penetration_fault(pair: MeetingPair, found: Penetration, limit_mm: float) -> AssemblyFault:
    mover, other = sorted((pair.first, pair.second), key=lambda one: one.rank)
    what = f"{mover.name} goes into {other.name} by {millimetres(found.depth_mm, 2)}"
    both = (mover.code or mover.name, other.code or other.name)
    lanes = tuple(dict.fromkeys(lane for lane in (mover.lane, other.lane) if lane))
    if pair.is_still:
        return AssemblyFault(what, both, lanes, found.depth_mm, limit_mm)
    what += _at(found.first_deg, found.worst_deg)
    return AssemblyFault(what, both, lanes, found.depth_mm, limit_mm, found.first_deg, found.worst_deg)


def _at(first_deg: float, worst_deg: float) -> str:
    """Return the angles of a fault as the end of a sentence."""
    first = f", first at {degrees(first_deg)}" if degrees(first_deg) != degrees(worst_deg) else ""
    return f" at {degrees(worst_deg)}{first}"


def _roller_faults(roller: RollerProof) -> Iterator[AssemblyFault]:
    both, lanes = (roller.follower, roller.disc), (roller.lane,)
    if roller.first_deg is not None and np.isfinite(roller.gap_mm):
        does = "is off" if roller.gap_mm > 0 else "goes into"
        what = f"{roller.follower} {does} {roller.disc} by {millimetres(abs(roller.gap_mm), 2)}"
        what += _at(roller.first_deg, roller.gap_at_deg)
        first, worst = roller.first_deg, roller.gap_at_deg
        yield AssemblyFault(what, both, lanes, abs(roller.gap_mm), roller.limit_mm, first, worst)
    elif not roller.is_wide_enough:
        what = (
            f"{roller.follower} touches {roller.disc} over {millimetres(roller.width_mm, 2)} of its height; "
            f"{millimetres(roller.needed_mm, 2)} required"
        )
        yield AssemblyFault(what, both, lanes, roller.width_mm, roller.needed_mm)


def _joint_faults(joint: FitProof) -> Iterator[AssemblyFault]:
    for fault in joint.found:
        yield AssemblyFault(f"{joint.part}: {fault.what}", (joint.part,), ())
