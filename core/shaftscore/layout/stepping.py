"""Intermittent stages in the machine: where driver and wheel are, and whether they can be made.

Both are at the driven end of the driven stack, level with one another, beyond its discs and followers and
those of the driving stack. The *driver* is on the end of the driving stack, above spacers where followers
need the room; the *wheel* is level with it, on a collar of its own. What turns a disc turns these parts: a
shaped bore, or at the top the dogs.

Each has two layers with a gap of `RUN_MM` between them. Towards the stacks is that of the driver's plate with
its pin, or of its counted teeth; a wheel with teeth is there too. Away from them are the locking disc and the
Geneva wheel, or the locking plate of a wheel with teeth.

Outward is away from the stacks: up at the top, down at the bottom. Heights are from the bottom of the driving
stack. Angles are in plan view, seen from the top, at 0° of the master shaft.
"""

from __future__ import annotations

import cmath
import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import ClassVar

from shaftscore.base.wording import degrees, millimetres, plain
from shaftscore.built.counted import CORNER_RAD, LEAST_HORN_MM, LEAST_RATIO, CountedShape, counted_shape
from shaftscore.built.geneva import GenevaShape
from shaftscore.layout.coupled import clearest_deg, hub_wheels
from shaftscore.layout.drive import WALL_MM
from shaftscore.layout.gears import LEAST_TEETH, backlash_for_mm
from shaftscore.layout.hub import raised_mm
from shaftscore.model import CountedSteps, GenevaSteps, Project, Stack
from shaftscore.stack import pocket_depth, stack_plan
from shaftscore.stack.followers import follower_heights
from shaftscore.stack.walls import holes_reach_mm

RUN_MM = 0.5
"""Gap between the two layers of driver and wheel, and of both from what else moves."""

ROD_GAP_MM = 0.3
"""Least distance of the wheel's tips from the rod of the driving stack."""

MEETING_DEG = 10.0
"""Least turn of the driver in which its locking disc covers both corners of an arc."""


@dataclass(frozen=True)
class StepStage:
    """An intermittent stage in the machine.

    offset: from the driving axis to the driven one, mm. outward: +1 at the top, else -1. spacers: of the
    driving stack under the driver. driver_mm: height of the driver's face towards its stack. wheel_mm: of the
    wheel's outer face. collar_mm: how high the wheel's collar is. number: from 1, of all stages. name,
    wheel_name: what stage and wheel are called. farther: what brings its axes farther apart.
    """

    number: int
    driving: Stack
    driven: Stack
    steps: GenevaSteps | CountedSteps
    shape: GenevaShape | CountedShape
    offset: complex
    outward: int
    spacers: int
    driver_mm: float
    wheel_mm: float
    collar_mm: float
    name: ClassVar[str]
    wheel_name: ClassVar[str]
    farther: ClassVar[str]

    @property
    def is_up(self) -> bool:
        """Whether it is at the top."""
        return self.outward > 0

    @property
    def plate_mm(self) -> float:
        """Radius of the driver, mm."""
        return self.shape.plate_mm

    @property
    def driver_high_mm(self) -> float:
        """Height of the driver: plate or teeth, gap and locking disc, mm."""
        return 2 * self.steps.thickness_mm + RUN_MM

    @property
    def wheel_thick_mm(self) -> float:
        """Height of the wheel without its collar, mm."""
        return self.steps.thickness_mm

    @property
    def wheel_high_mm(self) -> float:
        """Height of the wheel with its collar, mm."""
        return self.wheel_thick_mm + self.collar_mm

    @property
    def collar_radius_mm(self) -> float:
        """Radius of the wheel's collar, mm."""
        return max(self.driven.spacer_radius_mm, holes_reach_mm(self.driven) + WALL_MM)

    @property
    def toward_rad(self) -> float:
        """Direction from the driving axis to the driven one, radians."""
        return cmath.phase(self.offset)


@dataclass(frozen=True)
class GenevaStepStage(StepStage):
    """A Geneva stage in the machine: the pin and the locking disc stand on the driver's plate."""

    steps: GenevaSteps
    shape: GenevaShape
    name: ClassVar[str] = "Geneva stage"
    wheel_name: ClassVar[str] = "Geneva wheel"
    farther: ClassVar[str] = "a larger centre distance"

    @property
    def is_open(self) -> bool:
        """Whether the relief of the locking disc is open to the rod: no wall is left about the bore."""
        return self.shape.core_mm < holes_reach_mm(self.driving) + WALL_MM

    def pin_rad(self, sign: int) -> float:
        """Return the direction of the pin at 0°, radians; sign: of the driving stack's turn."""
        return self.toward_rad - sign * (self.shape.half_moving_rad + math.radians(self.steps.start_deg))


