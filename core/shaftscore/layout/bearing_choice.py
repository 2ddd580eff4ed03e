"""Which ball bearings would do as the roller of a lane: what each would make of its disc."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Literal

from shaftscore.base.errors import EditError
from shaftscore.base.tolerance import over, under
from shaftscore.built.bearings import BEARINGS, BearingSize
from shaftscore.edits import set_follower
from shaftscore.kinematics.profiles import Profile
from shaftscore.model import Lane, Project, TranslatingFlat
from shaftscore.solution import solve

BearingVerdict = Literal[
    "fits",
    "crest too sharp",
    "hollow too tight",
    "undercut",
    "too steep",
    "no height to spare",
    "wider than the disc",
    "no disc possible",
]
"""What is said of a bearing, in a word."""


@dataclass(frozen=True)
class BearingChoice:
    """A bearing as the roller of a lane.

    own: whether it is of the person's own table. crest_mm, pressure_deg: tightest crest and largest pressure
    angle of the disc with it; None where it has no disc. is_chosen: whether the lane has it.
    """

    name: str
    size: BearingSize
    own: bool
    crest_mm: float | None
    pressure_deg: float | None
    verdict: BearingVerdict
    is_chosen: bool

    @property
    def works(self) -> bool:
        """Whether a machine with it can be made."""
        return self.verdict in ("fits", "no height to spare")


def bearing_choices(
    project: Project, lane: Lane, own: Mapping[str, BearingSize] | None = None
) -> Iterator[BearingChoice]:
    """Yield every bearing as the roller of a lane, smallest first; none for a flat face.

    own: a person's own sizes. A lane is solved with each: about 0.01 s of a processor a bearing.
    """
    if isinstance(lane.follower, TranslatingFlat):
        return
    sizes = {**BEARINGS, **(own or {})}
    for name, size in sorted(sizes.items(), key=lambda item: (item[1].outer_mm, item[1].bore_mm)):
        yield _choice(project, lane, name, size, own=name not in BEARINGS)


def bearing_fields(name: str, size: BearingSize) -> dict[str, object]:
    """Return the fields of a follower that make a bearing its roller.

    A bearing of the standard table goes by its name; another one by its sizes, so that a file can be read by
    whoever has not got the person's own table.
    """
    if name in BEARINGS:
        return {"bearing": name}
    return {"bearing": None, "roller_radius_mm": size.outer_mm / 2, "width_mm": size.width_mm}


def _choice(project: Project, lane: Lane, name: str, size: BearingSize, *, own: bool) -> BearingChoice:
    follower = lane.follower
    assert not isinstance(follower, TranslatingFlat)
    chosen = follower.bearing == name
    if own:
        given = (follower.roller_radius_mm, follower.width_mm)
        chosen = follower.bearing is None and given == (size.outer_mm / 2, size.width_mm)
    profile = _profile(project, lane, name, size)
    if profile is None:
        return BearingChoice(name, size, own, None, None, "no disc possible", chosen)
    verdict = _verdict(project, lane, size, profile)
    crest, pressure = profile.min_convex_radius_mm, profile.max_pressure_angle_deg
    return BearingChoice(name, size, own, crest, pressure, verdict, chosen)


def _profile(project: Project, lane: Lane, name: str, size: BearingSize) -> Profile | None:
    """Return the profile of a lane with a bearing; None where there is none."""
    try:
        edited = set_follower(project, lane.id, **bearing_fields(name, size)).project
    except EditError:
        return None
    return solve(edited, lanes=[lane.id]).lanes[lane.id].profile


def _verdict(project: Project, lane: Lane, size: BearingSize, profile: Profile) -> BearingVerdict:
    """Return the first thing that speaks against a bearing, the worst first."""
    thick = project.lane(lane.disc_of or lane.id).disc.thickness_mm
    spare = (thick - size.width_mm) / 2
    if under(spare, 0.0):
        return "wider than the disc"
    if (trouble := _trouble(profile)) is not None:
        return trouble
    return "no height to spare" if under(spare, project.follower_z_mm(project.stack_of(lane))) else "fits"


def _trouble(profile: Profile) -> BearingVerdict | None:
    """Return what a check of the disc would find, the worst first; None for nothing."""
    if any(under(place.value, place.limit) for place in profile.crest_places):
        return "crest too sharp"
    if any(under(place.value, place.limit) for place in profile.hollow_places):
        return "hollow too tight"
    if profile.undercuts():
        return "undercut"
    return "too steep" if any(over(place.value, place.limit) for place in profile.steep_places) else None
