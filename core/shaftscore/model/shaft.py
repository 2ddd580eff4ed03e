"""The master shaft, what drives it, and the stacks: shafts with their discs.

One turn of the master shaft is one cycle of the machine. Turning senses are as seen from the top of
the stack, except a motor's own, which is as seen looking at the end of its output shaft.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from functools import cached_property
from itertools import pairwise
from typing import Annotated, Literal

from pydantic import Field

from shaftscore.base.wording import plain
from shaftscore.built.efficiency import DEFAULT_EFFICIENCY, WORM_FRICTION, worm_efficiency
from shaftscore.built.threads import thread_named
from shaftscore.model.base import (
    MOST_FORCE_N,
    Contradiction,
    Fraction,
    Friction,
    Id,
    LengthDeg,
    Mm,
    PositiveMm,
    Record,
    Rpm,
    StartDeg,
)
from shaftscore.model.letters import ShortText
from shaftscore.model.parts import Hub
from shaftscore.model.steps import StepsFrom

Turn = Literal["clockwise", "counterclockwise"]
"""A turning sense."""

MOST_TURNS = 3600
"""Turns of a stack in one cycle at most."""

MOST_CYCLES = 3600
"""Cycles of the master in one turn of a stack, and in the period of a machine, at most."""

StepStarts = Annotated[tuple[StartDeg, ...], Field(min_length=1, max_length=720)]
"""Start angles of index steps that are not all equal, degrees, rising."""


class Shaft(Record):
    """The master shaft.

    turn: sense in which the machine runs, seen from the top. speed_rpm: nominal speed, rev/min.
    speed_max_rpm: speed at which contact and stress must still hold, rev/min (nominal if absent). steps:
    a count of equal index steps, or their start angles, degrees. step_names: what happens at each step,
    for people.
    """

    turn: Turn
    speed_rpm: Rpm
    speed_max_rpm: Rpm | None = None
    steps: Annotated[int, Field(ge=1, le=720)] | StepStarts = 12
    step_names: Annotated[tuple[ShortText, ...], Field(max_length=720)] = ()

    def contradictions(self) -> Iterator[Contradiction]:
        """Refuse steps that do not rise, more names than steps, a top speed under the nominal."""
        if self.speed_max_rpm is not None and self.speed_max_rpm < self.speed_rpm:
            most, nominal = plain(self.speed_max_rpm), plain(self.speed_rpm)
            yield "speed_max_rpm", f"must be at least speed_rpm, {nominal} rev/min, got {most} rev/min"
        for index, (before, start) in enumerate(pairwise(self.step_starts_deg), start=1):
            if start <= before:
                yield (
                    f"steps[{index}]",
                    f"must be over the step before, {plain(before)}°, got {plain(start)}°",
                )
        count = len(self.step_starts_deg)
        if len(self.step_names) > count:
            yield "step_names", f"has {len(self.step_names)} names for {count} steps"

    @property
    def top_speed_rpm(self) -> float:
        """Speed at which float and contact stress are judged, rev/min."""
        return self.speed_rpm if self.speed_max_rpm is None else self.speed_max_rpm

    @cached_property
    def step_starts_deg(self) -> tuple[float, ...]:
        """Start angles of the index steps, degrees, rising."""
        if isinstance(self.steps, int):
            return tuple(360.0 * step / self.steps for step in range(self.steps))
        return self.steps


class MotorSource(Record):
    """A motor.

    rated_speed_rpm, rated_torque_nm: at its output shaft, for continuous running, rev/min and N·m.
    stall_torque_nm: at standstill, N·m. turn: as seen looking at the end of the output shaft. from_below:
    that shaft points down the stack.
    """

    kind: Literal["motor"]
    rated_speed_rpm: Annotated[float, Field(gt=0, le=1e5)]
    rated_torque_nm: Annotated[float, Field(gt=0, le=1e5)]
    stall_torque_nm: Annotated[float, Field(gt=0, le=1e5)] | None = None
    turn: Turn
    from_below: bool = False

    def contradictions(self) -> Iterator[Contradiction]:
        """Refuse a motor that stalls at less than its rated torque."""
        if self.stall_torque_nm is not None and self.stall_torque_nm < self.rated_torque_nm:
            stall, rated = plain(self.stall_torque_nm), plain(self.rated_torque_nm)
            yield "stall_torque_nm", f"must be at least rated_torque_nm, {rated} N·m, got {stall} N·m"


class CrankSource(Record):
    """A hand crank.

    radius_mm: of the handle's circle, mm. hand_force_n: what a hand gives for long, N. turn: sense, seen
    from the top.
    """

    kind: Literal["crank"]
    radius_mm: PositiveMm
    hand_force_n: Annotated[float, Field(gt=0, le=1e4)] = 20.0
    turn: Turn


AxisWay = Literal["up", "down"] | Annotated[float, Field(ge=0, lt=360)]
"""Where an axis points: up or down the stack, or level, degrees counterclockwise from the reference line."""


class Stage(Record):
    """One stage of the drive train, counted from the source.

    driver_teeth, driven_teeth: of its two wheels (a worm: its starts). kind: how they mesh. reverses: for
    bevel and worm only, where it must be given unless the axes of a bevel stage are: true if the driven
    shaft, seen from the top, turns against the source as seen on its shaft end. efficiency: power out
    over power in, 0 to 1; by the kind if absent: 0.95, bevel 0.90, worm by lead_angle_deg and friction,
    or 0.4 without. lead_angle_deg: of a worm's thread against its plane of rotation, degrees. friction:
    coefficient between worm and wheel. module_mm: of the teeth, mm. face_mm: width of the teeth, mm,
    eight modules if absent. centre_mm: distance of the two axes, mm, that of the teeth if absent.
    driver_axis: where the end of the driver's shaft points. driven_axis: where the driven shaft leads
    from the mesh, for bevel and worm only.
    """

    driver_teeth: Annotated[int, Field(ge=1, le=10000)]
    driven_teeth: Annotated[int, Field(ge=1, le=10000)]
    kind: Literal["external", "internal", "belt", "chain", "bevel", "worm"]
    reverses: bool | None = None
    efficiency: Fraction | None = None
    lead_angle_deg: Annotated[float, Field(gt=0, lt=90)] | None = None
    friction: Friction | None = None
    module_mm: Annotated[float, Field(gt=0, le=100)] | None = None
    face_mm: PositiveMm | None = None
    centre_mm: PositiveMm | None = None
    driver_axis: AxisWay | None = None
    driven_axis: AxisWay | None = None

    @property
    def reverses_used(self) -> bool | None:
        """Whether a bevel or worm stage reverses: as given, or as the axes of a bevel stage say.

        Two bevel wheels turn against one another as seen from the backs of both, so that the driven shaft,
        seen at its end, turns as the driver seen at its own; from the top only one that leads down does not.
        """
        if self.reverses is None and self.kind == "bevel" and self.driven_axis is not None:
            return self.driven_axis == "down"
        return self.reverses

    @property
    def efficiency_used(self) -> float:
        """Efficiency as given, or that of the kind, 0 to 1."""
        if self.efficiency is not None:
            return self.efficiency
        if self.lead_angle_deg is None:
            return DEFAULT_EFFICIENCY[self.kind]
        return worm_efficiency(self.lead_angle_deg, WORM_FRICTION if self.friction is None else self.friction)

    def contradictions(self) -> Iterator[Contradiction]:
        """Refuse bevel and worm without `reverses`, and it for others; a worm's fields that do not agree."""
        yield from self._worm_contradictions()
        yield from self._axis_contradictions()
        angled = self.kind in ("bevel", "worm")
        if angled and self.reverses_used is None:
            why = (
                ""
                if self.driven_axis is None
                else ": its axes leave the hand of its thread and its side open"
            )
            yield "reverses", f"is missing; a {self.kind} stage must say whether it reverses{why}"
        if not angled and self.reverses is not None:
            told = str(self.reverses).lower()
            yield "reverses", f"{told} is given for kind {self.kind}; it is for bevel and worm only"

    def _axis_contradictions(self) -> Iterator[Contradiction]:
        """Refuse axes of parallel shafts, one without the other, and parallel ones of bevel and worm."""
        axes = {"driver_axis": self.driver_axis, "driven_axis": self.driven_axis}
        given = [key for key, value in axes.items() if value is not None]
        if not given:
            return
        if self.kind not in ("bevel", "worm"):
            yield given[0], f"is given for kind {self.kind}; it is for bevel and worm only"
        elif len(given) == 1:
            other = next(key for key in axes if key not in given)
            yield other, f"is missing; {given[0]} is given, and both axes are needed"
        elif _is_parallel(self.driver_axis, self.driven_axis):
            yield "driven_axis", f"is parallel to driver_axis; the axes of a {self.kind} stage cross"
        elif self.kind == "bevel" and self.reverses not in (None, self.driven_axis == "down"):
            told = str(self.reverses).lower()
            yield "reverses", f"{told} contradicts the axes, which say {str(not self.reverses).lower()}"

    def _worm_contradictions(self) -> Iterator[Contradiction]:
        """Refuse what belongs to another kind, or is given with an efficiency, or gives none."""
        for key, value, unit in (
            ("lead_angle_deg", self.lead_angle_deg, "°"),
            ("friction", self.friction, ""),
        ):
            if value is not None and self.kind != "worm":
                yield key, f"{plain(value)}{unit} is given for kind {self.kind}; it is for worm only"
            elif value is not None and self.efficiency is not None:
                told = plain(self.efficiency)
                yield key, f"{plain(value)}{unit} is given together with efficiency, {told}; give one of them"
        if self.efficiency is not None or self.kind != "worm":
            return
        if self.friction is not None and self.lead_angle_deg is None:
            yield "friction", f"{plain(self.friction)} is given without lead_angle_deg; a worm needs both"
        elif self.lead_angle_deg is not None and self.efficiency_used <= 0:
            lead = plain(self.lead_angle_deg)
            yield "lead_angle_deg", f"a worm of {lead}° locks by its friction and cannot drive"