@dataclass(frozen=True)
class CountedStepStage(StepStage):
    """A stage with counted teeth in the machine: the wheel has teeth and a locking plate."""

    steps: CountedSteps
    shape: CountedShape
    name: ClassVar[str] = "stage with counted teeth"
    wheel_name: ClassVar[str] = "stepped wheel"
    farther: ClassVar[str] = "more teeth or a larger module"

    @property
    def wheel_thick_mm(self) -> float:
        """Height of locking plate, gap and teeth, mm."""
        return self.driver_high_mm


def step_stages(project: Project) -> tuple[StepStage, ...]:
    """Return the stages of a project. Raises ValueError where one cannot be made, and says why."""
    found = (stack for stack in project.stacks if stack.steps_from is not None)
    return tuple(step_stage(project, stack, number) for number, stack in enumerate(found, start=1))


def step_stage(project: Project, stack: Stack, number: int) -> StepStage:
    """Return the stage that steps a stack; raises ValueError where it cannot be made, and says why."""
    try:
        made = _stage(project, stack, number)
        for problem in _problems(made):
            raise ValueError(problem)
    except ValueError as error:
        raise ValueError(f"{stack.label}: {error}") from error
    return made


def _stage(project: Project, stack: Stack, number: int) -> StepStage:
    """Lay out a stage; raises ValueError where its parts have no place."""
    steps = stack.steps_from
    assert steps is not None, "a stage steps the stack"
    driving = driving_stack(project, stack)
    outward = 1 if stack.driven_end == "top" else -1
    spacers, driver, wheel = _heights(project, driving, stack, steps)
    own = outward * (raised_mm(project, stack) - raised_mm(project, driving)) + _end_mm(
        project, stack, outward
    )
    direction = math.radians(_directions_deg(project)[stack.id])
    heights = outward, spacers, outward * driver, outward * wheel
    if isinstance(steps, GenevaSteps):
        if steps.inner:
            raise ValueError(
                "an inner wheel turns about the end of the driving shaft, which goes on to its bearing; "
                "an external wheel is required"
            )
        sizes = steps.centre_distance_mm, steps.pin_diameter_mm, steps.slot_clearance_mm
        shape = GenevaShape(steps.slots, *sizes)
        offset, collar = cmath.rect(shape.centre_mm, direction), wheel - steps.thickness_mm - own
        return GenevaStepStage(number, driving, stack, steps, shape, offset, *heights, collar)
    counted = counted_shape_of(project, stack)
    offset, collar = cmath.rect(counted.centre_mm, direction), driver - own
    return CountedStepStage(number, driving, stack, steps, counted, offset, *heights, collar)


def counted_shape_of(project: Project, stack: Stack) -> CountedShape:
    """Return the shape of the counted teeth that step a stack; raises ValueError where they cannot mesh.

    The backlash is that of wheels of the drive: each may sit off its axis by the clearance of its bore.
    """
    steps = stack.steps_from
    assert isinstance(steps, CountedSteps), "counted teeth step the stack"
    driving, teeth = driving_stack(project, stack), (steps.teeth, steps.driven_teeth)
    if min(teeth) < LEAST_TEETH:
        raise ValueError(f"a wheel of {min(teeth)} teeth is not made; at least {LEAST_TEETH} required")
    backlash = backlash_for_mm(max(driving.fit_clearance_mm, stack.fit_clearance_mm))
    core = holes_reach_mm(driving) + WALL_MM
    return counted_shape(teeth, steps.counted, steps.module_mm, backlash, core)


