"""What the printer's corrections leave of the walls of hubs, pinions and the frame.

A *wall* has two sides: a side of a hole moves into it by the hole correction, one of a contour away from it
by the contour correction. Less than `stack.walls.LEAST_MM` is nothing: such a part has no body.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from math import pi

from shaftscore.base.wording import millimetres
from shaftscore.built.counted import LEAST_HORN_MM
from shaftscore.built.gears import SpurWheel
from shaftscore.built.geneva import EDGE_MM
from shaftscore.layout.crank import WALL_MM as KNOB_WALL_MM
from shaftscore.layout.drive import WALL_MM
from shaftscore.layout.frame_plan import WALL_MM as PILLAR_WALL_MM
from shaftscore.layout.frame_plan import FramePlan
from shaftscore.layout.hub import SLIT_MM, HubPlan
from shaftscore.layout.stepping import CountedStepStage, GenevaStepStage, StepStage
from shaftscore.layout.train import PinionPlan
from shaftscore.model import Bore, Print, Project
from shaftscore.stack.walls import LEAST_MM, holes_reach_mm


@dataclass(frozen=True)
class PrintedWall:
    """A wall as drawn, mm, and how many of its sides are holes' and contours'.

    holes, contours: negative where the sides move the other way, as those of a gap do.
    """

    name: str
    thick_mm: float
    holes: float
    contours: float

    def left_mm(self, printer: Print) -> float:
        """Return what a printer's file leaves of it, mm."""
        return self.thick_mm - self.holes * printer.hole_mm + self.contours * printer.contour_mm


def refuse_gone(printer: Print, walls: Iterable[PrintedWall]) -> None:
    """Raise ValueError where nothing is left of a wall in a printer's file."""
    for wall in walls:
        left = wall.left_mm(printer)
        if left < LEAST_MM:
            told = f"the {wall.name} is {millimetres(left)} with the printer’s corrections"
            raise ValueError(f"{told}; the part cannot be made")


def hub_walls(plan: HubPlan) -> Iterator[PrintedWall]:
    """Yield the walls of a hub."""
    stack, gear = plan.stack, plan.gear
    reach, corner = holes_reach_mm(stack), _corner(stack.bore)
    yield PrintedWall("wall of its collar", plan.collar_mm - reach, corner, 1)
    if gear is not None:
        sides = (2.0, 0.0) if gear.wheel.internal else (0.0, -2.0)
        yield from wheel_walls(gear.wheel, *sides)
        if not gear.wheel.internal:
            yield PrintedWall("wall between its bore and its teeth", gear.wheel.root_mm - reach, corner, 1)
    if plan.hub.kind != "bolted":
        yield PrintedWall("wall about its screw", WALL_MM, 2, 1)
        yield PrintedWall("slit of its collar", SLIT_MM, -2, 0)
    if plan.bolts:
        yield PrintedWall("wall about its bolts", WALL_MM, 2, 0)
        yield PrintedWall("wall between its bolts and its edge", WALL_MM, 1, 1)


def wheel_walls(wheel: SpurWheel, holes: float, contours: float) -> Iterator[PrintedWall]:
    """Yield the widths of tips and gaps of the teeth of a wheel, mm.

    holes, contours: how many sides of a tooth of a ring are holes', of a gap of another wheel contours'.
    """
    outer, inner = (wheel.root_mm, wheel.tip_mm) if wheel.internal else (wheel.tip_mm, wheel.root_mm)
    tip, root = (inner, outer) if wheel.internal else (outer, max(inner, wheel.base_mm))
    pitch = 2 * pi / wheel.teeth
    yield PrintedWall("tip of its teeth", wheel.thickness_mm(tip), holes, -contours)
    yield PrintedWall("gap of its teeth", pitch * root - wheel.thickness_mm(root), -holes, contours)


def _corner(bore: Bore) -> float:
    """Return by how much the corners of a bore move for each mm of its sides."""
    return bore.outer_radius_mm / (bore.across_mm / 2)


