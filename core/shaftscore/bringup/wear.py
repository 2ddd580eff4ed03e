"""Wear and life: how deep discs, rollers and pivots wear, whose timing shifts first, and when to look.

Running hours come from the project's `duty`; wear rates K from the material where the maker states one, else
from `built.wear_rates`, and are not known otherwise. Archard, h = K p s, in the form that each pair takes, N
the contact force at the nominal speed with the most friction and the strongest spring, L the contact width:

    (1) edge of the disc, each pass: h = K (N / L) ξ, ξ the way that slides over the way that the contact
    goes along
        the edge: every point of the edge passes under the contact once a turn, and the pressure over the
        contact's width adds up to N / L. A knife edge slides all the way (ξ 1); a flat face by its distance
        over the radius of curvature; a roller rolls, with SLIP of its way (common practice, no source)
    (2) rim of a roller, each turn: the same volume as the disc would lose, spread over its rim: K ∮ N ξ ds /
    (2π r L) (3) bore of a roller on its pin, no ball bearing: p = N / (d w) over the way (d / 2r) ds: K ∮ N
    ds / (2 r w) (4) bore of a lever on its rod: p = N / (d w) over (d / 2) |dφ|: K ∮ N |dφ| / (2 w), w of
    all its bars (5) flat face: K ∮ N (distance) dθ over its track and width

Disc and roller wear lower the output by h / cos α times the ratio; where a state ends that shifts it by that
over |ds/dθ|. A *life* is until a part has worn by WORN_MM, or a timing has shifted by what its lane can
take: the smallest slack of the rules that name it, else SHIFT_DEG. Not judged: guides, plain bearings of
shafts, gears, fatigue of springs and ball bearings, whose ratings are their makers'. Angles are of the
master shaft.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property
from math import ceil, inf, isfinite, pi

import numpy as np

from shaftscore.base.angles import TURN, wrap
from shaftscore.built.arrays import Reals
from shaftscore.built.wear_rates import WearRate, wear_rate
from shaftscore.judge.checks.margin import rule_margins
from shaftscore.judge.loads import LaneLoads, MachineLoads
from shaftscore.judge.loads.forces import Forces
from shaftscore.judge.report.rounds import is_few, machine_rounds
from shaftscore.model import Duty, Lane, Material, Project, SwingingRoller, TranslatingFlat
from shaftscore.model.materials import BUILT_IN, is_printed
from shaftscore.model.rounds import CYCLE
from shaftscore.solution import Solution
from shaftscore.stack.followers import AXLE_MM

SLIP = 0.02
"""Share of its way by which a roller slides on its disc (common practice, no source)."""

WORN_MM = 0.2
"""Depth at which a part counts as worn out, mm (common practice, no source)."""

SHIFT_DEG = 1.0
"""Shift that counts where no rule says what a lane can take, degrees (common practice, no source)."""

UNKNOWN_HOURS = 100.0
"""Running hours after which to look where no wear is known (common practice, no source)."""

HANDY_HOURS = (1, 2, 5, 10, 20, 50, 100, 200, 500, 1000, 2000, 5000)
"""Running hours that an interval is rounded down to."""

GRID = np.arange(0.0, TURN, 0.25)
"""Angles of a stack at which forces are read, degrees."""
GRID.setflags(write=False)

MOULDED = ("POM", "nylon")
"""Plastics of which rollers are bought and not printed."""


@dataclass(frozen=True, eq=False)
class PartWear:
    """How one part of a lane wears.

    lane: its id. part: for people. material, partner: of the pair. rate: K in mm³/(N·m) and its source,
    None where it is not known. by_rate_mm: depth a turn of the stack by unit of K. where_deg: angle on the
    circle of the lane's round of the deepest place, None where the part wears alike all round.
    """

    lane: str
    part: str
    material: str
    partner: str
    rate: WearRate | None
    by_rate_mm: float
    where_deg: float | None
    turns_per_hour: float

    @property
    def mm_per_hour(self) -> float | None:
        """Depth by running hour, with the greatest K, mm; None where it is not known."""
        return None if self.rate is None else self.rate.most * self.by_rate_mm * self.turns_per_hour

    @property
    def life_h(self) -> float | None:
        """Running hours until it is worn out; inf where it does not wear."""
        return None if self.mm_per_hour is None else WORN_MM / self.mm_per_hour if self.mm_per_hour else inf


@dataclass(frozen=True)
class TimingShift:
    """How a lane's timing shifts as disc and roller wear.

    state: level whose end shifts most, at_deg: there. deg_per_hour: by running hour. limit_deg: what the lane
    can take, of_rule: whether a rule says so; degrees of the master. cycles: of the lane's round, of whose
    circle `at_deg` is.
    """

    lane: str
    label: str
    state: str
    at_deg: float
    deg_per_hour: float
    limit_deg: float
    of_rule: bool
    cycles: Fraction = CYCLE

    @property
    def hours(self) -> float:
        """Running hours until the limit."""
        return self.limit_deg / self.deg_per_hour if self.deg_per_hour > 0 else inf


@dataclass(frozen=True)
class SparePart:
    """A part to keep: of which lane, after how many running hours, how many over the years of service."""

    lane: str
    part: str
    hours: float
    count: int


@dataclass(frozen=True, eq=False)
class MachineWear:
    """The wear of a machine; hours_per_year: None without `duty`. without_load: labels of lanes left out."""

    project: Project
    parts: tuple[PartWear, ...]
    shifts: tuple[TimingShift, ...]
    without_load: tuple[str, ...]

    @property
    def hours_per_year(self) -> float | None:
        """Running hours a year."""
        duty = self.project.duty
        return None if duty is None else duty_hours(duty)

    @cached_property
    def first_shift(self) -> TimingShift | None:
        """The lane whose timing shifts too far first; None where none is known."""
        return min(
            (one for one in self.shifts if isfinite(one.hours)), key=lambda one: one.hours, default=None
        )

    @property
    def unknown(self) -> tuple[PartWear, ...]:
        """The parts whose wear is not known."""
        return tuple(one for one in self.parts if one.rate is None)

    @cached_property
    def spares(self) -> tuple[SparePart, ...]:
        """The parts that wear out within the years of service, soonest first; none without `duty`."""
        duty = self.project.duty
        if duty is None:
            return ()
        all_hours = duty_hours(duty) * duty.years
        lives: dict[tuple[str, str], float] = {}
        found = [(one.lane, REPLACED[one.part], one.life_h) for one in self.parts if one.life_h is not None]
        found += [(one.lane, REPLACED[DISC], one.hours) for one in self.shifts]
        for lane, part, hours in found:
            lives[lane, part] = min(hours, lives.get((lane, part), inf))
        spares = [
            SparePart(lane, part, hours, ceil(all_hours / hours) - 1)
            for (lane, part), hours in lives.items()
            if hours < all_hours
        ]
        return tuple(sorted(spares, key=lambda one: one.hours))

    @cached_property
    def interval_h(self) -> float:
        """Running hours between inspections: half of the shortest life, rounded down to a handy number."""
        lives = [one.life_h for one in self.parts if one.life_h is not None]
        lives += [one.hours for one in self.shifts]
        shortest = min(lives, default=inf)
        if self.unknown or not isfinite(shortest):
            shortest = min(shortest, 2 * UNKNOWN_HOURS)
        return float(max((hours for hours in HANDY_HOURS if hours <= shortest / 2), default=HANDY_HOURS[0]))


DISC, ROLLER, BORE, PIVOT, FACE = "Disc edge", "Roller rim", "Roller bore", "Lever bore", "Flat face"
"""Names of parts for people."""

REPLACED = {DISC: "disc", ROLLER: "roller", BORE: "roller", PIVOT: "lever", FACE: "follower"}
"""What is replaced where a part is worn."""


def duty_hours(duty: Duty) -> float:
    """Return the running hours of a year."""
    return duty.hours_per_day * duty.days_per_year


def machine_wear(solution: Solution, loads: MachineLoads) -> MachineWear:
    """Return how the parts of all lanes with a load wear."""
    project = solution.project
    found = {lane: tuple(_parts(own)) for lane, own in loads.lanes.items()}
    limits = _limits(solution)
    shifts = tuple(
        shift
        for lane, own in loads.lanes.items()
        if (shift := _shift(own, found[lane], limits.get(lane))) is not None
    )
    without = tuple(one.lane.label for lane, one in solution.lanes.items() if lane not in loads.lanes)
    return MachineWear(project, tuple(one for parts in found.values() for one in parts), shifts, without)


def _limits(solution: Solution) -> Mapping[str, float]:
    """Return the smallest slack of the rules between each lane and another, degrees; none of a broken one."""
    found: dict[str, float] = {}
    for over, cycles in _rule_rounds(solution):
        for margin in rule_margins(over):
            if margin is None or margin.smallest_deg <= 0:
                continue
            for lane in margin.between:
                slack = margin.smallest_deg if cycles == CYCLE else margin.smallest_deg * float(cycles)
                found[lane] = min(found.get(lane, inf), slack)
    return found


def _rule_rounds(solution: Solution) -> Iterator[tuple[Solution, Fraction]]:
    """Yield the rules over their rounds; those of rounds that are too long are left out."""
    rounds = machine_rounds(solution)
    if rounds.is_cycle:
        yield solution, CYCLE
        return
    for group in rounds.rules:
        if group.solution is not None and is_few(group.solution):
            yield group.solution, group.cycles


@dataclass(frozen=True, eq=False)
class ContactWay:
    """The contact of a lane over one turn of its stack, (n,) on GRID.

    normal_n: contact force, N. way_mm: along the disc's edge by radian. slide: share of it that slides.
    """

    loads: LaneLoads
    forces: Forces
    normal_n: Reals
    way_mm: Reals
    slide: Reals

    @property
    def step_rad(self) -> float:
        """Angle between two places, rad."""
        return 2 * pi / len(GRID)


def contact_way(loads: LaneLoads) -> ContactWay:
    """Return a lane's contact over one turn of its stack at the nominal speed."""
    forces = loads.forces(GRID, loads.speed_rpm, case=loads.most_contact_case)
    at = forces.at
    normal = np.where(np.isfinite(forces.contact_n), np.maximum(forces.contact_n, 0.0), 0.0)
    if at.model.is_flat:
        distance = np.abs(at.distance_mm)
        way = np.maximum(at.speed_mm, 1e-6)
        return ContactWay(
            loads, forces, normal, way, np.sqrt(np.maximum(distance**2 - at.lift[1] ** 2, 0.0)) / way
        )
    with np.errstate(divide="ignore", invalid="ignore"):
        way = np.abs(at.speed_mm * (1 - at.model.roller_radius_mm * at.pitch_curvature))
    slide = np.full(len(GRID), SLIP if at.model.roller_radius_mm > 0 else 1.0)
    return ContactWay(loads, forces, normal, way, slide)


