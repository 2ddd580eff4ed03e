"""What is left of the material of a part: the one rule for the checks and for who makes the parts.

A *wall* is material between two openings or to an edge in plan view, a *floor* the height left under or
over one; an opening itself is held against nothing left of it. `thick_mm` is as drawn, `printed_mm` as a
printer's file holds it, with the corrections that were measured on the printer. A part whose least wall is
under `LEAST_MM` cannot be made: it has a finding, and no body is made of it.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from shaftscore.base.tolerance import CHORD_MM, under
from shaftscore.kinematics.profiles import Flank, Profile
from shaftscore.kinematics.profiles.limits import WALL_MM
from shaftscore.model import Dogs, Lane, Pins, Print, Stack
from shaftscore.stack.dogs import dog_gap, pocket_depth
from shaftscore.stack.pins import pin_dog_web_mm, pin_web_mm
from shaftscore.stack.rings import Ring, ring_area
from shaftscore.stack.thickness import FLOOR_MM, GAP_MM, mark_depth

LEAST_MM = 0.02
"""A wall that is thinner than this is none: files hold edges to 0.01 mm on either side."""

COUPON_WALL_MM = 3.0
"""Material between the holes of a fit coupon; half of it to its edge."""

COUPON_LEAST_MM = 0.05
"""The least clearance on a fit coupon."""


@dataclass(frozen=True)
class PartWall:
    """A wall, floor, web or opening: what it is called, how thick it is and should be, mm.

    part: its name. thick_mm: as drawn. limit_mm: thinner ones are weak. printed_mm: thickness in a printer's
    file.
    """

    part: str
    thick_mm: float
    limit_mm: float
    printed_mm: float

    @property
    def least_mm(self) -> float:
        """The lesser of the thicknesses drawn and printed, mm."""
        return min(self.thick_mm, self.printed_mm)

    @property
    def is_there(self) -> bool:
        """Whether there is any of it."""
        return self.least_mm >= LEAST_MM

    @property
    def is_weak(self) -> bool:
        """Whether it is thinner than it should be."""
        return under(self.thick_mm, self.limit_mm)


def first_gone(walls: Iterable[PartWall]) -> PartWall | None:
    """Return the first wall of which nothing is left, None where all are there."""
    return next((wall for wall in walls if not wall.is_there), None)


def shared_walls(printer: Print, stack: Stack) -> Iterator[PartWall]:
    """Yield the walls that all parts of a stack have, and those of its fit coupon."""
    hole, contour = printer.hole_mm, printer.contour_mm
    least = min(stack.fit_clearance_mm, COUPON_LEAST_MM)
    yield _opening("bore", 2 * (stack.bore.inner_radius_mm + least), 2 * hole)
    corner = max(hole, 0.0) * stack.bore.outer_radius_mm / (stack.bore.across_mm / 2)
    yield _opening("wall of the fit coupon", COUPON_WALL_MM / 2, min(contour, 0.0) - corner)
    if stack.dogs is not None:
        yield from _dog_walls(printer, stack, stack.dogs)
    if stack.pins is not None:
        yield from _pin_walls(printer, stack, stack.pins)


def _opening(part: str, wide_mm: float, grows_mm: float) -> PartWall:
    """Return what is never weak, only there or not."""
    return PartWall(part, wide_mm, 0.0, wide_mm + grows_mm)


def _dog_walls(printer: Print, stack: Stack, dogs: Dogs) -> Iterator[PartWall]:
    hole, contour, clearance = printer.hole_mm, printer.contour_mm, stack.pocket_clearance_mm
    grown = _grown_mm(printer, stack)
    wall = dogs.reach(clearance)[0] - _bore_mm(stack)
    made = dogs.reach(clearance)[0] - grown - _bore_file_mm(stack, hole)
    yield PartWall("wall between bore and dogs", wall, WALL_MM, made)
    yield PartWall("dog", dogs.width_mm, WALL_MM, dogs.width_mm + 2 * contour)
    web = dog_gap(dogs) - 2 * clearance
    yield PartWall("web between dogs", web, GAP_MM, web - 2 * grown)
    yield _opening("height of the dogs", dogs.height_mm, 0.0)
    yield _opening("pocket", dogs.width_mm + 2 * min(clearance, COUPON_LEAST_MM), 2 * hole)


def _pin_walls(printer: Print, stack: Stack, pins: Pins) -> Iterator[PartWall]:
    hole = printer.hole_mm
    yield _opening("pin hole", 2 * pins.hole_radius_mm, 2 * hole)
    wall = pins.reach_mm[0] - _bore_mm(stack)
    made = pins.reach_mm[0] - hole - _bore_file_mm(stack, hole)
    yield PartWall("wall between bore and pins", wall, WALL_MM, made)
    web = pin_web_mm(pins)
    yield PartWall("web between pins", web, WALL_MM, web - 2 * hole)
    if stack.dogs is not None:
        web = pin_dog_web_mm(pins, stack.dogs, stack.pocket_clearance_mm)
        yield PartWall("web between pins and dogs", web, GAP_MM, web - hole - _grown_mm(printer, stack))


def _grown_mm(printer: Print, stack: Stack) -> float:
    """Return by how much the room that dogs take is larger in a printer's file, for pockets or pegs, mm."""
    return max(printer.hole_mm, printer.contour_mm - stack.pocket_clearance_mm)


