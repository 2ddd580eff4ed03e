"""One kinematics for all followers: where disc and follower touch, and how, at an angle of the stack.

Frames: a follower says where its centre is in the station frame (`kinematics.followers.model`). The disc
turns under it: a point P of the station frame is P exp(i (psi - d (theta + offset))) in the *disc
frame*, where psi is the station, d = +1 on a stack that turns counterclockwise seen from the top, else
-1, and the zero mark lies at +x. theta grows in the direction in which the stack runs.

Terms: the *pitch curve* is the path of the centre in the disc frame; the *outward normal* points away
from the disc's material on the inner side; the *profile* lies one roller radius inside the pitch curve
along that normal (the envelope of the roller). A flat face has the support function H = base + lift:
it touches at (H, -d H') in the station frame.

Signs: curvature is positive where the disc is convex. The pressure angle is that between the contact
normal and the direction of travel at the centre, positive where the contact force leans with the
movement of the disc's surface, as on a rise.

Derivation: with q(theta) the centre in the station frame, the pitch curve is z = q E,
E = exp(i (psi - d (theta + offset))), z' = w E with w = q' - i d q, and z'' = (w' - i d w) E; all else
follows (the envelope of a family of circles, as in any text on differential geometry).
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from shaftscore.kinematics.followers import FollowerModel, Points, Reals


@dataclass(frozen=True)
class DiscPlacement:
    """How a disc meets its follower.

    direction: d, +1 counterclockwise, -1 clockwise. station_deg: where the follower stands.
    offset_deg: turn of the profile alone (the lane's offset_deg).
    """

    direction: int
    station_deg: float
    offset_deg: float = 0.0

    def turn(self, theta_deg: Reals) -> Points:
        """Return the factor that brings a point of the station frame into the disc frame: (n,) -> (n,)."""
        angle = self.station_deg - self.direction * (theta_deg + self.offset_deg)
        return np.exp(1j * np.radians(angle))


@dataclass(frozen=True, eq=False)
class Kinematics:
    """Contact of disc and follower at n angles of the stack.

    theta_deg: (n,). lift: (4, n) lift of the centre and derivatives by radian, mm. model, placement:
    what it was computed for. All other figures follow, each (n,).
    """

    theta_deg: Reals
    lift: Reals
    model: FollowerModel
    placement: DiscPlacement

    @cached_property
    def _by_lift(self) -> Points:
        return self.model.centre(self.lift[0])

    @cached_property
    def _centre(self) -> tuple[Points, Points, Points]:
        """The centre in the station frame and its first two derivatives by theta (radian)."""
        p0, p1, p2, _ = self._by_lift
        _, v, a, _ = self.lift
        return p0, p1 * v, p2 * v**2 + p1 * a

    @cached_property
    def _third(self) -> Points:
        """The third derivative of the centre by theta."""
        _, p1, p2, p3 = self._by_lift
        _, v, a, j = self.lift
        return np.asarray(p3 * v**3 + 3 * p2 * v * a + p1 * j)

    @cached_property
    def _path(self) -> tuple[Points, Points]:
        """The pitch curve's first and second derivative, turned back into the station frame."""
        q0, q1, q2 = self._centre
        spin = 1j * self.placement.direction
        first = q1 - spin * q0
        return first, q2 - spin * q1 - spin * first

    @cached_property
    def _turn(self) -> Points:
        return self.placement.turn(self.theta_deg)

    @cached_property
    def pitch(self) -> Points:
        """The pitch curve in the disc frame, mm (a flat face: the middle of the face)."""
        return np.asarray(self._centre[0] * self._turn)

    @cached_property
    def _normal_in_station(self) -> Points:
        if self.model.is_flat:
            return self.model.travel(self.lift[0])
        first = self._path[0]
        return np.asarray(1j * self.placement.direction * first / np.abs(first))

    @cached_property
    def normal(self) -> Points:
        """The outward unit normal of pitch curve and profile in the disc frame."""
        return self._normal_in_station * self._turn

    @cached_property
    def profile(self) -> Points:
        """Where the follower touches the disc, in the disc frame, mm."""
        return self.offset(-self.model.roller_radius_mm)

    def offset(self, distance_mm: float) -> Points:
        """Return the curve at `distance_mm` outside the pitch curve, disc frame, mm.

        The profile lies at minus the roller radius; for a flat face the profile itself is at 0.
        """
        return self._touched + distance_mm * self.normal

    @cached_property
    def _touched(self) -> Points:
        return self.pitch + self.contact_mm * 1j * self._turn if self.model.is_flat else self.pitch

    @cached_property
    def distance_mm(self) -> Reals:
        """Distance of the profile from the axis, mm."""
        centre = self._centre[0]
        if self.model.is_flat:
            return np.asarray(np.hypot(centre.real, self.lift[1]))
        return np.asarray(np.abs(centre - self.model.roller_radius_mm * self._normal_in_station))

    @cached_property
    def contact_mm(self) -> Reals:
        """How far a flat face is touched beside its middle, mm, counterclockwise positive (rollers: 0)."""
        return -self.placement.direction * self.lift[1] if self.model.is_flat else np.zeros_like(self.lift[0])

    @cached_property
    def pressure_deg(self) -> Reals:
        """The pressure angle, degrees, -180 to 180; see the module's text for its sign."""
        lean = self._normal_in_station * np.conj(self.model.travel(self.lift[0]))
        return np.asarray(self.placement.direction * np.degrees(np.angle(lean)))

    @cached_property
    def steepness_slope(self) -> Reals:
        """Derivative of the pressure angle by theta, radian by radian.

        The pressure angle of a flat face is 0: there, the derivative of the velocity, which moves the
        contact along the face, mm by radian squared.
        """
        if self.model.is_flat:
            return np.asarray(self.lift[2])
        first, second = self._path
        spin = 1j * self.placement.direction
        turning = (second / first + spin).imag
        _, p1, p2, _ = self._by_lift
        return np.asarray(self.placement.direction * (turning - (p2 / p1).imag * self.lift[1]))

    @cached_property
    def _flat_radius(self) -> Reals:
        return np.asarray(self._centre[0].real + self.lift[2])

    @cached_property
    def pitch_curvature(self) -> Reals:
        """Curvature of the pitch curve, 1/mm (a flat face: that of the profile)."""
        if self.model.is_flat:
            return _inverse(self._flat_radius)
        first, second = self._path
        bend = (np.conj(first) * second).imag
        return np.asarray(-self.placement.direction * bend / np.abs(first) ** 3)

    @cached_property
    def curvature_slope(self) -> Reals:
        """Derivative of the pitch curvature by theta, 1/mm by radian."""
        if self.model.is_flat:
            return np.asarray(-(self.lift[1] + self.lift[3]) * self.pitch_curvature**2)
        w, a = self._path
        d, spin = self.placement.direction, 1j * self.placement.direction
        w1 = a + spin * w
        q3, q2 = self._third, self._centre[2]
        a1 = q3 - spin * q2 - spin * w1
        speed = np.abs(w)
        bend, change = (np.conj(w) * a).imag, (np.conj(w1) * a + np.conj(w) * a1).imag
        return np.asarray(-d * (change / speed**3 - 3 * bend * (np.conj(w) * w1).real / speed**5))

    @cached_property
    def pitch_radius_mm(self) -> Reals:
        """Radius of curvature of the pitch curve, mm, convex positive; inf where it is straight."""
        return self._flat_radius if self.model.is_flat else _inverse(self.pitch_curvature)

    @cached_property
    def radius_mm(self) -> Reals:
        """Radius of curvature of the profile, mm: positive convex, negative concave, inf straight.

        An undercut convex place has a radius of 0 or less here too: tell it by `pitch_curvature` > 0.
        """
        return self.pitch_radius_mm - self.model.roller_radius_mm

    @cached_property
    def curvature(self) -> Reals:
        """Curvature of the profile, 1/mm, convex positive; inf at a cusp."""
        if self.model.is_flat:
            return self.pitch_curvature
        return self.pitch_curvature * _inverse(1.0 - self.model.roller_radius_mm * self.pitch_curvature)

    @cached_property
    def speed_mm(self) -> Reals:
        """Length of the pitch curve by radian of turn, mm (a flat face: of the profile, unsigned)."""
        return np.abs(self._flat_radius) if self.model.is_flat else np.abs(self._path[0])


def _inverse(values: Reals) -> Reals:
    """Return 1 / values with inf where they are 0."""
    with np.errstate(divide="ignore"):
        return np.asarray(1.0 / values, np.float64)
