"""The drive train in the machine: axes, heights and turns of its wheels.

The train is followed from the master shaft back to the source, as far as its stages are spur stages with a
module. The *driven wheel* of the last stage is the rim of the first stack's hub; that of an earlier stage
is one part with the pinion of the stage after it, on an axle of its own. Which way a pinion is from the
wheel it drives: towards the motor, where the frame says its place, else into the widest gap between the
stations of the followers.

All marks line up at 0°: the marked tooth of each pinion points along the line of centres into the marked gap
of the wheel it drives. Own frames: of a pinion, marked tooth at +x; of the hub, zero mark at +x.
"""

from __future__ import annotations

import cmath
import math
from dataclasses import dataclass
from itertools import pairwise

from shaftscore.base.angles import wrap
from shaftscore.base.once import once
from shaftscore.layout.gears import SpurStage, gap_turn, is_made, spur_stage
from shaftscore.model import Project
from shaftscore.stack import turn_sign

PLACE_MM = 0.1
"""A motor's place may be this far off what the centre distances give."""

WALL_MM = 1.2
"""Least material between a bore and the root of a wheel, mm: three lines (common practice, no source)."""

AXLE_MM = 4.0
"""Diameter of the axle of an intermediate wheel (common practice, no source)."""


@dataclass(frozen=True)
class PlacedStage:
    """A stage of the train in the machine.

    driver_at, driven_at: its axes in plan view, mm. driver_ratio: turns of the driver in one of the master
    shaft, positive counterclockwise seen from the top. driver_deg, driven_deg: turn of the parts at 0°,
    counterclockwise.
    """

    spur: SpurStage
    driver_at: complex
    driven_at: complex
    driver_ratio: float
    driver_deg: float
    driven_deg: float

    @property
    def towards(self) -> complex:
        """Direction from the driven axis to the driver's, of length 1."""
        return _way(self.driver_at - self.driven_at)

    def gap_rad(self, *, upside_down: bool) -> float:
        """Return the angle of the marked gap in the driven part's own frame, radians."""
        seen = cmath.phase(self.towards) - math.radians(self.driven_deg)
        return -seen if upside_down else seen

    def outline_turn(self, *, upside_down: bool) -> float:
        """Return by how much the driven wheel's outline is turned in its own frame, radians."""
        return gap_turn(self.spur, self.gap_rad(upside_down=upside_down))


def placed_stages(project: Project) -> tuple[PlacedStage, ...]:
    """Return the stages that are made, last one first, from the master shaft back to the source.

    Stages before a belt, chain, bevel, worm or one without a module have no place and are left out. Raises
    ValueError where a stage cannot be made, or wheels would run into a shaft.
    """
    return once(project, "placed stages", lambda: _placed_stages(project))


def _placed_stages(project: Project) -> tuple[PlacedStage, ...]:
    spurs = _spurs(project)
    if not spurs:
        return ()
    axes = _axes(project, [spur.pair.centre_mm for spur in spurs])
    placed: list[PlacedStage] = []
    ratio, turned = float(turn_sign(project, project.stacks[0])), 0.0
    for spur, (driven_at, driver_at) in zip(spurs, pairwise(axes), strict=True):
        sign = 1 if spur.is_internal else -1
        ratio *= sign * spur.pair.wheel.teeth / spur.pair.pinion.teeth
        tooth = math.degrees(cmath.phase(sign * (driver_at - driven_at)))
        placed.append(PlacedStage(spur, driver_at, driven_at, ratio, tooth, turned))
        turned = tooth
    _refuse_meeting(project, placed)
    return tuple(placed)


def _spurs(project: Project) -> list[SpurStage]:
    """Return the stages that can be placed, from the last one back."""
    stages = () if project.drive is None else project.drive.stages
    motor = motor_at(project) if len(stages) == 1 else None
    centre_mm = None if motor is None else abs(motor)
    found: list[SpurStage] = []
    for number in range(len(stages), 0, -1):
        if not is_made(stages[number - 1]):
            break
        found.append(spur_stage(project, number, centre_mm))
    return found


def motor_at(project: Project) -> complex | None:
    """Return where the frame puts the motor's shaft in plan view, mm; None where it does not."""
    motor = None if project.frame is None else project.frame.motor
    return None if motor is None else complex(motor.x_mm, motor.y_mm)


def _axes(project: Project, centres_mm: list[float]) -> list[complex]:
    """Return the axes from the master shaft's back, at 0, mm; raises ValueError where they miss the motor."""
    motor = motor_at(project)
    whole = len(centres_mm) == len(project.drive.stages) if project.drive is not None else False
    if motor is None or not whole:
        way = cmath.exp(1j * math.radians(free_direction_deg(project)))
        axes = [0j]
        for centre in centres_mm:
            axes.append(axes[-1] + way * centre)
        return axes
    return _reaching(centres_mm, motor)


def _reaching(centres_mm: list[float], motor: complex) -> list[complex]:
    """Return axes from 0 to the motor: straight towards it, the last two links at an angle."""
    axes, left = [0j], list(centres_mm)
    while len(left) > 2:
        axes.append(axes[-1] + left.pop(0) * _way(motor - axes[-1]))
    apart = motor - axes[-1]
    reach = sum(left)
    if len(left) == 1:
        if abs(abs(apart) - reach) > PLACE_MM:
            what = f"the motor is {abs(apart):.1f} mm from the axis that it drives"
            raise ValueError(f"{what}; its stage needs {reach:.1f} mm")
        return [*axes, axes[-1] + reach * _way(apart)]
    first, second = left
    if not abs(first - second) <= abs(apart) <= reach:
        between = f"{abs(first - second):.1f} to {reach:.1f} mm"
        raise ValueError(f"the motor is {abs(apart):.1f} mm from an axis; two stages reach {between}")
    along = (abs(apart) ** 2 + first**2 - second**2) / (2 * abs(apart)) if abs(apart) > 0 else 0.0
    aside = math.sqrt(max(first**2 - along**2, 0.0))
    return [*axes, axes[-1] + (along + 1j * aside) * _way(apart), motor]


def _way(apart: complex) -> complex:
    """Return the direction of a distance, of length 1; along +x for none, where any direction does."""
    return apart / abs(apart) if abs(apart) > 0 else 1 + 0j


def free_direction_deg(project: Project) -> float:
    """Return the middle of the widest gap between the stations of the first stack's followers, degrees."""
    stack = project.stacks[0]
    own = [lane for lane in project.lanes if project.stack_of(lane) is stack]
    stations = sorted({wrap(lane.station_deg) for lane in own})
    if not stations:
        return 180.0
    ends = [*stations[1:], stations[0] + 360.0]
    start, end = max(zip(stations, ends, strict=True), key=lambda gap: round(gap[1] - gap[0], 6))
    return wrap((start + end) / 2)


def _refuse_meeting(project: Project, placed: list[PlacedStage]) -> None:
    """Raise ValueError where the wheel of a stage would run into the shaft of the stage after it."""
    shaft = project.stacks[0].bore.outer_radius_mm
    for after, before in pairwise(placed):
        wheel = before.spur.pair.wheel
        reach = wheel.reference_mm + 3 * wheel.module_mm if wheel.internal else wheel.tip_mm
        room = after.spur.pair.centre_mm - shaft
        if reach > room:
            what = (
                f"the wheel of stage {before.spur.number}, radius {reach:.1f} mm, meets the shaft of the next"
            )
            raise ValueError(f"{what}; at most {room:.1f} mm required")
        shaft = AXLE_MM / 2