def _is_parallel(first: AxisWay | None, second: AxisWay | None) -> bool:
    """Return whether two axes point the same way or opposite ways."""
    if isinstance(first, str) or isinstance(second, str):
        return isinstance(first, str) and isinstance(second, str)
    assert first is not None, "both axes are given"
    assert second is not None, "both axes are given"
    return abs(math.sin(math.radians(second - first))) < 1e-6


class Drive(Record):
    """What turns the master shaft.

    source: a motor or a crank. stages: of the train, from the source on. torque_reserve: the factor by
    which what is available must exceed the peak.
    """

    source: Annotated[MotorSource | CrankSource, Field(discriminator="kind")]
    stages: Annotated[tuple[Stage, ...], Field(max_length=20)] = ()
    torque_reserve: Annotated[float, Field(ge=1, le=100)] = 1.5

    def contradictions(self) -> Iterator[Contradiction]:
        """Refuse a train that ends on a level axis: the master shaft is upright."""
        angled = [(place, stage) for place, stage in enumerate(self.stages) if stage.driven_axis is not None]
        if angled and not isinstance(angled[-1][1].driven_axis, str):
            place, stage = angled[-1]
            told = plain(float(stage.driven_axis or 0.0))
            yield (
                f"stages[{place}].driven_axis",
                f'must be "up" or "down", got {told}°: the last stage with axes leads to the master shaft',
            )


