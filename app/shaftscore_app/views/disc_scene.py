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

from shaftscore.base.angles import TURN, Angles, wrap
from shaftscore.judge.findings import Finding, Severity
from shaftscore.kinematics.followers import Reals, lift_of
from shaftscore.kinematics.profiles import Profile
from shaftscore.model import Lane, Project
from shaftscore.stack.bore import bore_path
from shaftscore_app.views.disc_lean import LeanLimit, lean_limit, steep_stretches

Points = npt.NDArray[np.complex128]

SCREEN_CHORD_MM = 0.04
"""Largest distance between the curve and the polygon that is drawn: far under a pixel."""

LINE_PX, SIGN_PX = 3.0, 13.0
"""Width of the line of a stretch and size of a sign, px of the design."""


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
    "pushed": "The disc presses the arm towards its pivot",
    "dragged": "The disc drags the arm along",
}


def sense_text(profile: Profile) -> str:
    """Describe how the disc's turn meets an offset or an arm; empty for any other follower."""
    return "" if profile.sense is None else SENSES[profile.sense]


@dataclass(frozen=True, eq=False)
class DiscStretches:
    """Stretches of the profile as they are drawn, disc frame, mm: lines, or areas to be filled."""

    curves: tuple[Points, ...]
    filled: bool = False


@dataclass(frozen=True, eq=False)
class DiscMark:
    """What findings of one severity are about: stretches of the profile, and where their signs sit, mm."""

    severity: Severity
    stretches: DiscStretches
    signs: tuple[complex, ...]


MARK_POINTS = 33
"""At most so many points draw the stretch of one finding; short ones have fewer."""

MOST_APART = 120
"""So many stretches are drawn as lines; of more, areas are filled that cover what their lines would."""


def marks_of(profile: Profile, findings: Sequence[Finding], turns: int, px_mm: float) -> tuple[DiscMark, ...]:
    """Return the marks of findings that have a span, the worst last.

    turns: of the stack in a cycle. px_mm: what a pixel of the design is on the disc.
    """
    marks: list[DiscMark] = []
    for severity in reversed(Severity):
        spans = [one.span.spans[0] for one in findings if one.severity is severity and one.span is not None]
        if spans:
            stretches = _sampled(profile, np.array(sorted(spans)) * turns, px_mm)
            signs = _apart([complex(points[len(points) // 2]) for points in stretches], SIGN_PX * px_mm)
            marks.append(DiscMark(severity, as_drawn(stretches, px_mm), signs))
    return tuple(marks)


def _sampled(profile: Profile, spans: Angles, px_mm: float) -> list[Points]:
    """Return the profile over stretches (k, 2), start and length by the stack's own angle, degrees."""
    lengths = np.clip(spans[:, 1], 0.5, TURN)
    radius_mm = float(np.max(np.abs(profile.at_nodes.pitch)))
    counts = np.full(len(spans), MARK_POINTS)
    if len(spans) > MOST_APART:
        counts = np.clip(np.ceil(np.radians(lengths) * radius_mm / px_mm).astype(int) + 1, 3, MARK_POINTS)
    first = np.cumsum(counts) - counts
    share = (np.arange(counts.sum()) - np.repeat(first, counts)) / np.repeat(counts - 1, counts)
    theta = np.repeat(spans[:, 0], counts) + share * np.repeat(lengths, counts)
    return np.split(np.asarray(profile.at(wrap(theta)).profile), first[1:])


def _apart(places: Sequence[complex], least_mm: float) -> tuple[complex, ...]:
    """Return the places that lie at least so far from the one before that is left."""
    left: list[complex] = []
    for place in places:
        if not left or abs(place - left[-1]) >= least_mm:
            left.append(place)
    return tuple(left)


def as_drawn(stretches: Sequence[Points], px_mm: float) -> DiscStretches:
    """Return stretches of a profile as lines; of very many, the areas that lines of their width cover.

    px_mm: what a pixel of the design is on the disc. An area reaches over the pixels along the rim that have
    a stretch, and over gaps narrower than the line.
    """
    if len(stretches) <= MOST_APART:
        return DiscStretches(tuple(stretches))
    points = np.concatenate(stretches)
    radius, width_mm = np.abs(points), LINE_PX * px_mm
    step = px_mm / float(radius.max())
    column = np.floor(np.angle(points) / step).astype(int)
    order = np.argsort(column, kind="stable")
    column, radius = column[order], radius[order]
    first = np.flatnonzero(np.diff(column, prepend=column[0] - 1))
    inner = np.minimum.reduceat(radius, first) - width_mm / 2
    outer = np.maximum.reduceat(radius, first) + width_mm / 2
    left, right = np.exp(1j * column[first] * step), np.exp(1j * (column[first] + 1) * step)
    apart = np.flatnonzero(np.diff(column[first]) > LINE_PX) + 1
    rims = zip(*(np.split(part, apart) for part in (inner, outer, left, right)), strict=True)
    return DiscStretches(tuple(_area(*rim) for rim in rims), filled=True)


def _area(inner: Reals, outer: Reals, left: Points, right: Points) -> Points:
    """Return the area between two radii (n,) over columns with two edges (n,) each, as a closed polygon."""
    edges = np.column_stack([left, right]).ravel()
    there, back = np.repeat(outer, 2) * edges, np.repeat(inner, 2) * edges
    return np.concatenate([there, back[::-1]])
