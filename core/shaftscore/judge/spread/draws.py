"""What is drawn for each machine, and how large each error may be.

Every error is a *unit draw* times a size. Normal laws have their limits at three standard deviations,
so a unit draw of a normal law is a standard normal over 3, and the size is the plus-minus limit; those
of a uniform law lie within 0 to 1. Row 0 of every array is the nominal machine: all errors 0. Draws do not
depend on sizes, so that two sizes are compared on the same machines.

Errors of a lane are its disc's: a rider shares those of the disc that it rides on. An index lane has no
disc; its part is keyed to the shaft as a disc is, and has no profile.

A *chain* passes the turning from part to part: each disc has one angle error against the part before
it, and carries the sum of all from the driven end. Play stands wherever two parts meet, also on both sides
of a spacer.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from math import degrees

import numpy as np
import numpy.typing as npt

from shaftscore.model import Lane, Project, Stack
from shaftscore.stack import discs_in_order

Floats = npt.NDArray[np.float64]

LIMIT_SIGMAS = 3.0
"""Standard deviations at the plus-minus limits of a normal law."""


@dataclass(frozen=True)
class Draws:
    """Unit draws of n machines, each (n + 1,), row 0 all zero.

    angle, height, link: by lane that has a disc or is an index. joint: by lane, the sum of the uniform
    draws of all joints just before its disc. backlash: by stack. speed: one. travel: by channel. rate: by
    supply. fill: by magazine, of the travel to it.
    """

    angle: Mapping[str, Floats]
    height: Mapping[str, Floats]
    link: Mapping[str, Floats]
    joint: Mapping[str, Floats]
    backlash: Mapping[str, Floats]
    speed: Floats
    travel: Mapping[str, Floats]
    rate: Mapping[str, Floats]
    fill: Mapping[str, Floats]

    @property
    def machines(self) -> int:
        """How many machines were drawn."""
        return len(self.speed) - 1


def draw(project: Project, machines: int, seed: int) -> Draws:
    """Draw machines; the same seed gives the same ones."""
    rng = np.random.default_rng(seed)

    def normal() -> Floats:
        return _with_nominal(rng.standard_normal(machines) / LIMIT_SIGMAS)

    def uniform(count: int = 1) -> Floats:
        return _with_nominal(rng.random((count, machines)).sum(axis=0))

    keyed = [lane.id for lane in project.lanes if lane.kind != "rider"]
    flow = project.flow
    return Draws(
        angle={lane: normal() for lane in keyed},
        height={lane: normal() for lane in keyed},
        speed=normal(),
        travel={} if flow is None else {channel.id: normal() for channel in flow.channels},
        rate={} if flow is None else {supply.id: normal() for supply in flow.supplies},
        backlash={stack.id: uniform() for stack in project.stacks},
        link={lane.id: uniform() for lane in project.lanes},
        joint={
            lane: uniform(count)
            for stack in project.stacks
            for lane, count in zip(chained(project, stack), joints(project, stack), strict=True)
        },
        fill={} if flow is None else {magazine.id: normal() for magazine in flow.magazines},
    )


def _with_nominal(drawn: Floats) -> Floats:
    return np.concatenate(([0.0], drawn))


def disc_of(project: Project, lane_id: str) -> str:
    """Return the id of the lane whose disc moves a lane."""
    return project.lane(lane_id).program_id


def chained(project: Project, stack: Stack) -> tuple[str, ...]:
    """Return the lanes of a stack whose discs pass rotation on, from the driven end; () without a chain."""
    if stack.keying != "chain":
        return ()
    order = [lane.id for lane in discs_in_order(project, stack)]
    return tuple(order if stack.driven_end == "bottom" else order[::-1])


def moving(project: Project, lane_id: str) -> tuple[str, ...]:
    """Return the discs whose angle errors move a lane: its own, and with a chain all before it."""
    disc = disc_of(project, lane_id)
    chain = chained(project, project.stack_of(project.lane(lane_id)))
    return chain[: chain.index(disc) + 1] if disc in chain else (disc,)


def joints(project: Project, stack: Stack) -> tuple[int, ...]:
    """Return how many pairs of parts meet just before each disc of a chain, from the driven end."""
    between = 2 if stack.spacer_mm > 0 else 1
    return tuple(1 if place == 0 else between for place, _ in enumerate(chained(project, stack)))


def joint_play_deg(stack: Stack) -> float:
    """Return the whole play of one joint, degrees of the stack; 0 where its joints are tightened.

    Unless it is given: a peg may move by the clearance to either side on the dogs' circle.
    """
    if not stack.is_loose or stack.keying != "chain":
        return 0.0
    if stack.joint_play_deg is not None:
        return stack.joint_play_deg
    if stack.dogs is None:
        return 0.0
    return degrees(2 * stack.fit_clearance_mm / stack.dogs.radius_mm)


@dataclass(frozen=True)
class Errors:
    """The errors of drawn machines: draws times sizes.

    scale: of disc_angle_deg. off: lanes whose discs are made and keyed without an error.
    """

    project: Project
    draws: Draws
    scale: float = 1.0
    off: frozenset[str] = frozenset()

    def shift_deg(self, lane_id: str) -> Floats:
        """Return by how much later a lane's program runs, master angle, (n + 1,)."""
        lane = self.project.lane(lane_id)
        stack = self.project.stack_of(lane)
        behind = self.draws.backlash[stack.id] * stack.backlash_deg
        return (
            behind + sum(self._joint_deg(stack, one) for one in moving(self.project, lane_id))
        ) / stack.turns

    def _joint_deg(self, stack: Stack, disc: str) -> Floats:
        """Return the error of one disc against what it is keyed to, degrees of its stack."""
        size = 0.0 if disc in self.off else self.project.tolerances.disc_angle_deg * self.scale
        error = self.draws.angle[disc] * size
        if disc in self.draws.joint and disc not in self.off:
            error = error + self.draws.joint[disc] * joint_play_deg(stack)
        return error

    def height_mm(self, lane_id: str) -> Floats:
        """Return by how much higher a lane's roller stands on its disc, mm, (n + 1,)."""
        lane, disc = self.project.lane(lane_id), disc_of(self.project, lane_id)
        size = 0.0 if disc in self.off or lane.kind == "index" else self.project.tolerances.profile_mm
        return self.draws.height[disc] * size

    def link_mm(self, lane_id: str) -> tuple[Floats, Floats]:
        """Return by how much higher the output stands after a rise and after a fall, mm, (n + 1,) each.

        The play is the whole way between both; where in it the nominal machine stands is drawn. Row 0 has
        no play. One and the same 0 where there is none, or a spring keeps the link on one side.
        """
        lane = self.project.lane(lane_id)
        play = 0.0 if lane_id in self.off or is_taut(lane) else lane.follower.link_play_mm
        if play == 0:
            none = np.asarray(0.0)
            return none, none
        share = self.draws.link[lane_id]
        back = np.where(np.arange(len(share)) == 0, 0.0, 1.0 - share)
        return -play * share, play * back

    def corner_kinds(self, lane_id: str) -> npt.NDArray[np.intp]:
        """Return each machine a number for its lane's height (-1, 0 or 1) and link (0 or 1), (n + 1,).

        The nominal machine is of a kind of its own, since only it has no play.
        """
        kinds = 2 * self.draws.height[disc_of(self.project, lane_id)] + self.draws.link[lane_id] + 3
        kinds[0] = 0
        numbers: npt.NDArray[np.intp] = kinds.astype(np.intp)
        return numbers

    @property
    def speed(self) -> Floats:
        """Return the speed as a share of the nominal one, (n + 1,)."""
        return _share(self.draws.speed, self.project.tolerances.speed_percent)

    def travel(self, channel_id: str) -> Floats:
        """Return travel times in a channel as a share of what the project says, (n + 1,)."""
        return _share(self.draws.travel[channel_id], self.project.tolerances.travel_percent)

    def fill(self, magazine_id: str) -> Floats:
        """Return travel times to a magazine as a share of what the project says, (n + 1,)."""
        return _share(self.draws.fill[magazine_id], self.project.tolerances.travel_percent)

    def rate(self, supply_id: str) -> Floats:
        """Return a supply's rate as a share of what the project says, (n + 1,)."""
        return _share(self.draws.rate[supply_id], self.project.tolerances.rate_percent)


def _share(drawn: Floats, percent: float) -> Floats:
    # A draw far beyond the limits would stop the machine or run it backwards.
    return np.maximum(1.0 + drawn * percent / 100.0, 0.01)


def is_taut(lane: Lane) -> bool:
    """Return whether a spring at the output always pulls the link to one side, so that it has no play."""
    load, spring = lane.load, lane.follower.closure == "spring"
    return spring and load is not None and load.at == "output" and load.spring_preload_n > 0