Shape = Literal["round", "d", "hex", "square"]
"""The shape of a bore or a rod."""


class Bore(Record):
    """The hole for the shaft.

    shape: of the hole. across_mm: its diameter (round, d) or the distance across its flats, mm. flat_mm:
    for a d, from the flat to the opposite side of the circle, mm; more than half of across_mm.
    """

    shape: Shape = "hex"
    across_mm: PositiveMm = 8.0
    flat_mm: PositiveMm | None = None

    @property
    def inner_radius_mm(self) -> float:
        """Radius of the greatest circle about the axis that the bore holds whole, mm."""
        return self.across_mm / 2 if self.flat_mm is None else self.flat_mm - self.across_mm / 2

    @property
    def outer_radius_mm(self) -> float:
        """Radius of the least circle about the axis that holds the whole bore, mm."""
        corner = {"hex": math.cos(math.pi / 6), "square": math.cos(math.pi / 4)}
        return self.across_mm / 2 / corner.get(self.shape, 1.0)

    def contradictions(self) -> Iterator[Contradiction]:
        """Refuse a d without a flat that cuts something off outside the axis; a flat elsewhere."""
        if self.shape != "d":
            if self.flat_mm is not None:
                yield "flat_mm", f"{plain(self.flat_mm)} mm is given for shape {self.shape}; it is for d only"
        elif self.flat_mm is None:
            yield "flat_mm", f"is missing; a d of {plain(self.across_mm)} mm needs it"
        elif not self.across_mm / 2 < self.flat_mm < self.across_mm:
            between = f"{plain(self.across_mm / 2)} and {plain(self.across_mm)} mm"
            yield (
                "flat_mm",
                f"must lie between {between} (half and all of across_mm), got {plain(self.flat_mm)} mm",
            )


