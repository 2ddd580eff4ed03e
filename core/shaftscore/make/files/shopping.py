"""What has to be bought for a machine, as rows of the parts list: rods, nuts, bearings, springs, pins.

Lengths of rods follow from the frame where there is one; without it a rod is at least as long as its stack
and its bearings need. Threads are clamped with a nut and a washer at each end, other rods with collars.
"""

from __future__ import annotations

import math
from collections.abc import Iterator

from shaftscore.base.wording import newton_metres, plain, rpm
from shaftscore.built.fasteners import fastener
from shaftscore.layout.crank import HANDLE_MM, crank_of
from shaftscore.layout.followers import FollowerLayoutError, machine_follower
from shaftscore.layout.frame_heights import bearing_of, round_mm
from shaftscore.layout.frame_plan import SPRING_ROD_MM, FramePlan, FrameShaft
from shaftscore.layout.pivots import lever_seats
from shaftscore.layout.purchases import follower_purchases
from shaftscore.layout.stacks import stages_of, step_codes
from shaftscore.layout.stepping import GenevaStepStage
from shaftscore.model import Bore, Hub, Lane, MotorSource, Pins, Project, Rod, Stack
from shaftscore.solution import Solution
from shaftscore.stack import stack_plan

OVER_MM = 10.0
"""A shaft is at least this much longer than its stack, or than the bearings' middles are apart, mm."""

Row = tuple[str, ...]


def bought(solution: Solution, frame: FramePlan | None) -> Iterator[Row]:
    """Yield the rows of what is bought beside the rollers: stack by stack, for the frame, for followers."""
    project = solution.project
    for stack in project.stacks:
        yield from _of_stack(project, stack, _shaft_in(frame, stack))
    yield from _stage_pins(project)
    yield from _motor(project)
    if frame is not None:
        yield from _of_frame(project, frame)
    yield from _of_followers(solution)
    yield from _springs(project)


def _of_followers(solution: Solution) -> Iterator[Row]:
    """Yield what is bought for the parts of followers; nothing for those that cannot be laid out."""
    seats = lever_seats(solution)
    for lane in solution.lanes.values():
        try:
            layout = machine_follower(solution, lane, seats)
        except FollowerLayoutError:  # whoever makes their parts says so
            continue
        for one in () if layout is None else follower_purchases(layout):
            stack = solution.project.stack_of(lane.lane).label
            names = (lane.lane.code or "", one.purpose, one.what, stack)
            yield (*names, str(one.count), one.size, "", "", "")


def _shaft_in(frame: FramePlan | None, stack: Stack) -> FrameShaft | None:
    if frame is None:
        return None
    return next((shaft for shaft in frame.shafts if shaft.stack is stack), None)


def _row(names: tuple[str, str, str], count: int, size: str, material: str = "") -> Row:
    """Return a row; names: of the part, what it is, and of its stack."""
    return ("", *names, str(count), size, material, "", "")


def _of_stack(project: Project, stack: Stack, shaft: FrameShaft | None) -> Iterator[Row]:
    yield _rod(project, stack, shaft)
    rod = stack.rod
    if rod is not None and rod.clamp_n is not None:
        yield from _clamps(stack, rod)
    if stack.hub is not None:
        yield from _hub(stack, stack.hub)
    if shaft is not None:
        yield from _bearings(stack)
    if stack.pins is not None:
        yield _pins(project, stack, stack.pins)


def _rod(project: Project, stack: Stack, shaft: FrameShaft | None) -> Row:
    rod, length = stack.rod, stack_plan(project, stack).height_mm + OVER_MM
    name, material = bore_text(stack.bore), ""
    if rod is not None:
        length += rod.below_mm + rod.above_mm
        name, material = rod_text(stack, rod), rod.material
    told = f"{length:g} mm or longer" if shaft is None else f"{shaft.rod_length_mm:g} mm long"
    return _row((f"shaft of {stack.label}", "shaft", stack.label), 1, f"{name}, {told}", material)


def _clamps(stack: Stack, rod: Rod) -> Iterator[Row]:
    """Yield what clamps a stack: nuts and washers on a thread, collars on any other rod."""
    part = f"clamp of {stack.label}"
    if rod.thread is not None:
        yield _row((part, "nut", stack.label), 2, f"{rod.thread}, ISO 4032")
        yield _row((part, "washer", stack.label), 2, f"{plain(rod.across_mm)} mm, ISO 7089")
        return
    yield _row((part, "clamp collar", stack.label), 2, f"for {rod_text(stack, rod)}")


def _hub(stack: Stack, hub: Hub) -> Iterator[Row]:
    """Yield the screws of a hub with their nuts: across its slit, on the shaft, or into the last disc."""
    part, thread = f"hub of {stack.label}", f"M{plain(hub.bolt_mm)}"
    count = hub.bolts if hub.kind == "bolted" else 1
    what = "set screw" if hub.kind == "set-screw" else "screw"
    yield _row((part, what, stack.label), count, thread)
    yield _row((part, "nut", stack.label), count, f"{thread}, ISO 4032")


def _bearings(stack: Stack) -> Iterator[Row]:
    """Yield the bearings of a shaft, and the sleeves that a rod needs which does not fill their bores."""
    bearing = bearing_of(stack)
    if bearing is None:
        return
    name, size = bearing
    told = f"{name}, {plain(size.bore_mm)} × {plain(size.outer_mm)} × {plain(size.width_mm)} mm"
    yield _row((f"bearings of {stack.label}", "ball bearing", stack.label), 2, told)
    rod = stack.rod
    assert rod is not None
    if rod.shape_in(stack.bore) != "round" or size.bore_mm > round_mm(stack):
        across = (
            f"{plain(size.bore_mm)} mm outside, {rod_text(stack, rod)} inside, {plain(size.width_mm)} mm long"
        )
        told = f"{across}, or the ends of the rod turned to fit"
        yield _row((f"bearings of {stack.label}", "bearing sleeve", stack.label), 2, told)