def pinion_walls(project: Project, plan: PinionPlan) -> Iterator[PrintedWall]:
    """Yield the walls of a pinion, and of the wheel that is one part with it."""
    wheels = [plan.stage.spur.pair.pinion]
    if plan.wheel is not None:
        wheels.append(plan.wheel.spur.pair.wheel)
    bore = plan.across_mm / 2 + project.stacks[0].fit_clearance_mm
    for wheel in wheels:
        yield from wheel_walls(wheel, 0.0, -2.0)
        yield PrintedWall("wall between its bore and its teeth", wheel.root_mm - bore, 1, 1)
    yield PrintedWall("bore", 2 * bore, -2, 0)


def step_walls(stage: StepStage) -> Iterator[PrintedWall]:
    """Yield the walls of driver and wheel of an intermittent stage."""
    driving, driven = stage.driving, stage.driven
    if isinstance(stage, GenevaStepStage):
        yield from _geneva_walls(stage)
    elif isinstance(stage, CountedStepStage):
        yield from _counted_walls(stage)
    lock = stage.shape.lock_mm - holes_reach_mm(driving)
    yield PrintedWall("wall about the bore of its locking disc", lock, _corner(driving.bore), 1)
    if stage.collar_mm > 0:
        collar = stage.collar_radius_mm - holes_reach_mm(driven)
        yield PrintedWall("wall of its collar", collar, _corner(driven.bore), 1)


def _geneva_walls(stage: GenevaStepStage) -> Iterator[PrintedWall]:
    """Yield the walls of pin, slots and wheel of a Geneva stage."""
    shape, driven = stage.shape, stage.driven
    yield PrintedWall("lip of its slots", shape.lip_mm, 0, 2)
    yield PrintedWall("width of its slots", 2 * shape.half_wide_mm, 0, -2)
    yield PrintedWall("hole of its pin", shape.pin_mm, -2, 0)
    yield PrintedWall("wall about its pin", EDGE_MM, 1, 1)
    inner = min(shape.bottom_mm, shape.neck_mm) - holes_reach_mm(driven)
    yield PrintedWall("wall about the bore of its wheel", inner, _corner(driven.bore), 1)


def _counted_walls(stage: CountedStepStage) -> Iterator[PrintedWall]:
    """Yield the walls of teeth, horns and wheel of a stage with counted teeth."""
    pair, driven = stage.shape.pair, stage.driven
    for wheel in (pair.pinion, pair.wheel):
        yield from wheel_walls(wheel, 0.0, -2.0)
    yield PrintedWall("horns of its locking plate", LEAST_HORN_MM, 0, 2)
    inner = pair.wheel.root_mm - holes_reach_mm(driven)
    yield PrintedWall("wall about the bore of its wheel", inner, _corner(driven.bore), 1)


def frame_walls(plan: FramePlan) -> Iterator[PrintedWall]:
    """Yield the walls of plates, pillars and knob."""
    stack = plan.shafts[0].stack
    yield PrintedWall("wall of its pillars", PILLAR_WALL_MM, 1, 1)
    yield PrintedWall("wall about the bore of its knob", KNOB_WALL_MM, 1 + _corner(stack.bore), 1)
    for hole in plan.holes:
        across = hole.across_mm if hole.seat is None else hole.seat.through_mm
        yield PrintedWall(f"hole {hole.name} of its plates", across, -2, 0)
        edges = (hole.at - plan.low, plan.high - hole.at)
        room = min(min(edge.real, edge.imag) for edge in edges) - hole.reach_mm
        yield PrintedWall(f"wall between {hole.name} and the edge of its plates", room, 1, 1)
    for number, one in enumerate(plan.holes):
        for other in plan.holes[number + 1 :]:
            if set(one.plates) & set(other.plates):
                wall = abs(one.at - other.at) - one.reach_mm - other.reach_mm
                yield PrintedWall(f"wall between {one.name} and {other.name} of its plates", wall, 2, 0)