FitMm = Annotated[float, Field(ge=0, le=5)]
"""A clearance of a fit, to each side, mm."""


class Dogs(Record):
    """Interlocking dogs on discs and spacers.

    count: how many, equally spaced. radius_mm: of the circle on which they stand, mm. width_mm: of one,
    along that circle, mm. height_mm: by which it stands out of the face, mm. clearance_mm: by which its
    pocket is wider to each side, mm, that of the stack's fit if absent.
    """

    count: Annotated[int, Field(ge=1, le=24)] = 3
    radius_mm: PositiveMm
    width_mm: PositiveMm
    height_mm: PositiveMm
    clearance_mm: FitMm | None = None

    def reach(self, grow_mm: float) -> tuple[float, float]:
        """Return the radii between which all dogs lie, their walls moved outward by `grow_mm`, mm.

        The dog at the zero mark is twice as long along the circle as the others.
        """
        half = self.width_mm / 2 + grow_mm
        return self.radius_mm - half, math.hypot(self.radius_mm, self.width_mm / 2) + half


class Pins(Record):
    """Rods through every disc and spacer of a stack, which key them and may clamp them.

    count: how many, equally spaced. radius_mm: of the circle on which their axes stand, mm. across_mm:
    diameter of one, mm. clearance_mm: by which their holes are larger, to each side, mm.
    """

    count: Annotated[int, Field(ge=2, le=24)]
    radius_mm: PositiveMm
    across_mm: PositiveMm
    clearance_mm: FitMm = 0.1

    @property
    def hole_radius_mm(self) -> float:
        """Radius of the hole for a pin, mm."""
        return self.across_mm / 2 + self.clearance_mm

    @property
    def reach_mm(self) -> tuple[float, float]:
        """Radii about the axis between which the holes of all pins lie, mm."""
        return self.radius_mm - self.hole_radius_mm, self.radius_mm + self.hole_radius_mm

    def contradictions(self) -> Iterator[Contradiction]:
        """Refuse pins that do not fit on their circle."""
        around, apart = 2 * self.radius_mm * math.sin(math.pi / self.count), self.across_mm
        if apart >= around:
            told = f"{self.count} of {plain(apart)} mm do not fit on a circle of {plain(self.radius_mm)} mm"
            yield "across_mm", f"{told} radius"


ToleranceClass = Literal["h6", "h7", "h8", "h9", "h10", "h11", "h12", "6g"]
"""The tolerance class that a rod is sold in."""