def edge_depths(way: ContactWay) -> Reals:
    """Return how deep the disc wears in one turn by unit of K, (n,) mm on GRID (1)."""
    width = way.loads.contact_width_mm
    return way.normal_n / width * way.slide / 1000 if width > 0 else np.zeros(len(GRID))


def _parts(loads: LaneLoads) -> Iterator[PartWear]:
    """Yield the wear of all parts of a lane."""
    way, lane = contact_way(loads), loads.solved.lane
    hourly = 60.0 * loads.speed_rpm * loads.solved.course.rate
    disc, roller = loads.disc, loads.roller
    edge = edge_depths(way)
    at = int(np.argmax(edge))
    place = loads.solved.course.place(float(GRID[at]))

    def part(
        name: str, pair: tuple[Material, Material], made: bool, depth: float, where: float | None = None
    ) -> PartWear:
        own, other = pair
        rate = _rate(own, other.name, printed=made)
        return PartWear(lane.id, name, own.name, other.name, rate, depth, where, hourly)

    yield part(DISC, (disc, roller), is_printed(disc.name), float(edge[at]), place)
    printed = is_printed(roller.name) and roller.name not in MOULDED
    steel = BUILT_IN["steel"].material
    for name, depth in _on_follower(way):
        yield part(name, (roller, disc if name in (ROLLER, FACE) else steel), printed, depth)
    swing = _lever_depth(way)
    if swing is not None:
        yield part(PIVOT, (disc, steel), True, swing)


