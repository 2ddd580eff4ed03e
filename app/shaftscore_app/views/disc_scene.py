"""What the Disc view draws, in mm and in plan view as the machine stands: pure, without Qt.

The machine's frame has its axis at the origin, the reference line along +x, and is seen from the top of
the stack, counterclockwise positive. A disc of the disc frame is turned into it so that its follower
stands at its station.
"""

from __future__ import annotations

import cmath
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from shaftscore.base.angles import TURN, Arcs, wrap
from shaftscore.kinematics.followers import lift_of
from shaftscore.kinematics.profiles import Profile
from shaftscore.model import Lane, Project
from shaftscore.stack.bore import bore_path
from shaftscore_app.views.disc_lean import LeanLimit, lean_limit, steep_stretches

Points = npt.NDArray[np.complex128]

SCREEN_CHORD_MM = 0.04
"""Largest distance between the curve and the polygon that is drawn: far under a pixel."""


@dataclass(frozen=True)
class LevelCircle:
    """The circle at which the disc holds a level: rank from the lowest, name, radius in mm."""

    rank: int
    name: str
    radius_mm: float


@dataclass(frozen=True)
class Contact:
    """Follower and disc at one angle, machine frame, mm; normal and travel are unit vectors.

    lean: how far the normal may lean from the travel; None where no limit applies.
    """

    centre: complex
    touch: complex
    normal: complex
    travel: complex
    lift_mm: float
    radius_mm: float
    pressure_deg: float
    lean: LeanLimit | None


@dataclass(frozen=True, eq=False)
class DiscShape:
    """What does not change while the shaft turns. Curves are in the disc frame, mm.

    steep: the stretches of the profile whose pressure angle is over its limit. extent_mm: radius of a
    circle about everything, follower included.
    """

    outline: Points
    bore: Points
    dogs: tuple[complex, ...]
    dog_radius_mm: float
    levels: tuple[LevelCircle, ...]
    steep: tuple[Points, ...]
    extent_mm: float


def shape_of(project: Project, lane_id: str, profile: Profile) -> DiscShape:
    """Return the shape of a lane's disc."""
    lane = project.lane(lane_id)
    stack = project.stack_of(lane)
    outline = profile.outline(SCREEN_CHORD_MM)
    bore = bore_path(stack.bore, stack.fit_clearance_mm).flattened(SCREEN_CHORD_MM)
    dogs = stack.dogs
    circle = (
        ()
        if dogs is None
        else tuple(
            cmath.rect(dogs.radius_mm, np.pi / 2 + 2 * np.pi * n / dogs.count) for n in range(dogs.count)
        )
    )
    largest = float(np.max(np.abs(profile.at_nodes.pitch))) + 2 * profile.model.roller_radius_mm
    return DiscShape(
        outline=outline[:, 0] + 1j * outline[:, 1],
        bore=bore[:, 0] + 1j * bore[:, 1],
        dogs=circle,
        dog_radius_mm=0.0 if dogs is None else dogs.width_mm / 2,
        levels=level_circles(lane, profile),
        steep=steep_stretches(profile),
        extent_mm=largest,
    )


def level_circles(lane: Lane, profile: Profile) -> tuple[LevelCircle, ...]:
    """Return the circles of a lane's levels, lowest first."""
    ranked = sorted(lane.levels.items(), key=lambda item: item[1])
    values = np.zeros((4, len(ranked)))
    values[0] = [mm for _, mm in ranked]
    centres = profile.model.centre(lift_of(profile.follower, values)[0])[0]
    radii = np.abs(centres) - profile.model.roller_radius_mm
    return tuple(
        LevelCircle(rank, name, float(radius))
        for rank, ((name, _), radius) in enumerate(zip(ranked, radii, strict=True))
    )


def turned(profile: Profile, own_deg: float) -> complex:
    """Return the factor that brings the disc frame into the machine's, the stack at own_deg."""
    station = cmath.exp(1j * np.radians(profile.station_deg))
    return complex(station / profile.placement.turn(np.array([own_deg]))[0])


def contact_at(profile: Profile, own_deg: float) -> Contact:
    """Return where follower and disc touch, the stack at own_deg."""
    at = profile.at(np.array([wrap(own_deg)]))
    turn = turned(profile, own_deg)
    station = cmath.exp(1j * np.radians(profile.station_deg))
    travel = complex(profile.model.travel(at.lift[0])[0]) * station
    return Contact(
        centre=complex(at.pitch[0]) * turn,
        touch=complex(at.profile[0]) * turn,
        normal=complex(at.normal[0]) * turn,
        travel=travel,
        lift_mm=float(at.lift[0, 0]),
        radius_mm=float(abs(at.profile[0])),
        pressure_deg=float(at.pressure_deg[0]),
        lean=lean_limit(profile, at),
    )


SENSES: dict[str, str] = {
    "helps": "The offset helps the rise",
    "hinders": "The offset helps the fall, not the rise",
    "pushed": "The disc pushes the arm towards its pivot",
    "dragged": "The disc drags the arm along",
}


def sense_text(profile: Profile) -> str:
    """Describe how the disc's turn meets an offset or an arm; empty for any other follower."""
    return "" if profile.sense is None else SENSES[profile.sense]


def stretches_of(profile: Profile, spans: Sequence[Arcs], turns: int) -> Points:
    """Return the profile over stretches of the cycle (master angles), disc frame, mm: (k, 33) of k."""
    starts = np.array([span.spans[0][0] * turns for span in spans])
    lengths = np.array([min(max(span.spans[0][1] * turns, 0.5), TURN) for span in spans])
    theta = starts[:, None] + lengths[:, None] * np.linspace(0.0, 1.0, 33)
    if not len(spans):
        return theta.astype(np.complex128)
    return np.asarray(profile.at(wrap(theta.ravel())).profile).reshape(theta.shape)