def _heights(
    project: Project, driving: Stack, driven: Stack, steps: GenevaSteps | CountedSteps
) -> tuple[int, float, float]:
    """Return the spacers under the driver, and how far outward its inner face and the wheel's outer one are.

    Raises ValueError where the driver has no room and there are no spacers to give it.
    """
    outward = 1 if driven.driven_end == "top" else -1
    apart = outward * (raised_mm(project, driven) - raised_mm(project, driving))
    end = _end_mm(project, driving, outward)
    needed = max(
        end,
        _followers_mm(project, driving, outward) + RUN_MM,
        _followers_mm(project, driven, outward) + apart + RUN_MM,
        _end_mm(project, driven, outward) + apart,
    )
    spacers = 0
    if needed > end + 1e-9:
        if driving.spacer_mm <= 0:
            told = f"followers and discs reach {millimetres(needed - end)} beyond the end of {driving.label}"
            raise ValueError(f"{told}, where its driver is; spacers on that stack are required")
        spacers = math.ceil((needed - end) / driving.spacer_mm - 1e-9)
    driver = end + spacers * driving.spacer_mm
    return spacers, driver, driver + 2 * steps.thickness_mm + RUN_MM


def _end_mm(project: Project, stack: Stack, outward: int) -> float:
    """Return how far outward the end of a stack is from its bottom, mm."""
    return stack_plan(project, stack).height_mm if outward > 0 else 0.0


def _followers_mm(project: Project, stack: Stack, outward: int) -> float:
    """Return how far outward the followers of a stack reach from its bottom, mm; its end without any."""
    plan, far = stack_plan(project, stack), [_end_mm(project, stack, outward) - RUN_MM]
    discs = {layer.lane_id: layer for layer in plan.discs}
    for lane in project.lanes:
        layer = discs.get(lane.disc_of or lane.id)
        if layer is not None and project.stack_of(lane) is stack:
            heights = follower_heights(project, stack, lane, layer)
            far.append(heights.top_mm if outward > 0 else -heights.bottom_mm)
    return max(far)


def _directions_deg(project: Project) -> dict[str, float]:
    """Return the direction in which each stack is from the one that steps it, degrees, by the stack's id.

    A stack that steps another one comes before it. Raises ValueError where a wheel on a hub cannot be made.
    """
    left = [stack for stack in project.stacks if stack.steps_from is not None]
    found: dict[str, float] = {}
    while left:
        waiting = {stack.id for stack in left}
        ready = [one for one in left if one.steps_from is not None and one.steps_from.stack not in waiting]
        for stack in ready:
            found[stack.id] = _direction_deg(project, stack, found)
        left = [one for one in left if one not in ready]
    return found


def _direction_deg(project: Project, stack: Stack, found: Mapping[str, float]) -> float:
    """Return the direction in which a stack is from the one that steps it; found: those of stages before."""
    driving = driving_stack(project, stack)
    taken = [lane.station_deg for lane in project.lanes if project.stack_of(lane) is driving]
    taken += [lane.station_deg + 180 for lane in project.lanes if project.stack_of(lane) is stack]
    wheel = hub_wheels(project).get(driving.id)
    if wheel is not None:
        taken += [math.degrees(angle) for angle in (*wheel.gaps_rad, wheel.tooth_rad) if angle is not None]
    if driving.id in found:
        taken.append(found[driving.id] + 180)
    taken += [found[one.id] for one in project.stacks if one.id in found and _is_stepped_by(one, driving)]
    return clearest_deg(frozenset(taken))


def _is_stepped_by(stack: Stack, driving: Stack) -> bool:
    return stack.steps_from is not None and stack.steps_from.stack == driving.id


def driving_stack(project: Project, stack: Stack) -> Stack:
    """Return the stack whose stage steps another one."""
    assert stack.steps_from is not None, "a stage steps the stack"
    wanted = stack.steps_from.stack
    return next(one for one in project.stacks if one.id == wanted)


def _problems(made: StepStage) -> Iterator[str]:
    """Yield why the parts of a stage cannot be made or put in."""
    yield from _without_key(made)
    yield from _at_taken_ends(made)
    yield from _floors(made)
    if isinstance(made, GenevaStepStage):
        yield from _thin(made)
        yield from _geneva_room(made)
    elif isinstance(made, CountedStepStage):
        yield from _counted_room(made)


def _geneva_room(made: GenevaStepStage) -> Iterator[str]:
    """Yield a rod or a collar in the way of a Geneva stage."""
    shape, driving = made.shape, made.driving
    rod = driving.bore.outer_radius_mm
    room = shape.centre_mm - shape.wheel_mm
    if room < rod + ROD_GAP_MM:
        least = (rod + ROD_GAP_MM) / (1 - math.cos(shape.half_slot_rad))
        told = f"the tips of its wheel pass {millimetres(room)} from the axis of {driving.label}"
        what = f"{told}, whose rod has a radius of {millimetres(rod)}"
        yield f"{what}; a centre distance of {millimetres(math.ceil(least))} or a thinner rod is required"
    apart = shape.centre_mm - made.plate_mm - made.collar_radius_mm
    if apart < RUN_MM:
        yield f"the plate of its driver is {millimetres(RUN_MM - apart)} too near the collar of its wheel"