class Rod(Record):
    """The rod of a stack, and where it runs in its bearings.

    shape: of its section, the bore's if absent. across_mm: its diameter or the distance across its flats,
    mm. thread: such as "M8" or "M10x1", which makes it a threaded rod. tolerance: class that it is sold
    in; h11 if absent for hex and square, h9 for others, 6g for a thread. material: of the rod. below_mm:
    from the stack's bottom face to the middle of the lower bearing, mm. above_mm: from the stack's top
    face to the middle of the upper bearing, mm. bearing: kind of both bearings. clamp_n: force of the
    nuts that clamp the stack, N; not clamped if absent.
    """

    shape: Shape | None = None
    across_mm: PositiveMm
    thread: Annotated[str, Field(pattern=r"^M\d{1,2}(\.\d{1,2})?(x\d(\.\d{1,2})?)?$")] | None = None
    tolerance: ToleranceClass | None = None
    material: Annotated[str, Field(min_length=1, max_length=200)] = "steel"
    below_mm: Mm
    above_mm: Mm
    bearing: Literal["ball", "plain"] = "ball"
    clamp_n: Annotated[float, Field(gt=0, le=MOST_FORCE_N)] | None = None

    def contradictions(self) -> Iterator[Contradiction]:
        """Refuse a thread that is not known, or is not that of the rod, and 6g without a thread."""
        if self.thread is None:
            if self.tolerance == "6g":
                yield "tolerance", '"6g" is for threads; the rod has none'
            return
        try:
            nominal = thread_named(self.thread).nominal_mm
        except ValueError as error:
            yield "thread", str(error)
            return
        if nominal != self.across_mm:
            told = plain(self.across_mm)
            yield "thread", f'"{self.thread}" has {plain(nominal)} mm; across_mm is {told} mm'

    def shape_in(self, bore: Bore) -> Shape:
        """Return the shape of the rod in a bore: its own, or the bore's."""
        return self.shape or bore.shape

    def flat_in(self, bore: Bore) -> float | None:
        """Return its `flat_mm` in the bore of a D, mm: as much less than the bore's as across; else None."""
        return None if bore.flat_mm is None else bore.flat_mm - (bore.across_mm - self.across_mm)

    def tolerance_in(self, bore: Bore) -> ToleranceClass:
        """Return the tolerance class of the rod in a bore: its own, or the usual one of its shape."""
        if self.tolerance is not None:
            return self.tolerance
        if self.thread is not None:
            return "6g"
        return "h11" if self.shape_in(bore) in ("hex", "square") else "h9"