def _rate(own: Material, partner: str, *, printed: bool) -> WearRate | None:
    """Return the maker's wear rate of a material, or that of the table."""
    if own.wear_mm3_nkm is not None:
        stated = own.wear_mm3_nkm / 1000
        return WearRate(own.name, printed, partner, stated, stated, "stated in the project")
    return wear_rate(own.name, partner, printed=printed)


def _on_follower(way: ContactWay) -> Iterator[tuple[str, float]]:
    """Yield what wears on the roller or the flat face, with its depth a turn by unit of K, mm."""
    follower, width = way.loads.solved.lane.follower, way.loads.contact_width_mm
    if width <= 0:
        return
    if isinstance(follower, TranslatingFlat):
        track = float(np.ptp(way.forces.at.contact_mm))
        if track > 0:
            work = float(np.sum(way.normal_n * way.slide * way.way_mm)) * way.step_rad
            yield FACE, work / (track * width) / 1000  # (5)
        return
    radius = follower.roller_radius_mm
    if radius <= 0:
        return
    work = float(np.sum(way.normal_n * way.way_mm)) * way.step_rad
    yield ROLLER, SLIP * work / (2 * pi * radius * width) / 1000  # (2)
    if follower.bearing is None and radius > AXLE_MM / 2:
        yield BORE, work / (2 * radius * width) / 1000  # (3)


