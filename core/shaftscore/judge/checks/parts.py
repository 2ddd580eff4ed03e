"""too-large, bad-part: whether the printer, or whoever makes the disc, has room for it.

The radius of a disc is that of its profile; of a groove disc that of the groove's outer flank, and the
rim outside it. A printed disc that does not fit on the bed cannot be made: a running edge is not split.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from shaftscore.base.tolerance import over
from shaftscore.base.wording import millimetres, plain
from shaftscore.judge.checks.base import LaneCheck
from shaftscore.judge.checks.shape import with_profile
from shaftscore.judge.findings import Finding, found
from shaftscore.kinematics.profiles import Profile
from shaftscore.model import Print, Project
from shaftscore.model.materials import is_printed
from shaftscore.solution import LaneSolution, Solution

SIZE_MM = 0.02
"""Chord error with which the size of a disc is found that may not fit on the bed."""


def disc_radius_mm(profile: Profile) -> float:
    """Return the largest radius of the finished disc, mm."""
    if not profile.limits.groove:
        return profile.max_radius_mm
    outer = profile.at_nodes.offset(profile.distance_mm("outer"))
    return float(np.max(np.abs(outer))) + profile.limits.rim_mm


def disc_size_mm(profile: Profile, printer: Print) -> tuple[float, float]:
    """Return width and depth of a disc in a printer's file, mm."""
    groove = profile.limits.groove
    ring = profile.outline(SIZE_MM, "outer" if groove else "inner")
    grown = printer.contour_mm + (profile.limits.rim_mm if groove else 0.0)
    wide, deep = (_in_file_mm(float(size) + 2 * grown, printer) for size in np.ptp(ring, axis=0))
    return wide, deep


def _in_file_mm(size_mm: float, printer: Print) -> float:
    """Return a size in a printer's file, mm: larger by what the part shrinks."""
    return size_mm / (1 - printer.shrinkage_percent / 100)


def parts(solution: Solution, lane: LaneSolution, profile: Profile) -> Iterator[Finding]:
    """Find discs that are too large."""
    if not lane.lane.has_disc:
        return
    yield from _over_bed(solution.project, lane, profile)
    most = profile.limits.max_radius_mm
    if not profile.limits.groove and profile.radii_within_mm[1] < most:
        return
    radius = disc_radius_mm(profile)
    if over(radius, most):
        yield found("too-large", (lane.lane.id,), value=radius, limit=most)


def _over_bed(project: Project, lane: LaneSolution, profile: Profile) -> Iterator[Finding]:
    """Yield a finding where a printed disc does not fit on the bed."""
    printer, disc = project.print, lane.lane.disc
    least, most = sorted((printer.bed_x_mm, printer.bed_y_mm))
    at_most = _in_file_mm(2 * (profile.radii_within_mm[1] + SIZE_MM + printer.contour_mm), printer)
    if (at_most < least and not profile.limits.groove) or not is_printed(disc.material):
        return
    size = disc_size_mm(profile, printer)
    if over(min(size), least) or over(max(size), most):
        yield found("bad-part", (lane.lane.id,), value=max(size), limit=most, why=_too_wide(size, printer))


def _too_wide(size_mm: tuple[float, float], printer: Print) -> str:
    wide, deep = (millimetres(side, 0) for side in size_mm)
    bed = f"{plain(printer.bed_x_mm)} x {plain(printer.bed_y_mm)} mm"
    return (
        f"The disc of {wide} x {deep} is larger than the printer’s bed of {bed}, and a running edge cannot "
        "be split; a smaller base radius or a larger bed is required."
    )


PARTS = LaneCheck(("too-large", "bad-part"), with_profile(parts))
