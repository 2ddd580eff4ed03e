"""The hash of what a part's geometry is made from: equal hashes, equal parts.

Inputs are rounded to 1e-6 mm. Flanks enter by their points at every 0.5 degree, so that a project that
is written in another way but asks for the same disc gives the same hash; names do not enter at all.
R and its first three digits are the part's *revision*, by which it differs from its next version.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterable

import numpy as np
import numpy.typing as npt

from shaftscore.kinematics.profiles import Profile
from shaftscore.make.solids.strokes import Polyline
from shaftscore.model import Lane, Print, Project, Stack
from shaftscore.stack import BulgePath, turn_sign

GEOMETRY_VERSION = 4
"""Counted up whenever the same inputs come to make another shape."""

ROUND_MM = 6
"""Decimals, in mm, to which inputs are rounded before they are hashed."""

SAMPLE_DEG = 0.5
"""Angle between the places of the profile that are hashed."""


def disc_hash(project: Project, lane: Lane, profile: Profile) -> str:
    """Hash a disc's inputs (SHA-256, hexadecimal)."""
    stack = project.stack_of(lane)
    at = profile.at(np.arange(0.0, 360.0, SAMPLE_DEG))
    flanks = np.concatenate([at.offset(profile.distance_mm(flank)) for flank in profile.flanks])
    groove = (lane.disc.groove_depth_mm, lane.disc.rim_mm) if len(profile.flanks) > 1 else (0.0, 0.0)
    sizes = (
        lane.disc.thickness_mm,
        lane.disc.edge_chamfer_mm,
        *groove,
        profile.model.roller_radius_mm,
        project.print.nozzle_mm,
    )
    words = f"disc {lane.code} {turn_sign(project, stack)} {profile.model.kind}"
    return _hashed(words, [*_shared(project, stack), *sizes, *flanks.real, *flanks.imag])


def spacer_hash(project: Project, stack: Stack) -> str:
    """Hash a spacer's inputs (SHA-256, hexadecimal)."""
    return _hashed("spacer", [*_shared(project, stack), stack.spacer_mm, stack.spacer_radius_mm])


def coupon_hash(project: Project, stack: Stack, code: str, foot_mm: float) -> str:
    """Hash a coupon's inputs (SHA-256, hexadecimal): the clearance in use is none of them.

    foot_mm: of its foot chamfers, which depend on the parts whose fit it tries.
    """
    return _hashed(f"coupon {code}", [*_features(project, stack), project.print.nozzle_mm, foot_mm])


def bodies_hash(
    printer: Print,
    words: str,
    bodies: Iterable[tuple[BulgePath, tuple[float, float]]],
    marks: Iterable[tuple[Polyline, float, float]],
) -> str:
    """Hash a part by its bodies and marks, with the printer's corrections (SHA-256, hexadecimal).

    bodies: outline, and heights of its ends, mm. marks: strokes, their width and depth, mm.
    """
    made = [printer.contour_mm, printer.hole_mm, printer.shrinkage_percent, printer.nozzle_mm]
    numbers = [*made, printer.foot_chamfer_mm]
    for path, ends in bodies:
        numbers += [float(len(path.vertices)), *ends, *path.bulges, *_flat(path.vertices)]
    for stroke, *sizes in marks:
        numbers += [float(len(stroke)), *sizes, *_flat(stroke)]
    return _hashed(words, numbers)


def _flat(points: Iterable[complex]) -> list[float]:
    """Return x and y of points one after the other."""
    return [value for point in points for value in (point.real, point.imag)]


def revision_of(made_from: str) -> str:
    """Return the revision that a hash makes: R and its first three digits."""
    return f"R{made_from[:3].upper()}"


ANY_REVISION = revision_of("000")
"""As wide as every revision: with it room for one is found before there is a hash."""


def _shared(project: Project, stack: Stack) -> list[float]:
    """Return what disc and spacer of a stack are made with: bore, dogs, pins, corrections, clearances.

    Pins, and a clearance of the dogs' own, count where they are given: without them the hash stays.
    """
    own = [*_features(project, stack), stack.fit_clearance_mm]
    if stack.dogs is not None and stack.pocket_clearance_mm != stack.fit_clearance_mm:
        own.append(stack.pocket_clearance_mm)
    pins = stack.pins
    return own if pins is None else [*own, pins.count, pins.radius_mm, pins.across_mm, pins.clearance_mm]


def _features(project: Project, stack: Stack) -> list[float]:
    """Return what every part of a stack is made with: bore, dogs, a printer's corrections."""
    shapes = ("round", "d", "hex", "square")
    bore, dogs = stack.bore, stack.dogs
    own = (float(shapes.index(bore.shape)), bore.across_mm, bore.flat_mm or 0.0)
    keys = (float(dogs.count), dogs.radius_mm, dogs.width_mm, dogs.height_mm) if dogs else (0.0,) * 4
    shrinkage = project.print.shrinkage_percent
    made = [*own, *keys, project.print.contour_mm, project.print.hole_mm, project.print.foot_chamfer_mm]
    return [*made, shrinkage] if shrinkage else made  # hashes of parts that do not shrink stay


def _hashed(words: str, numbers: list[float]) -> str:
    values: npt.NDArray[np.float64] = np.array(numbers, np.float64)
    whole = np.round(values * 10**ROUND_MM).astype("<i8")
    return hashlib.sha256(f"{GEOMETRY_VERSION} {words} ".encode() + whole.tobytes()).hexdigest()
