"""The hash of what a part's geometry is made from: equal hashes, equal parts.

Inputs are rounded to 1e-6 mm. Flanks enter by their points at every 0.5 degree, so that a project that
is written in another way but asks for the same disc gives the same hash; names do not enter at all.
R and its first three digits are the part's *revision*, by which it differs from its next version.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Sequence

import numpy as np
import numpy.typing as npt

from shaftscore.kinematics.profiles import Profile
from shaftscore.model import Lane, Project, Stack
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


def coupon_hash(project: Project, stack: Stack, code: str) -> str:
    """Hash a coupon's inputs (SHA-256, hexadecimal): the clearance in use is none of them."""
    return _hashed(f"coupon {code}", [*_features(project, stack), project.print.nozzle_mm])


def outline_hash(
    project: Project, words: str, sizes: Sequence[float], paths: Iterable[BulgePath] = ()
) -> str:
    """Hash a part by its outlines and sizes in mm, with the printer's corrections (SHA-256, hexadecimal)."""
    printer = project.print
    made = [printer.contour_mm, printer.hole_mm, printer.shrinkage_percent, printer.nozzle_mm]
    made.append(printer.foot_chamfer_mm)
    corners = [
        value
        for path in paths
        for corner, bulge in zip(path.vertices, path.bulges, strict=True)
        for value in (corner.real, corner.imag, bulge)
    ]
    return _hashed(words, [*sizes, *made, *corners])


def revision_of(made_from: str) -> str:
    """Return the revision that a hash makes: R and its first three digits."""
    return f"R{made_from[:3].upper()}"


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