def _counted_room(made: CountedStepStage) -> Iterator[str]:
    """Yield a lock that has no room or does not hold, and teeth that do not hand over."""
    shape, steps = made.shape, made.steps
    bore, least = shape.lock_mm, holes_reach_mm(made.driving) + WALL_MM
    if bore < least:
        told = f"its locking disc would have a radius of {millimetres(bore)}"
        yield f"{told}; {millimetres(least)} required: more teeth of the driver or a larger module"
    wheel = shape.pair.wheel.root_mm - holes_reach_mm(made.driven)
    if wheel < WALL_MM:
        told = f"between the bore of its wheel and its teeth {millimetres(max(wheel, 0.0))} are left"
        yield f"{told}; at least {millimetres(WALL_MM)} required"
    if not shape.has_lock:
        horns = millimetres(LEAST_HORN_MM)
        told = f"its locking plate has no room for {shape.arcs} arcs that hold it, with horns of {horns}"
        yield f"{told}: more counted teeth or a larger module is required"
        return
    rests, needed = 360.0 * (1 - steps.counted / steps.teeth), 2 * math.degrees(CORNER_RAD) + MEETING_DEG
    if rests < needed:
        told = f"its driver lets the wheel rest over {degrees(rests)} of a turn"
        yield f"{told}; {degrees(needed)} required for the lock: fewer counted teeth"
    ratio = shape.pair.contact_ratio
    if ratio < LEAST_RATIO:
        told = f"the contact ratio of its teeth would be {plain(ratio, 2)}"
        yield f"{told}; {plain(LEAST_RATIO, 2)} required: more teeth on both wheels or a larger module"


def _floors(made: StepStage) -> Iterator[str]:
    """Yield floors that are too thin."""
    for stack, what in ((made.driving, "driver"), (made.driven, "wheel")):
        thick = made.steps.thickness_mm if what == "driver" else made.wheel_high_mm
        floor = thick - pocket_depth(stack) if made.is_up else thick
        if floor < WALL_MM:
            where = f"over the pockets of its {what}" if floor < thick else f"of the thickness of its {what}"
            yield f"{where} {millimetres(floor)} are left; {millimetres(WALL_MM)} required"


def _without_key(made: StepStage) -> Iterator[str]:
    for stack, what in ((made.driving, "driver"), (made.driven, "wheel")):
        if stack.bore.shape == "round" and (stack.dogs is None or not made.is_up):
            told = f"nothing turns its {what} on a round rod" + ("" if made.is_up else " at the bottom")
            yield f"{told}; a shaped bore of {stack.label} is required"


def _at_taken_ends(made: StepStage) -> Iterator[str]:
    """Yield hubs that are where the parts of a stage should be."""
    end = made.driven.driven_end
    for stack, what in ((made.driving, "driver"), (made.driven, "wheel")):
        if stack.hub is not None and stack.driven_end == end:
            yield f"its {what} is at the {end} of {stack.label}, where that has its hub; one of them must go"
    own = made.driving.steps_from
    if own is not None and made.driving.driven_end == end:
        yield f"its driver is at the {end} of {made.driving.label}, where that has its own wheel"


def _thin(made: GenevaStepStage) -> Iterator[str]:
    """Yield walls of a Geneva stage that are too thin, and a locking disc that has no room."""
    shape = made.shape
    bore = holes_reach_mm(made.driving)
    if shape.lock_mm < bore + WALL_MM:
        told = f"its locking disc would have a radius of {millimetres(max(shape.lock_mm, 0.0))}"
        least = millimetres(bore + WALL_MM)
        yield f"{told}; {least} required to hold the wheel: a larger centre distance or a thinner pin"
        return
    reach = holes_reach_mm(made.driven)
    for what, at in (("slots", shape.bottom_mm), ("concave arcs", shape.neck_mm)):
        if at - reach < WALL_MM:
            told = f"between the bore of its wheel and its {what} {millimetres(at - reach)} are left"
            yield f"{told}; at least {millimetres(WALL_MM)} required"