class Stack(Record):
    """A shaft that carries discs, geared to the master shaft.

    turns: whole turns in one cycle. cycles: of the master in which it turns once; one of turns and cycles
    is 1. steps_from: the intermittent stage on another stack that drives it, if any; turns, cycles and
    turn then follow from it. turn: sense, the shaft's if absent. efficiency: of its gearing, 0 to
    1. order: ids of lanes with discs, bottom to top; file order if empty. spacer_mm: thickness of the
    spacer between two discs, mm. spacer_radius_mm: its outer radius, mm. bore: the hole of discs and
    spacers. dogs: between neighbours, if any. pins: through all discs and spacers, if any. rod: that
    carries the stack, if described. hub: at its driven end, if described. joints: how the discs are set
    on their joints: loose, tightened as they lie, all turned one way while tightened, or lined up by
    their marks; as they lie if absent. lined_up_mm: how exactly marks on the rim are lined up, mm.
    against: what the marks are lined up against. fixing: how discs are held on their joints.
    fit_clearance_mm: by which holes are wider than what goes in, to each side, mm. keying: each disc
    against the shaft, or in a chain of dogs from driven_end. joint_play_deg: whole play of one joint,
    degrees, from the fit unless given. backlash_deg: whole play between the stack and the motor, degrees.
    follower_height_mm: of a follower about its disc's middle, mm, the disc's thickness if absent.
    followers_set: whether the heights of followers are set by the drawing's dimensions or on the built
    stack; by the drawing if absent. body_clearance_mm: least distance between bodies, mm.
    """

    id: Id
    name: ShortText = ""
    turns: Annotated[int, Field(ge=1, le=MOST_TURNS)] = 1
    cycles: Annotated[int, Field(ge=1, le=MOST_CYCLES)] = 1
    steps_from: StepsFrom | None = None
    turn: Turn | None = None
    efficiency: Fraction = 1.0
    order: Annotated[tuple[Id, ...], Field(max_length=4096)] = ()
    spacer_mm: Mm = 6.0
    spacer_radius_mm: PositiveMm = 12.0
    bore: Bore = Bore()
    dogs: Dogs | None = None
    pins: Pins | None = None
    rod: Rod | None = None
    hub: Hub | None = None
    joints: Literal["loose", "as-they-lie", "one-way", "lined-up"] | None = None
    lined_up_mm: Mm = 0.3
    against: Literal["straight-edge", "neighbour"] = "straight-edge"
    fixing: Literal["keyed", "screwed", "glued"] = "keyed"
    fit_clearance_mm: FitMm = 0.2
    keying: Literal["shaft", "chain"] = "shaft"
    driven_end: Literal["bottom", "top"] = "bottom"
    joint_play_deg: LengthDeg | None = None
    backlash_deg: Annotated[float, Field(ge=0, le=90)] = 0.0
    follower_height_mm: PositiveMm | None = None
    followers_set: Literal["drawing", "built"] | None = None
    body_clearance_mm: Mm = 0.5

    def contradictions(self) -> Iterator[Contradiction]:
        """Refuse dogs and pins inside the bore, dogs too many for their circle; a chain without them.

        And a rod that is larger than the bore, or threaded and not round.
        """
        yield from self._dogs_contradictions()
        if self.turns > 1 and self.cycles > 1 and self.steps_from is None:
            told = (
                f"{self.turns} turns are given too; a stack turns several times in a cycle or takes several"
            )
            yield "cycles", f"{self.cycles} and {told} cycles for a turn: leave one of the two out"
        bore, pins, rod = self.bore, self.pins, self.rod
        if pins is not None and pins.radius_mm - pins.across_mm / 2 <= bore.outer_radius_mm:
            least = plain(bore.outer_radius_mm + pins.across_mm / 2, 3)
            what = f"must be over {least} mm (the bore and half a pin), got {plain(pins.radius_mm)} mm"
            yield "pins.radius_mm", what
        if rod is not None and rod.across_mm > bore.across_mm:
            most, told = plain(bore.across_mm), plain(rod.across_mm)
            yield "rod.across_mm", f"must be at most the bore's {most} mm, got {told} mm"
        if rod is not None and rod.thread is not None and rod.shape_in(bore) != "round":
            yield "rod.shape", f'must be "round" for a thread, got "{rod.shape_in(bore)}"'

    def _dogs_contradictions(self) -> Iterator[Contradiction]:
        if self.dogs is None:
            if self.keying == "chain" and self.joint_play_deg is None:
                yield "keying", '"chain" needs dogs, or joint_play_deg'
            return
        bore = self.bore.outer_radius_mm
        if self.dogs.radius_mm <= bore:
            what = f"must be over the bore's {plain(bore, 3)} mm, got {plain(self.dogs.radius_mm)} mm"
            yield "dogs.radius_mm", what
        around, needed = math.tau * self.dogs.radius_mm, self.dogs.count * self.dogs.width_mm
        if needed >= around:
            count, width = self.dogs.count, plain(self.dogs.width_mm)
            yield "dogs.width_mm", f"{count} of {width} mm do not fit on a circle of {plain(around, 1)} mm"

    @property
    def pocket_clearance_mm(self) -> float:
        """By how much the pockets of the dogs are wider than the dogs, to each side, mm."""
        if self.dogs is None or self.dogs.clearance_mm is None:
            return self.fit_clearance_mm
        return self.dogs.clearance_mm

    @property
    def is_chain(self) -> bool:
        """Whether each disc is turned by the part before it, so that plays add up; pins turn them all."""
        return self.keying == "chain" and self.pins is None

    @property
    def label(self) -> str:
        """The stack as people read it."""
        return self.name or self.id
