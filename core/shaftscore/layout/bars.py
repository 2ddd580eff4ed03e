"""Flat bars: holes on a line with walls about them, and what keeps one from being made.

Walls are measured twice, as drawn and as a printer's file holds them, as those of discs are
(`shaftscore.stack.walls`): drawn they have the least thickness that lasts, printed there is any of them.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

from shaftscore.base.tolerance import CURE_MM
from shaftscore.base.wording import millimetres, up_to
from shaftscore.layout.followers import WALL_MM, FollowerLayoutError
from shaftscore.model import Print
from shaftscore.stack import BulgePath, mark_depth
from shaftscore.stack.followers import TURNING_MM
from shaftscore.stack.paths import circle
from shaftscore.stack.walls import LEAST_MM

LEAST_WALL_MM = 1.2
"""Least material about a hole, mm (common practice: three lines of a 0.4 mm nozzle)."""

LEAST_HOLE_MM = 0.1
"""A hole of less radius than this is none in a file, mm."""


@dataclass(frozen=True)
class BarHole:
    """A hole of a bar: what it is for, its place along the bar and its radius, mm.

    path: of the length in the lane's records that says where it is, empty where none does.
    """

    name: str
    at_mm: float
    radius_mm: float
    length: str = ""

    @property
    def path(self) -> BulgePath:
        """Its outline."""
        return circle(self.radius_mm, complex(self.at_mm))

    @property
    def boss(self) -> tuple[float, float]:
        """Place and radius of the material about it, mm."""
        return self.at_mm, self.radius_mm + WALL_MM


def turning_hole(name: str, at_mm: float, rod_mm: float, length: str = "") -> BarHole:
    """Return the hole in which a rod or screw of a diameter, mm, turns; at_mm: along the bar."""
    return BarHole(name, at_mm, rod_mm / 2 + TURNING_MM, length)


@dataclass(frozen=True)
class FlatBar:
    """A flat bar of a follower.

    code: of its part. label: its name for people. holes: in any order. bosses: places and radii of what its
    outline encloses, those of the holes first and in their order, mm. half_mm: half its width. width: path of
    the length that says how wide it is.
    """

    code: str
    label: str
    holes: tuple[BarHole, ...]
    bosses: tuple[tuple[float, float], ...]
    half_mm: float
    thickness_mm: float
    count: int = 1
    width: str = ""


def bar_faults(printer: Print, bar: FlatBar) -> Iterator[FollowerLayoutError]:
    """Yield what keeps a bar from being made: too thin, or holes that leave too little material."""
    if bar.thickness_mm - mark_depth(bar.thickness_mm) < LEAST_MM:
        told = f"{bar.code}: it is {millimetres(bar.thickness_mm, 2)} thick"
        yield FollowerLayoutError(f"{told}; more is required", "parts.thickness_mm", 1.0)
    for hole, (_, boss_mm) in zip(bar.holes, bar.bosses, strict=False):
        yield from _beside(printer, bar, hole, boss_mm)
    yield from _between(printer, bar)


def _beside(printer: Print, bar: FlatBar, hole: BarHole, boss_mm: float) -> Iterator[FollowerLayoutError]:
    """Yield what is wrong with the material about a hole, and with the hole itself."""
    least = 2 * (hole.radius_mm + LEAST_WALL_MM)
    if bar.half_mm - hole.radius_mm < LEAST_WALL_MM:
        told = f"{bar.code}: the bar is {millimetres(2 * bar.half_mm)} wide at its {hole.name}"
        what = f"{told}; at least {millimetres(least)} required (body width)"
        yield FollowerLayoutError(what, bar.width, up_to(least, CURE_MM))
        return
    yield from printed_faults(
        printer, f"{bar.code}: the material about its {hole.name}", boss_mm - hole.radius_mm
    )
    if hole.radius_mm + min(printer.hole_mm, 0.0) < LEAST_HOLE_MM:
        yield FollowerLayoutError(f"{bar.code}: nothing is left of its hole for the {hole.name} in a file")


def _between(printer: Print, bar: FlatBar) -> Iterator[FollowerLayoutError]:
    """Yield which neighbours leave too little material between them."""
    placed = sorted(bar.holes, key=lambda hole: hole.at_mm)
    for one, other in pairwise(placed):
        wall = other.at_mm - one.at_mm - one.radius_mm - other.radius_mm
        names = f"{bar.code}: {one.name} and {other.name}"
        if wall < LEAST_WALL_MM:
            told = f"{names} leave {millimetres(wall)} of material"
            what = f"{told}; at least {millimetres(LEAST_WALL_MM)} required"
            yield FollowerLayoutError(what, *_moved(placed, one, other, LEAST_WALL_MM - wall))
        else:
            yield from printed_faults(printer, f"{names}: the material between", wall, 2)


def _moved(placed: Sequence[BarHole], one: BarHole, other: BarHole, by_mm: float) -> tuple[str, float | None]:
    """Return path and value of the length that brings one of two holes farther from the other, mm."""
    if other.length:
        return other.length, up_to(other.at_mm + by_mm, CURE_MM)
    if one.length and one is not placed[0]:
        return one.length, round(one.at_mm - up_to(by_mm, CURE_MM), 6)
    return "", None


def printed_faults(
    printer: Print, what: str, wall_mm: float, holes: int = 1
) -> Iterator[FollowerLayoutError]:
    """Yield that nothing is left of a wall in a printer's file.

    what: its name, with whose it is. holes: how many of its two sides are holes'; the others are contours'.
    """
    left = wall_mm + (2 - holes) * printer.contour_mm - holes * printer.hole_mm
    if left < LEAST_MM:
        told = f"{what} is {millimetres(left)} with the printer’s corrections"
        yield FollowerLayoutError(f"{told}; the part cannot be made")