def spacer_walls(printer: Print, stack: Stack) -> Iterator[PartWall]:
    """Yield the walls and floors of the spacers of a stack."""
    reaches = _reaches_mm(printer, stack)
    drawn, made = (max(reach[place] for reach in reaches.values()) for place in (0, 1))
    wall, made_wall = stack.spacer_radius_mm - drawn, stack.spacer_radius_mm + printer.contour_mm - made
    yield PartWall("wall of the spacer", wall, WALL_MM, made_wall)
    yield _opening("spacer", stack.spacer_mm, 0.0)
    if stack.dogs is not None:
        yield _floor("floor over the spacer\u2019s pockets", stack.spacer_mm - pocket_depth(stack))


def disc_walls(
    printer: Print, stack: Stack, lane: Lane, profile: Profile, least_mm: float | None = None
) -> Iterator[PartWall]:
    """Yield the walls and floors of a lane's disc of its own.

    least_mm: a radius that the profile is surely beyond, for a first look; left out, its least radius itself.
    """
    least = profile.min_radius_mm if least_mm is None else least_mm
    disc = lane.disc
    if profile.limits.groove:
        least -= lane.follower.groove_clearance_mm / 2
        yield _floor("floor under the groove", disc.thickness_mm - disc.groove_depth_mm)
        yield PartWall("rim of the groove", disc.rim_mm, WALL_MM, disc.rim_mm + 2 * printer.contour_mm)
        wide = 2 * profile.model.roller_radius_mm + lane.follower.groove_clearance_mm
        yield _opening("groove", wide, -2 * printer.contour_mm)
        yield _opening("depth of the groove", disc.groove_depth_mm, 0.0)
    for name, (drawn, made) in _reaches_mm(printer, stack).items():
        wall, made_wall = least - drawn, least + printer.contour_mm - made
        yield PartWall(f"wall between {name} and rim", wall, WALL_MM, made_wall)
    if stack.dogs is not None:
        yield _floor("floor over the pockets", disc.thickness_mm - pocket_depth(stack))
    yield _floor("floor under the marks", disc.thickness_mm - mark_depth(disc.thickness_mm))
    yield from contour_walls(profile, printer.contour_mm)


def _floor(part: str, thick_mm: float) -> PartWall:
    return PartWall(part, thick_mm, FLOOR_MM, thick_mm)


def _bore_mm(stack: Stack) -> float:
    """Radius about the axis that the hole for the shaft takes, mm, but for the clearance at its corners."""
    return stack.bore.outer_radius_mm + stack.fit_clearance_mm


def _bore_file_mm(stack: Stack, hole_mm: float) -> float:
    """Radius about the axis within which the hole for the shaft lies in a printer's file, corners too, mm."""
    half = stack.bore.across_mm / 2
    return stack.bore.outer_radius_mm * (half + stack.fit_clearance_mm + hole_mm) / half


def holes_reach_mm(stack: Stack) -> float:
    """Radius about the axis within which all holes and pockets of a part lie, mm."""
    return max(drawn for drawn, _ in _reaches_mm(Print(), stack).values())


def _reaches_mm(printer: Print, stack: Stack) -> dict[str, tuple[float, float]]:
    """Return the radius about the axis within which holes of each kind, or pegs, lie: drawn, printed, mm."""
    hole = printer.hole_mm
    found = {"bore": (_bore_mm(stack), _bore_file_mm(stack, hole))}
    if stack.dogs is not None:
        dogs = stack.dogs.reach(stack.pocket_clearance_mm)[1]
        found["dogs"] = (dogs, dogs + _grown_mm(printer, stack))
    if stack.pins is not None:
        found["pins"] = (stack.pins.reach_mm[1], stack.pins.reach_mm[1] + hole)
    return found


LEAST_RADIUS = "least radius of the contour, corrected for the printer,"
"""What a correction that is larger than a crest or a hollow takes away."""

LOST = "contour, corrected for the printer,"
"""What is taken away where distant parts of a contour meet."""

LOST_MM = CHORD_MM
"""A follower may stay so far off a corrected contour: no farther than its chords may be off it."""


def contour_walls(profile: Profile, contour_mm: float) -> Iterator[PartWall]:
    """Yield the running flanks that a printer's correction takes away, so that the follower stays off them.

    A flank that it stays off as drawn is undercut, which is a finding of its own.
    """
    for flank in profile.flanks if contour_mm else ():
        if not _is_whole(profile, flank, contour_mm) and _is_whole(profile, flank, 0.0):
            least = profile.least_radius_mm(flank, contour_mm)
            gone, left = (LEAST_RADIUS, least) if least < LEAST_MM else (LOST, 0.0)
            yield PartWall(gone, left, 0.0, left)


def _is_whole(profile: Profile, flank: Flank, grown_mm: float) -> bool:
    """Return whether the follower touches all of a flank that is moved away from its material."""
    try:
        return profile.lost_mm(flank, grown_mm) <= LOST_MM
    except ValueError:
        return False


def counterclockwise(ring: Ring) -> Ring:
    """Return a ring that runs counterclockwise and does not repeat its first point."""
    if len(ring) > 1 and bool((ring[0] == ring[-1]).all()):
        ring = ring[:-1]
    return ring if ring_area(ring) > 0 else ring[::-1]
