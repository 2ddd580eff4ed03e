"""The holes of the plates, each with its one name.

S is a shaft (S1, S2, … of several), M the motor's collar and M1, M2, … its screws, G the axle of a wheel,
F a pillar; what stands at a station has a letter and a number.
"""

from __future__ import annotations

import cmath
import math
from collections.abc import Iterator, Mapping, Sequence

from shaftscore.base.wording import millimetres, plain
from shaftscore.kinematics.followers import SwingingRollerModel
from shaftscore.layout.frame_heights import SEAT_FLOOR_MM, seat_depth_mm
from shaftscore.layout.frame_plan import (
    BOTH,
    BearingSeat,
    FootHole,
    FrameError,
    FrameHole,
    FrameShaft,
    PlateSide,
    screw_hole_mm,
)
from shaftscore.layout.pivots import lever_seats
from shaftscore.layout.sweeps import lanes_on
from shaftscore.model import MachineFrame
from shaftscore.solution import LaneSolution, Solution

SEAT_MM = 0.1
"""By which the seat of a bearing is larger than the bearing, in diameter (common practice, no source)."""

THROUGH_MM = 2.0
"""By which the hole for the rod under a seat is larger than the rod, in diameter."""

LETTERS = "PQRTUVWXYZABCDEHJKLN"
"""Letters of stations, in order; S, F, M and G have their own meaning, I and O are read as numbers."""

Place = tuple[complex, float, str, tuple[PlateSide, ...]]
"""Where a hole is, its diameter, mm, what it is for, and the plates that have it."""


def shaft_holes(shafts: Sequence[FrameShaft], frame: MachineFrame) -> Iterator[FrameHole]:
    """Yield the hole of each shaft, in both plates; raises FrameError where one has no room for a seat."""
    if frame.plate_mm <= SEAT_FLOOR_MM and any(shaft.bearing for shaft in shafts):
        raise FrameError(f"plates of {millimetres(frame.plate_mm)} have no room for a bearing's seat")
    for shaft in shafts:
        label = shaft.stack.label
        if shaft.bearing is None:
            across = round(shaft.round_mm + 2 * shaft.stack.fit_clearance_mm, 2)
            yield FrameHole(shaft.name, shaft.at, across, f"{label}, plain bearing", BOTH)
            continue
        name, size = shaft.bearing
        seat = BearingSeat(seat_depth_mm(frame, size), math.ceil(10 * (shaft.round_mm + THROUGH_MM)) / 10)
        sizes = " × ".join(plain(one) for one in (size.bore_mm, size.outer_mm, size.width_mm))
        purpose = (
            f"{label}, bearing {name} ({sizes}): seat {millimetres(seat.depth_mm)} deep from the inner face, "
            f"{millimetres(seat.through_mm)} through"
        )
        yield FrameHole(shaft.name, shaft.at, round(size.outer_mm + SEAT_MM, 2), purpose, BOTH, seat)


def motor_holes(frame: MachineFrame) -> Iterator[FrameHole]:
    """Yield the holes for the motor's collar and its screws."""
    motor = frame.motor
    if motor is None:
        return
    plates: tuple[PlateSide, ...] = ("bottom",) if motor.face == "below" else ("top",)
    at = complex(motor.x_mm, motor.y_mm)
    yield FrameHole("M", at, motor.pilot_mm, f"collar of the motor, {motor.face} the plate", plates)
    for number in range(motor.screws):
        way = cmath.rect(motor.screw_circle_mm / 2, math.tau * number / motor.screws)
        what = f"screw of the motor, M{plain(motor.screw_mm)}"
        yield FrameHole(f"M{number + 1}", at + way, screw_hole_mm(motor.screw_mm), what, plates)


def station_holes(
    solution: Solution, axes: Mapping[str, complex], feet: Sequence[FootHole]
) -> Iterator[FrameHole]:
    """Yield the holes for pivots and feet, station by station; one place is one hole.

    A rod goes through both plates unless a bracket holds it that one lever has for itself.
    """
    project = solution.project
    letters, seats = _letters(), lever_seats(solution)
    found: dict[tuple[str, float], list[Place]] = {}
    for stack in project.stacks:
        for lane in lanes_on(solution, stack):
            mine = found.setdefault((stack.id, lane.lane.station_deg), [])
            stands = any(foot.lane_id == lane.lane.id for foot in feet)
            seat = seats.get(lane.lane.id)
            if not stands or (seat is not None and seat.is_shared):
                mine += _pivots(lane.lane.label, lane, axes.get(stack.id, 0j))
            mine += [
                (foot.at, screw_hole_mm(foot.screw_mm), foot.purpose, ("bottom",))
                for foot in feet
                if foot.lane_id == lane.lane.id
            ]
    for places in found.values():
        if places:
            yield from _named(next(letters), places)


def _letters() -> Iterator[str]:
    """Yield the letters of stations; pairs of them where one is not enough."""
    yield from LETTERS
    yield from (first + second for first in LETTERS for second in LETTERS)


def _pivots(label: str, lane: LaneSolution, axis: complex) -> Iterator[Place]:
    """Yield the pivot of a lever whose rod goes through both plates."""
    assert lane.profile is not None
    model = lane.profile.model
    if not isinstance(model, SwingingRollerModel):
        return
    at = axis + model.pivot * cmath.exp(1j * math.radians(lane.lane.station_deg))
    yield at, lane.lane.pivot_rod_mm, f"pivot of {label}", BOTH


def _named(letter: str, places: Sequence[Place]) -> Iterator[FrameHole]:
    """Yield holes named with a letter and a number; what is at one place becomes one hole."""
    made: list[FrameHole] = []
    for at, across, purpose, plates in places:
        same = next((one for one in made if abs(one.at - at) < 0.01 and one.across_mm == across), None)
        if same is None:
            made.append(FrameHole(f"{letter}{len(made) + 1}", at, across, purpose, plates))
        elif purpose not in same.purpose:
            made[made.index(same)] = FrameHole(
                same.name, same.at, same.across_mm, f"{same.purpose}, {purpose}", same.plates
            )
    yield from made


def refuse_crossing(holes: Sequence[FrameHole]) -> None:
    """Raise FrameError where two holes of a plate run into one another."""
    for number, one in enumerate(holes):
        for other in holes[number + 1 :]:
            gap = abs(one.at - other.at) - one.reach_mm - other.reach_mm
            if set(one.plates) & set(other.plates) and gap <= 0:
                names = f"{one.name} ({one.purpose}) and {other.name} ({other.purpose})"
                raise FrameError(f"holes {names} run into one another by {millimetres(-gap)}")
