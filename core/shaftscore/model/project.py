"""The project: everything one `.shaft` file holds, with the limits it is judged by."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from functools import cached_property
from typing import Annotated, Final, Literal

from pydantic import Field

from shaftscore.base.wording import plain
from shaftscore.model.base import (
    Contradiction,
    Id,
    LevelName,
    Mm,
    Percent,
    PositiveMm,
    Record,
    SignedMm,
    StartDeg,
    replaced,
)
from shaftscore.model.bench import MOST_NOTES, MOST_SHEETS, BringUp, Home, LogEntry
from shaftscore.model.flow import Flow
from shaftscore.model.gearing import Rates, driven_from, period_of, rates_of, senses_of
from shaftscore.model.grid import LaneGrid
from shaftscore.model.lanes import Lane
from shaftscore.model.letters import Letters, Named, ShortText
from shaftscore.model.parts import MachineFrame
from shaftscore.model.rules import Rule
from shaftscore.model.shaft import Drive, Shaft, Stack, Turn

FORMAT = "shaftscore-project"
VERSION: Final = 2

SteepDeg = Annotated[float, Field(gt=0, lt=90)]
"""A limit for a pressure angle, degrees."""

Area = Literal["timing", "items", "forces", "torque", "fits", "heights", "shaft", "parts"]
"""An area of the verdict."""

BUILT_FOLLOWER_Z_MM = 0.3
"""How exactly followers stand along the shaft that are set on the built stack, mm (plus-minus limit)."""

DRAWN_FOLLOWER_Z_MM = 0.5
"""How exactly followers stand along the shaft that are set by dimension, mm (plus-minus limit)."""


class Tolerances(Record):
    """Plus-minus limits of what is made and how it runs: three standard deviations of a normal law.

    disc_angle_deg: of dogs, keys and marks as printed, degrees; the play of a joint comes from its fit.
    profile_mm: of the printed edge alone, at the roller, mm. fit_spread_mm: of the clearances of holes
    that one printer makes, mm. station_mm: of each follower's place across its line, at the roller, mm.
    zero_mm: of the adjustment of each output, mm. thickness_mm: of each part, mm. thickness_common_mm: of
    the thickness of all parts, with one sign in all (first layer, flow), mm. follower_z_mm: of each roller
    along the shaft, mm; 0.5 if absent, 0.3 on stacks whose followers are set on the built stack.
    travel_percent: of travel times in channels and to magazines. speed_percent: of the machine's speed.
    rate_percent: of the supplies' rates.
    """

    disc_angle_deg: Annotated[float, Field(ge=0, le=90)] = 0.3
    profile_mm: Mm = 0.10
    fit_spread_mm: Annotated[float, Field(ge=0, le=5)] = 0.03
    station_mm: Mm = 0.2
    zero_mm: Mm = 0.1
    thickness_mm: Mm = 0.05
    thickness_common_mm: Mm = 0.05
    follower_z_mm: Mm | None = None
    travel_percent: Percent = 10.0
    speed_percent: Annotated[float, Field(ge=0, lt=100)] = 10.0
    rate_percent: Annotated[float, Field(ge=0, lt=100)] = 0.0


class Limits(Record):
    """What a disc is judged by.

    pressure_angle_deg: guide value on rises of a translating follower, degrees.
    swing_pressure_angle_deg: of a swinging one. return_pressure_angle_deg: on falls that a spring
    drives. crest_radius_mm: sharpest convex profile, mm. hollow_margin_mm: by which a concave profile
    must be wider than the roller, mm. max_disc_radius_mm: largest disc, mm; half the bed's shorter side
    if absent. force_reserve: factor by which a spring must exceed what holds its follower back.
    chance_percent: share of built machines that should work. least_chance_percent: share of built machines
    that must work.
    """

    pressure_angle_deg: SteepDeg = 30.0
    swing_pressure_angle_deg: SteepDeg = 45.0
    return_pressure_angle_deg: SteepDeg = 45.0
    crest_radius_mm: Mm = 1.0
    hollow_margin_mm: Mm = 0.5
    max_disc_radius_mm: PositiveMm | None = None
    force_reserve: Annotated[float, Field(ge=1, le=100)] = 1.5
    chance_percent: Percent = 99.0
    least_chance_percent: Percent = 90.0

    def contradictions(self) -> Iterator[Contradiction]:
        """Refuse a share that must work over the share that should."""
        if self.least_chance_percent > self.chance_percent:
            most, told = plain(self.chance_percent), plain(self.least_chance_percent)
            yield "least_chance_percent", f"must be at most chance_percent, {most} %, got {told} %"


class Material(Record):
    """A material.

    modulus_gpa: Young's modulus, GPa. poisson: Poisson's ratio. contact_mpa: allowed pressure of a line
    contact, MPa. strength_mpa: strength in tension, MPa, which the teeth of gears are judged by.
    density_g_cm3: density, g/cm³; without it the mass of parts is not estimated. wear_mm3_nkm: volume that
    parts of it lose in this machine by newton of force and kilometre of way, mm³/(N·km); that of a published
    table if absent, where there is one.
    """

    name: Named
    modulus_gpa: Annotated[float, Field(gt=0, le=2000)]
    poisson: Annotated[float, Field(ge=0, lt=0.5)]
    contact_mpa: Annotated[float, Field(gt=0, le=1e5)]
    strength_mpa: Annotated[float, Field(gt=0, le=1e5)] | None = None
    density_g_cm3: Annotated[float, Field(gt=0, le=25)] | None = None
    wear_mm3_nkm: Annotated[float, Field(gt=0, le=1000)] | None = None


LayerMm = Annotated[float, Field(gt=0, le=10)]
"""A height of a layer or a width of a line, mm."""


class Print(Record):
    """The printer, and corrections measured on it, which are applied in export only.

    bed_x_mm, bed_y_mm, bed_z_mm: room for a part, mm. nozzle_mm: diameter of the nozzle, mm. contour_mm:
    by which outer contours are drawn larger, mm. hole_mm: by which holes are drawn larger, mm. layer_mm:
    height of a layer, mm. first_layer_mm: height of the first layer, mm. foot_chamfer_mm: at the foot of
    bores, pockets, pegs and rims, mm. shrinkage_percent: by which a printed part is smaller in plan than
    its file; negative where it is larger. line_mm: width of a line, mm. walls: count of lines around each
    layer. infill_percent: share of the inside that is filled. flow_mm3_s: most material that the nozzle
    gives.
    """

    bed_x_mm: PositiveMm = 220.0
    bed_y_mm: PositiveMm = 220.0
    bed_z_mm: PositiveMm = 220.0
    nozzle_mm: PositiveMm = 0.4
    contour_mm: SignedMm = 0.0
    hole_mm: SignedMm = 0.0
    layer_mm: LayerMm = 0.2
    first_layer_mm: LayerMm = 0.2
    foot_chamfer_mm: Annotated[float, Field(ge=0, le=5)] = 0.3
    shrinkage_percent: Annotated[float, Field(ge=-10, le=10)] = 0.0
    line_mm: LayerMm = 0.45
    walls: Annotated[int, Field(ge=1, le=100)] = 3
    infill_percent: Percent = 20.0
    flow_mm3_s: Annotated[float, Field(gt=0, le=1000)] = 8.0


class Duty(Record):
    """How long the machine runs.

    hours_per_day: hours a day. days_per_year: days a year. years: years of service.
    """

    hours_per_day: Annotated[float, Field(gt=0, le=24)]
    days_per_year: Annotated[float, Field(gt=0, le=366)]
    years: Annotated[float, Field(gt=0, le=100)]


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
    stacks: shafts with their discs. lanes: the actuators. rules: between their states. flow: the
    network of items. tolerances, limits: what it is judged by. materials: overrides of the built-in ones
    and additions to them. print: the printer. frame: that holds it all, if described. measured: on the
    built machine. duty: how long it runs. not_needed: areas of the verdict that the person leaves out.
    grid: where lanes sit on the front of the machine, if described. home: where it stands when it is switched
    on, chosen if absent. log: notes of what was printed, measured and changed. bring_up: sheets of what was
    seen while it was cranked, the newest last.
    """

    format: Literal["shaftscore-project"]
    version: Literal[2]
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
    frame: MachineFrame | None = None
    measured: Annotated[tuple[Measured, ...], Field(max_length=100_000)] = ()
    duty: Duty | None = None
    not_needed: Annotated[tuple[Area, ...], Field(max_length=8)] = ()
    grid: LaneGrid | None = None
    home: Home | None = None
    log: Annotated[tuple[LogEntry, ...], Field(max_length=MOST_NOTES)] = ()
    bring_up: Annotated[tuple[BringUp, ...], Field(max_length=MOST_SHEETS)] = ()

    def contradictions(self) -> Iterator[Contradiction]:
        """Refuse an area of the verdict named twice."""
        for index, area in enumerate(self.not_needed):
            if area in self.not_needed[:index]:
                yield f"not_needed[{index}]", f'"{area}" is not_needed[{self.not_needed.index(area)}] already'

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

    def lanes_of(self, stack: Stack) -> tuple[Lane, ...]:
        """Return the lanes that a stack carries, riders on its discs included, in file order."""
        return self._lanes_by_stack.get(stack.id, ())

    @cached_property
    def _lanes_by_stack(self) -> dict[str, tuple[Lane, ...]]:
        found: dict[str, list[Lane]] = {}
        for lane in self.lanes:
            name = self._program_of(lane).stack
            found.setdefault(self.stacks[0].id if name is None else name, []).append(lane)
        return {stack_id: tuple(lanes) for stack_id, lanes in found.items()}

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
        own = tuple(lane for lane in self.lanes_of(stack) if lane.has_disc)
        if not stack.order:
            return own
        place = {lane_id: index for index, lane_id in enumerate(stack.order)}
        return tuple(sorted(own, key=lambda lane: place.get(lane.id, len(place))))

    def turn_of(self, stack: Stack) -> Turn:
        """Return the sense in which a stack turns, seen from the top."""
        return self._senses[stack.id] if stack.steps_from else stack.turn or self.shaft.turn

    @cached_property
    def _senses(self) -> Mapping[str, Turn]:
        return senses_of(self.stacks, self.shaft.turn)

    def chain_of(self, stack: Stack) -> list[Stack]:
        """Return a stack, the one that steps it, and so on up to a geared one; raises as `rates`."""
        return driven_from(self._stacks_by_id, stack) if stack.steps_from else [stack]

    def rate_of(self, lane: Lane) -> float:
        """Return the turns of a lane's stack in a cycle of the master; whole unless it is slow or stepped."""
        return self.turns_of(self.stack_of(lane))

    def turns_of(self, stack: Stack) -> float:
        """Return the turns of a stack in a cycle of the master; whole unless it is slow or stepped."""
        rate = self.rates[stack.id]
        return rate.numerator if rate.denominator == 1 else float(rate)

    @cached_property
    def rates(self) -> Rates:
        """Turns a cycle of each stack by its id; ValueError where nothing drives a stack."""
        return rates_of(self.stacks)

    @cached_property
    def period(self) -> int:
        """After how many cycles all stacks repeat: 1 unless a stack is slow or steps; raises as `rates`."""
        return period_of(self.rates)

    def follower_z_mm(self, stack: Stack) -> float:
        """Return how exactly the followers of a stack stand along the shaft, mm (plus-minus limit)."""
        if self.tolerances.follower_z_mm is not None:
            return self.tolerances.follower_z_mm
        return BUILT_FOLLOWER_Z_MM if stack.followers_set == "built" else DRAWN_FOLLOWER_Z_MM

    @property
    def max_disc_radius_mm(self) -> float:
        """Largest disc radius that may be made, mm."""
        if self.limits.max_disc_radius_mm is not None:
            return self.limits.max_disc_radius_mm
        return min(self.print.bed_x_mm, self.print.bed_y_mm) / 2
