"""What is bought for a follower that is made as parts: screws, washers, nuts, rods."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from shaftscore.base.wording import plain
from shaftscore.built.bearings import BEARINGS
from shaftscore.layout.bracket_feet import SCREW_MM
from shaftscore.layout.followers import FollowerLayout
from shaftscore.stack.followers import AXLE_MM, NUT_HIGH

SCREW_LENGTHS = (5, 6, 8, 10, 12, 16, 20, 25, 30, 35, 40, 45, 50, 55, 60, 65, 70, 80, 90, 100)
"""Lengths in which machine screws are sold, mm (ISO 4762, ISO 7380-1; from memory)."""

JOINT_MM = 3.0
"""Diameter of the screws that join links: M3."""

FOOT_SCREW = 16
"""Length of the screws that hold a foot of 4 mm to a plate of up to 8 mm, mm."""

ROD_ENDS_MM = 14.0
"""By which a pivot's rod is longer than from the frame's face to the lever's: plate and a ring, mm."""


@dataclass(frozen=True)
class BoughtPart:
    """Something to buy: what it is ("screw"), its size ("M4 x 16"), how many, and what it is for."""

    what: str
    size: str
    count: int
    purpose: str


def follower_purchases(layout: FollowerLayout) -> Iterator[BoughtPart]:
    """Yield what is bought for a follower's parts; the bearing itself is in its follower's record.

    A rod that several levers share is bought once, for the lowest of them.
    """
    name = layout.lane.label
    yield from _axle(layout, f"roller of {name}")
    feet = 1 if layout.guide is None else 2
    is_slide = layout.pivot is None
    if not is_slide:
        yield from _pivot(layout, feet)
    if layout.guide is not None:
        grip = 2 * layout.parts.thickness_mm + layout.lane.follower.washer_mm
        yield from _screw(JOINT_MM, grip, 2, f"links of {name}")
        yield BoughtPart("washer", f"for M{plain(JOINT_MM)}", 2, f"links of {name}")
    if layout.is_sleeve:
        return
    screws = feet * (4 if is_slide else 2)
    yield BoughtPart("screw", f"M{plain(SCREW_MM)} x {FOOT_SCREW}", screws, f"bracket of {name}")
    yield BoughtPart("lock nut", f"M{plain(SCREW_MM)}", screws, f"bracket of {name}")


def _pivot(layout: FollowerLayout, feet: int) -> Iterator[BoughtPart]:
    """Yield what a lever turns on; feet: of it and its guide link. The frame's list has rods through it."""
    purpose, rod = f"pivot of {layout.lane.label}", plain(layout.parts.pivot_rod_mm)
    yield BoughtPart("washer", f"for {rod} mm", 2 * feet, purpose)
    if layout.is_sleeve or layout.rod_in_frame:
        return
    long = layout.rod_top_mm - layout.floor_mm + ROD_ENDS_MM
    yield BoughtPart("rod", f"diameter {rod} mm, {plain(long, 0)} mm", feet, purpose)
    yield BoughtPart("shaft ring", f"for {rod} mm", 2 * feet, purpose)


def _axle(layout: FollowerLayout, purpose: str) -> Iterator[BoughtPart]:
    """Yield what the roller turns on: a screw as thick as its bearing's bore, else a pin."""
    follower = layout.lane.follower
    bearing = BEARINGS.get(getattr(follower, "bearing", None) or "")
    radius = getattr(follower, "roller_radius_mm", 0.0)
    if radius == 0:
        return
    bands, washer = layout.bands, follower.washer_mm
    if bearing is None or bands.screw is None:
        size = f"diameter {plain(min(AXLE_MM, radius))} mm"
        yield BoughtPart("pin", size, 1, purpose)
        return
    grip = bands.roller.width_mm + sum(lever.width_mm for lever in bands.levers) + 2 * washer
    yield from _screw(bearing.bore_mm, grip, 1, purpose)
    yield BoughtPart("washer", f"for M{plain(bearing.bore_mm)}, {plain(washer)} mm", 2, purpose)


def _screw(thread_mm: float, grip_mm: float, count: int, purpose: str) -> Iterator[BoughtPart]:
    """Yield a screw that reaches through what it holds and its nut, and the nut."""
    thread = f"M{plain(thread_mm)}"
    least = grip_mm + NUT_HIGH.get(thread_mm, thread_mm)
    length = next((one for one in SCREW_LENGTHS if one >= least), None)
    size = f"{thread}, {plain(least, 0)} mm or longer" if length is None else f"{thread} x {length}"
    yield BoughtPart("screw", size, count, purpose)
    yield BoughtPart("lock nut", thread, count, purpose)
