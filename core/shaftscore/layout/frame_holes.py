"""The holes of the plates, each with its one name.

S is a shaft (S1, S2, … of several), M the motor's collar and M1, M2, … its screws, G the axle of a wheel,
F a pillar, H a rod that springs hook on; what is at a station has a letter and a number.
"""

from __future__ import annotations

import cmath
import math
from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from itertools import count, product

import numpy as np

from shaftscore.base.wording import millimetres, plain
from shaftscore.kinematics.followers import SwingingRollerModel
from shaftscore.layout.frame_heights import SEAT_FLOOR_MM, seat_depth_mm
from shaftscore.layout.frame_plan import (
    BOTH,
    SPRING_ROD_MM,
    BearingSeat,
    FootHole,
    FrameError,
    FrameHole,
    FrameShaft,
    PlateSide,
    SpringRod,
    screw_hole_mm,
)
from shaftscore.layout.pivots import lever_seats
from shaftscore.layout.reach import lanes_on
from shaftscore.model import MachineFrame
from shaftscore.solution import LaneSolution, Solution

SEAT_MM = 0.1
"""By which the seat of a bearing is larger than the bearing, in diameter (common practice, no source)."""

THROUGH_MM = 2.0
"""By which the hole for the rod under a seat is larger than the rod, in diameter."""

LETTERS = "PQRTUVWXYZABCDEJKLN"
"""Letters of stations, in order; S, F, M, G and H have their own meaning, I and O are read as numbers."""

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

    The rod of a lever goes through both plates, unless its way is barred; that of a guide link does not.
    """
    project = solution.project
    letters, seats = station_letters(), lever_seats(solution)
    through = {foot.lane_id for foot in feet if foot.through}
    through |= {lane_id for lane_id, seat in seats.items() if seat.is_shared}
    of_lanes: defaultdict[str, list[Place]] = defaultdict(list)
    for foot in feet:
        of_lanes[foot.lane_id].append((foot.at, screw_hole_mm(foot.screw_mm), foot.purpose, ("bottom",)))
    found: dict[tuple[str, float], list[Place]] = {}
    for stack in project.stacks:
        for lane in lanes_on(solution, stack):
            mine, own = found.setdefault((stack.id, lane.lane.station_deg), []), of_lanes[lane.lane.id]
            if not own or lane.lane.id in through:
                mine += _pivots(lane.lane.label, lane, axes.get(stack.id, 0j))
            mine += own
    for places in found.values():
        if places:
            yield from _named(next(letters), places)


def spring_holes(rods: Sequence[SpringRod]) -> Iterator[FrameHole]:
    """Yield the holes of the rods that springs hook on, in both plates."""
    for rod in rods:
        yield FrameHole(rod.name, rod.at, screw_hole_mm(SPRING_ROD_MM), rod.purpose, BOTH)


def station_letters() -> Iterator[str]:
    """Yield the letters of stations, without end; two or more of them where one is not enough."""
    for many in count(1):
        yield from map("".join, product(LETTERS, repeat=many))


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
    made: list[tuple[Place, list[str]]] = []
    for place in places:
        at, across, purpose, _ = place
        same = (said for (there, wide, *_), said in made if abs(there - at) < 0.01 and wide == across)
        purposes = next(same, None)
        if purposes is None:
            made.append((place, [purpose]))
        elif purpose not in purposes:
            purposes.append(purpose)
    for number, ((at, across, _, plates), purposes) in enumerate(made, start=1):
        yield FrameHole(f"{letter}{number}", at, across, ", ".join(purposes), plates)


def refuse_crossing(holes: Sequence[FrameHole]) -> None:
    """Raise FrameError where two holes of a plate run into one another."""
    at, reach = np.array([hole.at for hole in holes]), np.array([hole.reach_mm for hole in holes])
    for number, one in enumerate(holes):
        gaps = np.abs(at[number + 1 :] - one.at) - reach[number + 1 :] - one.reach_mm
        for place in np.flatnonzero(gaps <= 0):
            other = holes[number + 1 + int(place)]
            if set(one.plates) & set(other.plates):
                names = f"{one.name} ({one.purpose}) and {other.name} ({other.purpose})"
                raise FrameError(f"holes {names} run into one another by {millimetres(-float(gaps[place]))}")
