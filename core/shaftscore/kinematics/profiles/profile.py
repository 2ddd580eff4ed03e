"""The profile of one disc: kinematics at any angle, figures, and the closed outline for export.

Angles are of the disc's own stack, degrees. Figures are extremes over the smooth pieces of the motion,
refined to 1e-9 degree; they are computed when first asked for and kept. The edge of a drop, which is
shaped for a fillet and not for a roller to run down, counts in none of them, nor among the places.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property
from typing import Literal

import numpy as np

from shaftscore.base.angles import wrap
from shaftscore.base.tolerance import CHORD_MM
from shaftscore.kinematics.followers import FollowerModel, Reals, lift_of
from shaftscore.kinematics.profiles.limits import LaneLimits
from shaftscore.kinematics.profiles.outline import lost_mm, outline_of
from shaftscore.kinematics.profiles.pieces import Flags, MotionSource, PieceNodes, Side
from shaftscore.kinematics.profiles.places import (
    Flank,
    ProfilePlace,
    Undercut,
    farthest,
    with_extremes,
    worst_by_segment,
)
from shaftscore.kinematics.profiles.plainly import Plainly, plainly
from shaftscore.kinematics.profiles.trace import DiscPlacement, Kinematics
from shaftscore.kinematics.profiles.undercut import (
    corner_turns,
    corner_undercuts,
    distant_undercuts,
    flanks_of,
)
from shaftscore.model.lanes import Follower, SwingingRoller

Sense = Literal["helps", "hinders", "pushed", "dragged"]
"""An offset helps or hinders the rise; an arm is pushed or dragged."""


@dataclass(frozen=True, eq=False)
class Profile:
    """A disc's profile; see the module's text.

    base_radius_mm: profile radius where the output is 0. base_governed_by: "given", "group", or the
    limit that an automatic radius just meets (`kinematics.profiles.sizing`). fits: whether all limits that
    rule an automatic radius are met. follower: the record, with its offset decided. model: its
    kinematics. motion: what it was built from. limits: what its places are held against.
    plain: places on the smooth pieces of the motion, as it was sized with.
    """

    base_radius_mm: float
    base_governed_by: str
    fits: bool
    follower: Follower
    model: FollowerModel
    placement: DiscPlacement
    motion: MotionSource
    limits: LaneLimits
    plain: PieceNodes

    @property
    def direction(self) -> int:
        """+1 on a stack that turns counterclockwise seen from the top, else -1."""
        return self.placement.direction

    @property
    def station_deg(self) -> float:
        """Where the follower stands, degrees, counterclockwise from the reference line."""
        return self.placement.station_deg

    @property
    def offset_mm(self) -> float:
        """Offset of the line of travel, mm (0 for an arm or a flat face)."""
        return float(getattr(self.model, "offset_mm", 0.0))

    @property
    def sense(self) -> Sense | None:
        """How the disc's turn meets the follower; None for a flat face, or a roller in line.

        An offset on the side from which the disc's surface comes makes the rise less steep. An arm is pushed
        where the surface runs towards its pivot, dragged where it runs away from it.
        """
        if isinstance(self.follower, SwingingRoller):
            counter = self.follower.pivot_side == "counterclockwise"
            return "pushed" if counter == (self.direction > 0) else "dragged"
        if self.offset_mm == 0:
            return None
        return "helps" if self.direction * self.offset_mm > 0 else "hinders"

    def at(self, theta_deg: Reals, side: Side = "right") -> Kinematics:
        """Return the kinematics at angles of the stack: (n,) degrees, one-sided where the motion steps."""
        theta = np.atleast_1d(np.asarray(theta_deg, np.float64))
        return self.trace(theta, lift_of(self.follower, self.motion.at(theta, side)))

    def trace(self, theta_deg: Reals, lift: Reals) -> Kinematics:
        """Return the kinematics of a lift (4, n) at angles (n,)."""
        return Kinematics(theta_deg, lift, self.model, self.placement)

    @property
    def is_plainly_good(self) -> bool:
        """Whether a roller's pressure angle and curvature plainly keep their limits, and nothing is cut away.

        It is so where all places keep them by more than a figure changes from one to the next, no corner
        turns the normal, and the flanks go once round the axis. False says nothing.
        """
        return self.plainly.is_good

    @property
    def radii_within_mm(self) -> tuple[float, float]:
        """What the least and the largest distance of the profile from the axis are surely between, mm.

        Beyond what the places show by the most that it changes from a place to the next: between two of them
        a smooth curve goes beyond both by a fraction of that.
        """
        return self.plainly.radii_mm

    @cached_property
    def plainly(self) -> Plainly:
        """What is read at the places on the smooth pieces, without the extremes between them."""
        return plainly(self)

    @property
    def knows_plainly(self) -> bool:
        """Whether what is plain was read before."""
        return "plainly" in self.__dict__

    def take_plainly(self, found: Plainly) -> None:
        """Take over what is plain, where it was read together with other profiles."""
        self.__dict__["plainly"] = found

    @cached_property
    def nodes(self) -> PieceNodes:
        """Sample places on the smooth pieces of the motion, with all extremes among them."""
        return with_extremes(self.plain, self.trace, self.motion, self.follower)

    @cached_property
    def at_nodes(self) -> Kinematics:
        """Kinematics at the nodes, one-sided at the ends of pieces."""
        return self.trace(self.nodes.theta_deg, self.nodes.lift)

    @cached_property
    def steepness_deg(self) -> Reals:
        """The pressure angle at the nodes without its sign, degrees, (m,)."""
        return np.abs(self.at_nodes.pressure_deg)

    @cached_property
    def _steepest(self) -> int:
        return int(np.argmax(np.where(self.nodes.judged, self.steepness_deg, -1.0)))

    @property
    def max_pressure_angle_deg(self) -> float:
        """Largest pressure angle of the turn, degrees, without sign."""
        return float(self.steepness_deg[self._steepest])

    @property
    def max_pressure_at_deg(self) -> float:
        """Angle of the stack at which the pressure angle is largest, degrees."""
        return wrap(float(self.nodes.theta_deg[self._steepest]))

    @cached_property
    def min_convex_radius_mm(self) -> float:
        """Least convex radius of the profile, mm: 0 or less where it is undercut, inf if nowhere convex."""
        at = self.at_nodes
        return float(np.min(at.radius_mm, where=self.nodes.judged & _is_convex(at), initial=np.inf))

    @cached_property
    def min_hollow_radius_mm(self) -> float:
        """Least concave radius of the profile, mm, without sign; inf if nowhere concave."""
        at = self.at_nodes
        return float(np.min(-at.radius_mm, where=self.nodes.judged & ~_is_convex(at), initial=np.inf))

    @cached_property
    def max_radius_mm(self) -> float:
        """Largest distance of the profile from the axis, mm, also between nodes."""
        return farthest(self.nodes, self.at_nodes.distance_mm, lambda theta: self.at(theta).distance_mm)

    @cached_property
    def min_radius_mm(self) -> float:
        """Least distance of the profile from the axis, mm, also between nodes."""
        return -farthest(self.nodes, -self.at_nodes.distance_mm, lambda theta: -self.at(theta).distance_mm)

    @cached_property
    def needed_face_width_mm(self) -> float | None:
        """Least width of a flat face with its middle on the station line, mm; None for a roller."""
        return 2 * float(np.max(np.abs(self.nodes.lift[1]))) if self.model.is_flat else None

    @cached_property
    def steep_places(self) -> tuple[ProfilePlace, ...]:
        """The largest pressure angle (degrees, without sign) of each move: one place for rise or fall."""
        angle, rise = self.steepness_deg, self.nodes.rise
        up = worst_by_segment(self.nodes, angle, rise > 0, self.limits.rise_deg)
        down = worst_by_segment(self.nodes, angle, rise < 0, self.limits.fall_deg)
        return tuple(sorted(up + down, key=lambda place: place.segment))

    @property
    def flanks(self) -> tuple[Flank, ...]:
        """The running flanks: the profile, and a groove's outer one."""
        return flanks_of(self.limits)

    @cached_property
    def crest_places(self) -> tuple[ProfilePlace, ...]:
        """The least convex radius (mm, of the flank's own material) of each segment, limit: crest radius."""
        return self._curved(convex=True)

    @cached_property
    def hollow_places(self) -> tuple[ProfilePlace, ...]:
        """The least concave radius (mm) of each segment, limit: roller radius and margin."""
        return self._curved(convex=False)

    def _curved(self, *, convex: bool) -> tuple[ProfilePlace, ...]:
        """Return the tightest place of each segment and flank; an outer flank sees the curve reversed."""
        places: list[ProfilePlace] = []
        at, roller = self.at_nodes, self.model.roller_radius_mm
        limit = self.limits.crest_mm if convex else roller + self.limits.hollow_mm
        for flank in self.flanks:
            seen_convex = _is_convex(at) == (flank == "inner")
            bend = at.pitch_radius_mm if flank == "inner" else -at.pitch_radius_mm
            radius = bend - roller if convex else roller - bend
            worst = worst_by_segment(self.nodes, -radius, seen_convex == convex, limit, flank)
            places += [replace(place, value=-place.value) for place in worst]
        return tuple(places)

    def undercuts(self) -> tuple[Undercut, ...]:
        """Return the places that the roller cannot touch: too sharp, corners, cut by distant parts."""
        return self._undercuts

    @cached_property
    def _undercuts(self) -> tuple[Undercut, ...]:
        sharp = [
            Undercut("curve", place.theta_deg, place.segment, place.value, flank=place.flank)
            for place in self.crest_places
            if place.value <= 0 and (self.model.roller_radius_mm > 0 or self.model.is_flat)
        ]
        corners = corner_undercuts(self.nodes, self.at_nodes, self.flanks)
        known = [*sharp, *corners]
        return (*known, *distant_undercuts(self.nodes, self.at_nodes, self.at, self.flanks, known))

    def outline(self, chord_mm: float = CHORD_MM, flank: Flank = "inner", grown_mm: float = 0.0) -> Reals:
        """Return a flank as a closed polygon, counterclockwise, disc frame: (n, 2) mm, first point once.

        No chord is farther than `chord_mm` from the exact curve, which passes through every point and
        through the ends of all segments. A groove's flanks lie at the roller's radius and half the
        clearance from the pitch curve. Where the follower cannot touch the whole curve, the polygon is
        the edge of the region that it never enters (see `shaftscore.kinematics.profiles.outline`).
        grown_mm: how far the flank is moved away from its material. Raises ValueError if nothing of the disc
        is left.
        """
        key = (chord_mm, flank, grown_mm)
        if key not in self._outlines:
            self._outlines[key] = outline_of(self, chord_mm, flank, grown_mm)
            self._outlines[key].flags.writeable = False  # everybody who asks gets the same one
        return self._outlines[key]

    def least_radius_mm(self, flank: Flank = "inner", grown_mm: float = 0.0) -> float:
        """Return the least radius of the crests and hollows of a flank, mm; inf if it is straight.

        With the edges of drops. Where a roller turns about a corner it leaves an arc. 0 or less: the
        flank runs past itself there. grown_mm: how far the flank is moved away from its material.
        """
        distance, at = self.distance_mm(flank, grown_mm), self.at_nodes
        bend = at.pitch_radius_mm
        least = float(np.min(np.where(_is_convex(at), bend + distance, -bend - distance)))
        turns = corner_turns(self.nodes, at)
        if at.model.is_flat or not turns.any():
            return least
        return min(least, float(np.min(np.sign(turns[turns != 0]) * distance)))

    def lost_mm(self, flank: Flank, grown_mm: float) -> float:
        """Return how far the follower at most is off a moved flank, where its parts cut into one another, mm.

        grown_mm: how far the flank is moved away from its material. Raises ValueError if nothing is left.
        """
        return lost_mm(self, flank, grown_mm)

    @cached_property
    def _outlines(self) -> dict[tuple[float, Flank, float], Reals]:
        return {}

    def distance_mm(self, flank: Flank = "inner", grown_mm: float = 0.0) -> float:
        """Distance of a flank from the pitch curve, mm, outward positive.

        grown_mm: how far the flank is moved away from its material.
        """
        if not self.limits.groove:
            return grown_mm - self.model.roller_radius_mm
        half = self.follower.groove_clearance_mm / 2 + self.model.roller_radius_mm
        return grown_mm - half if flank == "inner" else half - grown_mm


def _is_convex(at: Kinematics) -> Flags:
    """Return where the disc counts as convex: everywhere under a flat face, straight included."""
    return np.full(len(at.theta_deg), True) if at.model.is_flat else at.pitch_curvature >= 0
