"""The project: everything one `.shaft` file holds, with the limits it is judged by."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cached_property
from typing import Annotated, Literal

from pydantic import Field

from shaftscore.model.base import Id, LevelName, Mm, Percent, PositiveMm, Record, SignedMm, StartDeg, replaced
from shaftscore.model.flow import Flow
from shaftscore.model.lanes import Lane
from shaftscore.model.letters import Letters, Named, ShortText
from shaftscore.model.rules import Rule
from shaftscore.model.shaft import Drive, Shaft, Stack, Turn

FORMAT = "shaftscore-project"
VERSION = 1

SteepDeg = Annotated[float, Field(gt=0, lt=90)]
"""A limit for a pressure angle, degrees."""


class Tolerances(Record):
    """Plus-minus limits of what is made and how it runs: three standard deviations of a normal law.

    disc_angle_deg: of each disc against its shaft, degrees. profile_mm: of the profile, at the roller, mm.
    travel_percent: of travel times in channels and to magazines. speed_percent: of the machine's speed.
    rate_percent: of the supplies' rates.
    """

    disc_angle_deg: Annotated[float, Field(ge=0, le=90)] = 0.5
    profile_mm: Mm = 0.15
    travel_percent: Percent = 10.0
    speed_percent: Annotated[float, Field(ge=0, lt=100)] = 10.0
    rate_percent: Annotated[float, Field(ge=0, lt=100)] = 0.0


class Limits(Record):
    """What a disc is judged by.

    pressure_angle_deg: guide value on rises of a translating follower, degrees.
    swing_pressure_angle_deg: of a swinging one. return_pressure_angle_deg: on falls that a spring
    drives. crest_radius_mm: sharpest convex profile, mm. hollow_margin_mm: by which a concave profile
    must be wider than the roller, mm. max_disc_radius_mm: largest disc, mm; half the bed's shorter side
    if absent.
    """

    pressure_angle_deg: SteepDeg = 30.0
    swing_pressure_angle_deg: SteepDeg = 45.0
    return_pressure_angle_deg: SteepDeg = 45.0
    crest_radius_mm: Mm = 1.0
    hollow_margin_mm: Mm = 0.5
    max_disc_radius_mm: PositiveMm | None = None


class Material(Record):
    """A material.

    modulus_gpa: Young's modulus, GPa. poisson: Poisson's ratio. contact_mpa: allowed pressure of a line
    contact, MPa.
    """

    name: Named
    modulus_gpa: Annotated[float, Field(gt=0, le=2000)]
    poisson: Annotated[float, Field(ge=0, lt=0.5)]
    contact_mpa: Annotated[float, Field(gt=0, le=1e5)]


class Print(Record):
    """The printer, and corrections measured on it, which are applied in export only.

    bed_x_mm, bed_y_mm, bed_z_mm: room for a part, mm. nozzle_mm: width of a line, mm. contour_mm: by
    which outer contours are drawn larger, mm. hole_mm: by which holes are drawn larger, mm.
    """

    bed_x_mm: PositiveMm = 220.0
    bed_y_mm: PositiveMm = 220.0
    bed_z_mm: PositiveMm = 220.0
    nozzle_mm: PositiveMm = 0.4
    contour_mm: SignedMm = 0.0
    hole_mm: SignedMm = 0.0


class Measured(Record):
    """One thing measured on the built machine.

    edge: whether it is the begin or the end of the state that `lane` is AT `level`. angle_deg: where on
    the lane's own stack, degrees. sense: in which the machine was turned to it.
    """

    lane: Id
    level: LevelName
    edge: Literal["begin", "end"]
    angle_deg: StartDeg
    sense: Literal["forward", "backward"]


class Project(Record):
    """One machine.

    format, version: of the file. notes: for people. shaft: the master shaft. drive: what turns it.
    stacks: the shafts that carry discs. lanes: the actuators. rules: between their states. flow: the
    network of items. tolerances, limits: what it is judged by. materials: overrides of the built-in ones
    and additions to them. print: the printer. measured: on the built machine.
    """

    format: Literal["shaftscore-project"]
    version: Literal[1]
    name: ShortText = "Untitled"
    notes: Annotated[str, Field(max_length=100_000), Letters] = ""
    shaft: Shaft
    drive: Drive | None = None
    stacks: Annotated[tuple[Stack, ...], Field(min_length=1, max_length=100)] = (Stack(id="main"),)
    lanes: Annotated[tuple[Lane, ...], Field(max_length=4096)] = ()
    rules: Annotated[tuple[Rule, ...], Field(max_length=10_000)] = ()
    flow: Flow | None = None
    tolerances: Tolerances = Tolerances()
    limits: Limits = Limits()
    materials: Annotated[tuple[Material, ...], Field(max_length=1000)] = ()
    print: Print = Print()
    measured: Annotated[tuple[Measured, ...], Field(max_length=100_000)] = ()

    @cached_property
    def lane_index(self) -> dict[str, int]:
        """Position of each lane by its id."""
        return {lane.id: index for index, lane in enumerate(self.lanes)}

    def lane(self, lane_id: str) -> Lane:
        """Return a lane by id; raises KeyError if there is none."""
        return self.lanes[self.lane_index[lane_id]]

    def stack_of(self, lane: Lane) -> Stack:
        """Return the stack that carries a lane (the first if the lane names none; a rider: its disc's)."""
        name = self.lane(lane.disc_of).stack if lane.disc_of is not None else lane.stack
        return self.stacks[0] if name is None else self._stacks_by_id[name]

    @cached_property
    def _stacks_by_id(self) -> dict[str, Stack]:
        return {stack.id: stack for stack in self.stacks}

    def levels_of(self, lane: Lane) -> Mapping[str, float]:
        """Return the levels of a lane, level name to output mm; a rider has those of its disc's lane."""
        return self._program_of(lane).levels

    def named_lane(self, lane: Lane) -> Lane:
        """Return the lane whose levels and band the states of a lane name: itself, or a rider's disc's lane.

        A rider's own band_mm takes the place of that lane's; without one both are AT a level alike.
        """
        program = self._program_of(lane)
        if program is lane or lane.band_mm is None:
            return program
        return replaced(program, band_mm=lane.band_mm)

    def riders_of(self, lane: Lane) -> tuple[Lane, ...]:
        """Return the riders on a lane's disc, in file order."""
        return tuple(other for other in self.lanes if other.disc_of == lane.id)

    def _program_of(self, lane: Lane) -> Lane:
        """Return the lane whose blocks, levels and laws a lane runs by; itself if its disc is not there."""
        there = lane.disc_of is not None and lane.disc_of in self.lane_index
        return self.lane(lane.disc_of) if lane.disc_of is not None and there else lane

    def discs_of(self, stack: Stack) -> tuple[Lane, ...]:
        """Return the lanes whose discs a stack carries, bottom to top.

        Lanes that `stack.order` names come first, in that order; the others follow in file order.
        """
        own = [lane for lane in self.lanes if lane.has_disc and self.stack_of(lane).id == stack.id]
        place = {lane_id: index for index, lane_id in enumerate(stack.order)}
        return tuple(sorted(own, key=lambda lane: place.get(lane.id, len(place))))

    def turn_of(self, stack: Stack) -> Turn:
        """Return the sense in which a stack turns, seen from the top."""
        return stack.turn or self.shaft.turn

    @property
    def max_disc_radius_mm(self) -> float:
        """Largest disc radius that may be made, mm."""
        if self.limits.max_disc_radius_mm is not None:
            return self.limits.max_disc_radius_mm
        return min(self.print.bed_x_mm, self.print.bed_y_mm) / 2
