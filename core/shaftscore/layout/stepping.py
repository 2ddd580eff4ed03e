"""Geneva stages between stacks in the machine: where driver and wheel are, and whether they can be made.

Both are at the driven end of the driven stack, level with one another, beyond its discs and followers and
those of the driving stack. The *driver* is a plate on the end of the driving stack, above spacers where
followers need the room; the pin and the locking disc stand on it, away from the stack. The *wheel* is level
with them, on a collar of its own. What turns a disc turns these parts: a shaped bore, or at the top the dogs.

Outward is away from the stacks: up at the top, down at the bottom. Heights are from the bottom of the driving
stack. Angles are in plan view, seen from the top, at 0° of the master shaft.
"""

from __future__ import annotations

import cmath
import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from shaftscore.base.wording import millimetres
from shaftscore.built.geneva import GenevaShape
from shaftscore.layout.coupled import clearest_deg, hub_wheels
from shaftscore.layout.drive import WALL_MM
from shaftscore.layout.hub import raised_mm
from shaftscore.model import CountedSteps, GenevaSteps, Project, Stack
from shaftscore.stack import pocket_depth, stack_plan
from shaftscore.stack.followers import follower_heights
from shaftscore.stack.walls import holes_reach_mm

RUN_MM = 0.5
"""Gap between the plate of the driver and the wheel, and of both from what else moves."""

ROD_GAP_MM = 0.3
"""Least distance of the wheel's tips from the rod of the driving stack."""

EDGE_MM = 2.4
"""Material of the driver's plate outside the hole of the pin: six lines (common practice, no source)."""


@dataclass(frozen=True)
class StepStage:
    """A Geneva stage in the machine.

    offset: from the driving axis to the driven one, mm. outward: +1 at the top, else -1. spacers: of the
    driving stack under the driver. driver_mm: height of the driver's face towards its stack. wheel_mm: of the
    wheel's outer face. collar_mm: how high the wheel's collar is. number: from 1, of all such stages.
    """

    number: int
    driving: Stack
    driven: Stack
    steps: GenevaSteps
    shape: GenevaShape
    offset: complex
    outward: int
    spacers: int
    driver_mm: float
    wheel_mm: float
    collar_mm: float

    @property
    def is_up(self) -> bool:
        """Whether it is at the top."""
        return self.outward > 0

    @property
    def plate_mm(self) -> float:
        """Radius of the driver's plate, mm."""
        return max(self.shape.crank_mm + self.shape.pin_mm / 2 + EDGE_MM, self.shape.lock_mm)

    @property
    def driver_high_mm(self) -> float:
        """Height of the driver: plate, gap and locking disc, mm."""
        return 2 * self.steps.thickness_mm + RUN_MM

    @property
    def wheel_high_mm(self) -> float:
        """Height of the wheel with its collar, mm."""
        return self.steps.thickness_mm + self.collar_mm

    @property
    def collar_radius_mm(self) -> float:
        """Radius of the wheel's collar, mm."""
        return max(self.driven.spacer_radius_mm, holes_reach_mm(self.driven) + WALL_MM)

    @property
    def is_open(self) -> bool:
        """Whether the relief of the locking disc is open to the rod: no wall is left about the bore."""
        return self.shape.core_mm < holes_reach_mm(self.driving) + WALL_MM

    @property
    def toward_rad(self) -> float:
        """Direction from the driving axis to the driven one, radians."""
        return cmath.phase(self.offset)

    def pin_rad(self, sign: int) -> float:
        """Return the direction of the pin at 0°, radians; sign: of the driving stack's turn."""
        return self.toward_rad - sign * (self.shape.half_moving_rad + math.radians(self.steps.start_deg))


def step_stages(project: Project) -> tuple[StepStage, ...]:
    """Return the Geneva stages of a project. Raises ValueError where one cannot be made, and says why."""
    found = (stack for stack in project.stacks if isinstance(stack.steps_from, GenevaSteps))
    return tuple(step_stage(project, stack, number) for number, stack in enumerate(found, start=1))


def step_stage(project: Project, stack: Stack, number: int) -> StepStage:
    """Return the Geneva stage that steps a stack; raises ValueError where it cannot be made, and says why."""
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
    assert isinstance(steps, GenevaSteps), "a Geneva stage steps the stack"
    driving = driving_stack(project, stack)
    if steps.inner:
        raise ValueError(
            "an inner wheel turns about the end of the driving shaft, which goes on to its bearing; "
            "an external wheel is required"
        )
    shape = GenevaShape(steps.slots, steps.centre_distance_mm, steps.pin_diameter_mm, steps.slot_clearance_mm)
    outward = 1 if stack.driven_end == "top" else -1
    spacers, driver, wheel = _heights(project, driving, stack, steps)
    own = outward * (raised_mm(project, stack) - raised_mm(project, driving)) + _end_mm(
        project, stack, outward
    )
    offset = cmath.rect(steps.centre_distance_mm, math.radians(_directions_deg(project)[stack.id]))
    collar = wheel - steps.thickness_mm - own
    return StepStage(
        number,
        driving,
        stack,
        steps,
        shape,
        offset,
        outward,
        spacers,
        outward * driver,
        outward * wheel,
        collar,
    )


def _heights(project: Project, driving: Stack, driven: Stack, steps: GenevaSteps) -> tuple[int, float, float]:
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


def counted_offset(project: Project, stack: Stack) -> complex:
    """Return where a stack that a mutilated gear steps is from the driving one, mm: its parts are not made.

    The wheels touch at their reference circles. Raises ValueError where a wheel on a hub cannot be made.
    """
    steps = stack.steps_from
    assert isinstance(steps, CountedSteps), "a mutilated gear steps the stack"
    apart = steps.module_mm * (steps.teeth + steps.driven_teeth) / 2
    return cmath.rect(apart, math.radians(_directions_deg(project)[stack.id]))


def driving_stack(project: Project, stack: Stack) -> Stack:
    """Return the stack whose stage steps another one."""
    assert stack.steps_from is not None, "a stage steps the stack"
    wanted = stack.steps_from.stack
    return next(one for one in project.stacks if one.id == wanted)


def _problems(made: StepStage) -> Iterator[str]:
    """Yield why the parts of a stage cannot be made or put in."""
    yield from _without_key(made)
    yield from _at_taken_ends(made)
    yield from _thin(made)
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


def _thin(made: StepStage) -> Iterator[str]:
    """Yield walls that are too thin, and a locking disc that has no room."""
    shape = made.shape
    for stack, what in ((made.driving, "driver"), (made.driven, "wheel")):
        thick = made.steps.thickness_mm + (0.0 if what == "driver" else made.collar_mm)
        floor = thick - pocket_depth(stack) if made.is_up else thick
        if floor < WALL_MM:
            where = f"over the pockets of its {what}" if floor < thick else f"of the thickness of its {what}"
            yield f"{where} {millimetres(floor)} are left; {millimetres(WALL_MM)} required"
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