def _pins(project: Project, stack: Stack, pins: Pins) -> Row:
    length = stack_plan(project, stack).height_mm
    size = f"diameter {pins.across_mm:g} mm, {length:g} mm or longer"
    return _row((f"pins of {stack.label}", "pin", stack.label), pins.count, size)


def _stage_pins(project: Project) -> Iterator[Row]:
    """Yield the pins of the drivers of Geneva stages."""
    for stage in stages_of(project):
        if not isinstance(stage, GenevaStepStage):
            continue
        code, stack = step_codes(project, stage)[0], stage.driving.label
        size = f"diameter {plain(stage.shape.pin_mm, 2)} mm, {plain(stage.driver_high_mm, 2)} mm long"
        yield _row((f"pin of {code}", "rod", stack), 1, size, "steel")


def _motor(project: Project) -> Iterator[Row]:
    """Yield the motor by what its shaft must give, if one drives the machine."""
    source = None if project.drive is None else project.drive.source
    if isinstance(source, MotorSource):
        told = f"{rpm(source.rated_speed_rpm)} and {newton_metres(source.rated_torque_nm)} at its shaft"
        yield _row(("drive", "motor", ""), 1, told)


def _of_frame(project: Project, frame: FramePlan) -> Iterator[Row]:
    """Yield pillar rods with nuts and washers, rods of pivots, and screws of motor, feet and handle."""
    record, thread = frame.frame, f"M{plain(frame.frame.pillar_mm)}"
    count = record.pillars
    yield _row(("pillars", "threaded rod", ""), count, f"{thread}, {frame.pillar_rod_mm:g} mm long", "steel")
    yield _row(("pillars", "nut", ""), 2 * count, f"{thread}, ISO 4032")
    yield _row(("pillars", "washer", ""), 2 * count, f"{plain(record.pillar_mm)} mm, ISO 7089")
    yield from _pivots(frame)
    yield from _spring_rods(frame)
    motor = record.motor
    if motor is not None:
        least = math.ceil(record.plate_mm + motor.screw_mm)
        told = f"M{plain(motor.screw_mm)}, {least} mm or longer"
        yield _row(("motor", "screw", ""), motor.screws, told)
    if crank_of(project) is not None:
        yield _row(("crank", "handle", ""), 1, f"turning on a screw M{plain(HANDLE_MM)}, with nut and washer")


def _spring_rods(frame: FramePlan) -> Iterator[Row]:
    """Yield the threaded rods that springs hook on, with a nut on each side of both plates."""
    thread, count = f"M{plain(SPRING_ROD_MM)}", len(frame.springs)
    if not count:
        return
    through = frame.plates["top"][1] - frame.plates["bottom"][0] + 2 * (fastener(SPRING_ROD_MM).nut_mm + 2.0)
    yield _row(("springs", "threaded rod", ""), count, f"{thread}, {math.ceil(through)} mm long", "steel")
    yield _row(("springs", "nut", ""), 4 * count, f"{thread}, ISO 4032")


def _pivots(frame: FramePlan) -> Iterator[Row]:
    """Yield the rods on which levers turn, by diameter: from plate to plate."""
    through = math.ceil(frame.plates["top"][1] - frame.plates["bottom"][0])
    across = [hole.across_mm for hole in frame.holes if hole.purpose.startswith("pivot")]
    for one in sorted(set(across)):
        size = f"diameter {plain(one, 2)} mm, {through} mm long"
        yield _row(("pivots of levers", "rod", ""), across.count(one), size, "steel")


def _springs(project: Project) -> Iterator[Row]:
    for lane in project.lanes:
        load = lane.load
        if load is not None and load.spring is not None:
            yield _spring(project, lane)


def _spring(project: Project, lane: Lane) -> Row:
    assert lane.load is not None
    spring = lane.load.spring
    assert spring is not None
    sizes = (
        f"wire {plain(spring.wire_mm, 2)} mm, coil {plain(spring.coil_mm, 2)} mm mean, "
        f"{plain(spring.active_coils, 2)} active coils, {plain(spring.free_mm, 2)} mm free, "
        f"{plain(spring.installed_mm, 2)} mm installed"
    )
    stack = project.stack_of(lane).label
    part = f"spring of {lane.label}"
    return (lane.code or "", part, f"{spring.kind} spring", stack, "1", sizes, spring.material, "", "")


def rod_text(stack: Stack, rod: Rod) -> str:
    """Describe the rod that a stack is stated to have: its thread, or its shape, size and tolerance."""
    if rod.thread is not None:
        return f"threaded rod {rod.thread}"
    shape = rod.shape_in(stack.bore)
    flat = rod.flat_in(stack.bore) if shape == "d" else None
    own = Bore(shape=shape, across_mm=rod.across_mm, flat_mm=flat)
    return f"{bore_text(own)}, {rod.tolerance_in(stack.bore)}"


def bore_text(bore: Bore) -> str:
    """Describe which shaft goes through a bore."""
    flat = f", flat {bore.flat_mm:g} mm" if bore.flat_mm is not None else ""
    names = {
        "round": "diameter",
        "d": "D, diameter",
        "hex": "hexagon, across flats",
        "square": "square, across flats",
    }
    return f"{names[bore.shape]} {bore.across_mm:g} mm{flat}"
