"""What a follower does on a disc that is not its own, or on its own with the marked face down.

The disc is taken as it is made: its profile. For a roller, the path of the roller's centre is the curve at
the roller's radius outside that profile; the lift at an angle of the stack is that at which the follower's
own centre lies on the path. A flat face touches at the support function of the profile: the farthest that it
reaches in the direction of travel. All angles are own angles of the stack, in the direction of the program.
"""

from __future__ import annotations

import numpy as np

from shaftscore.base.angles import TURN
from shaftscore.kinematics.followers import FollowerModel, Points, Reals, lift_of
from shaftscore.kinematics.profiles import Profile

HALVINGS = 20
"""Of the bracket in which a lift is looked for: 100 mm become 0.1 µm."""

REACH = 0.25
"""Share of the largest radius by which a follower may be farther in or out than on its own disc."""

SAMPLES = 1440
"""Angles of a turn at which outputs are kept."""

SOUGHT = 720
"""Angles of a turn at which a follower is placed on another disc; between them the output is interpolated."""


def ridden(profile: Profile, follower: Profile, *, turned_over: bool) -> Reals:
    """Return the output of a follower on a disc, mm, (n,) over a turn of the stack from 0 on.

    profile: of the disc. follower: of the lane whose follower it is (its record, model and station).
    """
    theta = np.linspace(0.0, TURN, SOUGHT, endpoint=False)
    at = profile.at(theta)
    # A disc that was corrected for its place on the shaft does as drawn there: its correction is taken out.
    back = np.exp(1j * np.radians(profile.direction * profile.placement.offset_deg))
    if follower.model.is_flat:
        lift = _flat(at.profile * back, follower, theta, turned_over)
    else:
        path = at.profile + follower.model.roller_radius_mm * at.normal
        lift = _rolled(path * back, follower, theta, turned_over)
    every = np.linspace(0.0, TURN, SAMPLES, endpoint=False)
    return np.asarray(np.interp(every, theta, output_of(follower, lift), period=TURN))


def output_of(follower: Profile, lift_mm: Reals) -> Reals:
    """Return the output for lifts of a follower's roller, mm: (n,) -> (n,); straight on beyond its link."""
    record = follower.follower
    top = record.link[-1].output_mm if record.link is not None else 1.0
    output = np.zeros((4, 401))
    output[0] = np.linspace(0.0, top, 401)
    lifts = lift_of(record, output)[0]
    found = np.interp(lift_mm, lifts, output[0])
    below, above = lift_mm < lifts[0], lift_mm > lifts[-1]
    ratio = (output[0, -1] - output[0, -2]) / (lifts[-1] - lifts[-2])
    found[below] = (lift_mm[below] - lifts[0]) * output[0, 1] / (lifts[1] - lifts[0])
    found[above] = top + (lift_mm[above] - lifts[-1]) * ratio
    return np.asarray(found)


def _rays(follower: Profile, theta: Reals) -> Points:
    """Return what brings the follower's station frame into the frame of the disc, (n,)."""
    return np.asarray(np.exp(1j * np.radians(follower.station_deg - follower.direction * theta)))


def _rolled(path: Points, follower: Profile, theta: Reals, turned_over: bool) -> Reals:
    """Return the lifts at which the roller's centre lies on a path, (n,) mm."""
    angles, radii = _polar(path)
    rays, model = _rays(follower, theta), follower.model
    reach = REACH * float(np.max(radii))
    most = float(np.max(radii)) - model.base_radius_mm - model.roller_radius_mm
    low = np.full(len(theta), min(0.0, float(np.min(radii)) - model.base_radius_mm) - reach)
    high = np.full(len(theta), max(0.0, most) + reach)
    for _ in range(HALVINGS):
        middle = (low + high) / 2
        at = _in_disc(model, middle, rays, turned_over)
        outside = np.abs(at) > np.interp(np.angle(at), angles, radii)
        low, high = np.where(outside, low, middle), np.where(outside, middle, high)
    return np.asarray((low + high) / 2)


def _in_disc(model: FollowerModel, lift_mm: Reals, rays: Points, turned_over: bool) -> Points:
    at = model.centre(lift_mm)[0] * rays
    return np.asarray(np.conj(at) if turned_over else at)


def _polar(path: Points) -> tuple[Reals, Reals]:
    """Return a closed path as radius over rising angle, from -pi to pi and beyond both ends."""
    order = np.argsort(np.angle(path))
    angles, radii = np.angle(path)[order], np.abs(path)[order]
    around = np.concatenate((angles[-1:] - 2 * np.pi, angles, angles[:1] + 2 * np.pi))
    return around, np.concatenate((radii[-1:], radii, radii[:1]))


def _flat(points: Points, follower: Profile, theta: Reals, turned_over: bool) -> Reals:
    """Return the lifts of a flat face on a profile, (n,) mm."""
    ways = _rays(follower, theta)
    seen = np.conj(points) if turned_over else points
    reach = np.array([float(np.max((seen * np.conj(way)).real)) for way in ways])
    return reach - follower.model.base_radius_mm
