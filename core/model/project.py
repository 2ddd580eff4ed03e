"""The project: everything one `.shaft` file holds, with the limits it is judged by."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cached_property
from typing import Annotated, Literal

from pydantic import Field

from core.model.base import Id, LevelName, Mm, Percent, PositiveMm, Record, SignedMm, StartDeg
from core.model.flow import Flow
from core.model.lanes import Lane
from core.model.rules import Rule
from core.model.shaft import Drive, Shaft, Stack, Turn

FORMAT = "shaftscore-project"
VERSION = 1

SteepDeg = Annotated[float, Field(gt=0, lt=90)]
"""A limit for a pressure angle, degrees."""


class Tolerances(Record):
    """Plus-minus limits of what is made and how it runs (format section 7)."""

    disc_angle_deg: Annotated[float, Field(ge=0, le=90)] = 0.5
    profile_mm: Mm = 0.15
    travel_percent: Percent = 10.0
    speed_percent: Annotated[float, Field(ge=0, lt=100)] = 10.0
    rate_percent: Annotated[float, Field(ge=0, lt=100)] = 0.0


class Limits(Record):
    """What a disc is judged by; max_disc_radius_mm is half the bed's shorter side if absent."""

    pressure_angle_deg: SteepDeg = 30.0
    swing_pressure_angle_deg: SteepDeg = 45.0
    return_pressure_angle_deg: SteepDeg = 45.0
    crest_radius_mm: Mm = 1.0
    hollow_margin_mm: Mm = 0.5
    max_disc_radius_mm: PositiveMm | None = None


class Material(Record):
    """A material: Young's modulus GPa, Poisson's ratio, allowed line contact pressure MPa."""

    name: Annotated[str, Field(min_length=1, max_length=200)]
    modulus_gpa: Annotated[float, Field(gt=0, le=2000)]
    poisson: Annotated[float, Field(ge=0, lt=0.5)]
    contact_mpa: Annotated[float, Field(gt=0, le=1e5)]


class Print(Record):
    """The printer's bed and nozzle; measured corrections, applied in export only."""

    bed_x_mm: PositiveMm = 220.0
    bed_y_mm: PositiveMm = 220.0
    bed_z_mm: PositiveMm = 220.0
    nozzle_mm: PositiveMm = 0.4
    contour_mm: SignedMm = 0.0
    hole_mm: SignedMm = 0.0


class Measured(Record):
    """One thing measured on the built machine: the angle at which a lane begins or ends a level."""

    lane: Id
    level: LevelName
    edge: Literal["begin", "end"]
    angle_deg: StartDeg
    sense: Literal["forward", "backward"]


class Project(Record):
    """One machine."""

    format: Literal["shaftscore-project"]
    version: Literal[1]
    name: Annotated[str, Field(max_length=200)] = "Untitled"
    notes: Annotated[str, Field(max_length=100_000)] = ""
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
        """Give a lane by id; raises KeyError if there is none."""
        return self.lanes[self.lane_index[lane_id]]

    def stack_of(self, lane: Lane) -> Stack:
        """Give the stack that carries a lane (the first if the lane names none; a rider: its disc's)."""
        name = self.lane(lane.disc_of).stack if lane.disc_of is not None else lane.stack
        if name is None:
            return self.stacks[0]
        return next(stack for stack in self.stacks if stack.id == name)

    def levels_of(self, lane: Lane) -> Mapping[str, float]:
        """Give the levels of a lane, level name to output mm; a rider has those of its disc's lane."""
        if lane.disc_of is None or lane.disc_of not in self.lane_index:
            return lane.levels
        return self.lane(lane.disc_of).levels

    def discs_of(self, stack: Stack) -> tuple[Lane, ...]:
        """Give the lanes whose discs a stack carries, bottom to top.

        Lanes that `stack.order` names come first, in that order; the others follow in file order.
        """
        own = [lane for lane in self.lanes if lane.has_disc and self.stack_of(lane).id == stack.id]
        place = {lane_id: index for index, lane_id in enumerate(stack.order)}
        return tuple(sorted(own, key=lambda lane: place.get(lane.id, len(place))))

    def turn_of(self, stack: Stack) -> Turn:
        """Give the sense in which a stack turns, seen from the top."""
        return stack.turn or self.shaft.turn

    @property
    def max_disc_radius_mm(self) -> float:
        """Largest disc radius that may be made, mm."""
        if self.limits.max_disc_radius_mm is not None:
            return self.limits.max_disc_radius_mm
        return min(self.print.bed_x_mm, self.print.bed_y_mm) / 2