def _lever_depth(way: ContactWay) -> float | None:
    """Return the depth of a lever's bore a turn by unit of K, mm; None without a lever (4)."""
    lane = way.loads.solved.lane
    follower = lane.follower
    thick = _lever_mm(lane)
    if not isinstance(follower, SwingingRoller) or thick is None:
        return None
    swing = np.abs(way.forces.at.lift[1]) / follower.arm_mm
    return float(np.sum(way.normal_n * swing)) * way.step_rad / (2 * thick) / 1000


def _lever_mm(lane: Lane) -> float | None:
    """Return the thickness of all bars of a lane's lever together, mm; None where it is not described."""
    thick = lane.arm_thickness_mm
    return None if thick is None else thick * (2 if lane.follower.arm_side == "both" else 1)


def _shift(loads: LaneLoads, parts: tuple[PartWear, ...], limit_deg: float | None) -> TimingShift | None:
    """Return how the timing of a lane shifts; None where its wear is not known or no state ends."""
    rates = {one.part: one for one in parts}
    disc, rim = rates[DISC], rates.get(ROLLER) or rates.get(FACE)
    if disc.rate is None:
        return None
    hourly = disc.turns_per_hour
    depth = edge_depths(contact_way(loads)) * disc.rate.most * hourly
    if rim is not None and rim.rate is not None:
        depth = depth + (rim.mm_per_hour or 0.0)
    best: tuple[float, float, str] | None = None
    for level, spans in loads.solved.states.items():
        ends = [angle for one in spans if not one.span.is_full for angle in (one.span.start, one.span.end)]
        for angle, shift in _shifts(loads, depth, np.array(ends)):
            if best is None or shift > best[0]:
                best = (shift, angle, level)
    if best is None:
        return None
    lane = loads.solved.lane
    known = limit_deg is not None and isfinite(limit_deg)
    return TimingShift(
        lane.id,
        lane.label,
        best[2],
        best[1],
        best[0],
        limit_deg if known and limit_deg else SHIFT_DEG,
        known,
        loads.solved.course.cycles,
    )


def _shifts(loads: LaneLoads, depth_mm: Reals, ends_deg: Reals) -> Iterator[tuple[float, float]]:
    """Yield ends of states, (k,) degrees of the round's circle, with their shift by wear, master degrees.

    depth: (n,) mm on GRID.
    """
    if not len(ends_deg):
        return
    course = loads.solved.course
    if course.is_stepped:
        own_deg, rate, _, _ = course.own(ends_deg)
        own, rates = wrap(own_deg), rate / float(course.cycles)
    else:
        own, rates = wrap(ends_deg * course.turns), np.full(len(ends_deg), course.rate)
    at = loads.profile.at(own)
    slope = np.abs(at.lift[1]) * pi / 180
    lift = np.interp(own, GRID, depth_mm, period=TURN) / np.maximum(np.cos(np.radians(at.pressure_deg)), 0.1)
    for angle, rise, steep, turns in zip(ends_deg, lift, slope, rates, strict=True):
        if steep > 1e-9 and turns > 1e-9:
            yield float(angle), float(rise / steep / turns)
