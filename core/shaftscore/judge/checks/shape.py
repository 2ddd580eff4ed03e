"""The rules about a disc's shape: pressure angle, undercut, crests, hollows, knife edge, face width.

Everything is read from the lane's profile, whose extremes are exact; the stretch of a pressure angle
over its limit is found between the profile's nodes and closed to 1e-9 degree. Angles of a profile are
of the lane's own stack; findings stand in the first of its turns in the cycle. A radius of 0 (a knife
edge) or a flat face has no roller.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from functools import partial
from typing import NamedTuple

import numpy as np

from shaftscore.base.angles import wrap
from shaftscore.base.tolerance import CURE_MM, LIMIT, over, under
from shaftscore.base.wording import millimetres, up_to
from shaftscore.judge.checks.base import Curable, Judge, LaneCheck
from shaftscore.judge.checks.moves import in_cycle, named, subject_of
from shaftscore.judge.checks.shape_cures import ShapeCures
from shaftscore.judge.findings import Cure, Finding, found
from shaftscore.judge.findings.record import Fact, Subject
from shaftscore.kinematics.motion.segments import Segment
from shaftscore.kinematics.profiles import Profile, ProfilePlace, Undercut
from shaftscore.kinematics.profiles.places import roots
from shaftscore.kinematics.profiles.stretches import over_limit
from shaftscore.model import TranslatingFlat
from shaftscore.solution import LaneSolution, Solution

Floats = np.ndarray[tuple[int], np.dtype[np.float64]]


def with_profile(judge: Callable[[Solution, LaneSolution, Profile], Iterable[Finding | Curable]]) -> Judge:
    """Leave out lanes that have no profile."""

    def run(solution: Solution, lane: LaneSolution) -> Iterable[Finding | Curable]:
        return () if lane.profile is None else judge(solution, lane, lane.profile)

    return run


def _segment(lane: LaneSolution, number: int) -> Segment:
    assert lane.motion is not None
    return lane.motion.segments[number]


def _about(lane: LaneSolution, number: int) -> tuple[tuple[Subject, ...], dict[str, Fact]]:
    """Return the subjects and facts that name segment `number`."""
    segment = _segment(lane, number)
    return subject_of(lane, segment), named(segment)


_KINDS = ("rise", "fall", "dwell", "curve")


def _place(facts: Mapping[str, Fact], flank: str = "inner") -> int:
    """Return a number that differs for a move, the dwell that it leads to, and a groove's flanks."""
    return _KINDS.index(str(facts["move"])) + len(_KINDS) * (flank == "outer")


def pressure_angle(_solution: Solution, lane: LaneSolution, profile: Profile) -> Iterator[Finding]:
    """Find every move that is steeper than its limit, at its worst place."""
    if profile.is_plainly_good:
        return
    places = [place for place in profile.steep_places if over(place.value, place.limit)]
    for place, (start, length) in zip(places, steep_spans(profile, places), strict=True):
        subjects, facts = _about(lane, place.segment)
        if facts["move"] == "curve":
            facts["move"] = "rise" if place.rise >= 0 else "fall"
        yield found(
            "pressure-angle",
            (lane.lane.id,),
            span=in_cycle(lane, start, length),
            value=place.value,
            limit=place.limit,
            subjects=subjects,
            place=_place(facts),
            at_deg=lane.course.place(place.theta_deg),
            facts=facts,
        )


def steep_spans(profile: Profile, places: Sequence[ProfilePlace]) -> list[tuple[float, float]]:
    """Return the stretch about each worst place in which the pressure angle is over its limit.

    Each has its start and length in degrees of the stack; it ends where the segment does, at the latest.
    All ends are closed in one pass.
    """
    segments = {number: slice(first, stop) for number, first, stop in profile.nodes.segments}
    ends = [_ends(profile, place, segments[place.segment]) for place in places]
    open_ends = [
        (place, end) for place, pair in zip(places, ends, strict=True) for end in pair if end.is_open
    ]
    closed = iter(_crossings(profile, open_ends))
    theta = profile.nodes.theta_deg
    spans = [[next(closed) if end.is_open else float(theta[end.low]) for end in pair] for pair in ends]
    return [(start, end - start) for start, end in spans]


class _End(NamedTuple):
    """Where a steep stretch ends: between two nodes, or, if they are one, at that node."""

    low: int
    high: int

    @property
    def is_open(self) -> bool:
        """Whether the end lies between two nodes."""
        return self.low != self.high


def _ends(profile: Profile, place: ProfilePlace, segment: slice) -> tuple[_End, _End]:
    """Return both ends of the stretch about a worst place of a segment."""
    inside = segment.start + np.flatnonzero(profile.nodes.rise[segment] == place.rise)
    excess = profile.steepness_deg[inside] - place.limit
    best = int(np.argmax(excess))
    under_limit = np.flatnonzero(excess <= 0)
    before, after = under_limit[under_limit < best], under_limit[under_limit > best]
    first = (before[-1], before[-1] + 1) if len(before) else (0, 0)
    last = (after[0] - 1, after[0]) if len(after) else (-1, -1)
    return _End(*inside[list(first)].tolist()), _End(*inside[list(last)].tolist())


def _crossings(profile: Profile, ends: Sequence[tuple[ProfilePlace, _End]]) -> list[float]:
    """Return the angle after each open end at which the pressure angle meets its limit, degrees."""
    if not ends:
        return []
    low, high = np.array([end for _, end in ends]).T
    limit = np.array([place.limit for place, _ in ends])

    def function(at: Floats) -> Floats:
        return np.asarray(np.abs(profile.at(at).pressure_deg) - limit)

    theta, steep = profile.nodes.theta_deg, profile.steepness_deg
    brackets = theta[low], theta[high], steep[low] - limit, steep[high] - limit
    return [float(angle) for angle in roots(function, *brackets)]


def curvature(_solution: Solution, lane: LaneSolution, profile: Profile) -> Iterator[Finding]:
    """Find undercuts, crests too sharp and hollows too tight, one a segment (and flank)."""
    if profile.is_plainly_good:
        return
    for number, undercut in enumerate(profile.undercuts()):
        yield _undercut_finding(lane, profile, undercut, number)
    for place in profile.crest_places:
        if place.value > 0 and under(place.value, place.limit):
            yield _radius_finding("sharp-crest", lane, profile, place)
    for place in profile.hollow_places:
        if under(place.value, place.limit):
            yield _radius_finding("tight-hollow", lane, profile, place)


def _undercut_finding(lane: LaneSolution, profile: Profile, undercut: Undercut, number: int) -> Finding:
    subjects, facts = _about(lane, undercut.segment)
    roller = profile.model.roller_radius_mm
    facts |= {"how": _undercut_kind(profile, undercut), "roller_mm": roller}
    if undercut.kind == "curve":
        facts["path_mm"] = undercut.radius_mm + roller
    if undercut.other_deg is not None:
        facts["other_deg"] = lane.course.place(undercut.other_deg)
    return found(
        "undercut",
        (lane.lane.id,),
        span=in_cycle(lane, undercut.theta_deg, 0.0),
        value=undercut.radius_mm if np.isfinite(undercut.radius_mm) else None,
        limit=0.0,
        subjects=subjects,
        place=number,
        facts=facts,
    )


def _undercut_kind(profile: Profile, undercut: Undercut) -> str:
    if undercut.kind != "curve":
        return undercut.kind
    if profile.model.is_flat:
        return "face"
    return "convex" if undercut.flank == "inner" else "hollow"


def _radius_finding(rule: str, lane: LaneSolution, profile: Profile, place: ProfilePlace) -> Finding:
    subjects, facts = _about(lane, place.segment)
    return found(
        rule,
        (lane.lane.id,),
        span=in_cycle(lane, place.theta_deg, 0.0),
        value=place.value,
        limit=place.limit,
        subjects=subjects,
        place=_place(facts, place.flank),
        roller_mm=profile.model.roller_radius_mm,
        facts=facts,
    )


def knife_edge(_solution: Solution, lane: LaneSolution, profile: Profile) -> Iterator[Finding]:
    """Find followers without a roller."""
    if profile.model.roller_radius_mm <= LIMIT and not profile.model.is_flat:
        yield found("knife-edge", (lane.lane.id,), value=profile.model.roller_radius_mm, limit=0.0)


def face_width(_solution: Solution, lane: LaneSolution, profile: Profile) -> Iterator[Finding]:
    """Yield a finding for a flat face narrower than the contact needs, where it is passed most."""
    needed, follower = profile.needed_face_width_mm, profile.follower
    if needed is None or not isinstance(follower, TranslatingFlat):
        return
    width = follower.face_width_mm
    if over(needed, width):
        nodes, reach = profile.nodes, 2 * np.abs(profile.nodes.lift[1])
        past = over_limit(
            nodes,
            reach - width,
            lambda theta: 2 * np.abs(profile.at(wrap(theta)).lift[1]) - width,
            float(nodes.theta_deg[int(np.argmax(reach))]),
        )
        yield found(
            "face-width",
            (lane.lane.id,),
            span=in_cycle(lane, past.worst.start, past.worst.length),
            value=needed,
            limit=width,
            cure=_wider(lane.lane.id, needed, width),
            others=past.others,
        )


def _wider(lane_id: str, needed_mm: float, width_mm: float) -> Cure:
    wide = up_to(needed_mm, CURE_MM)
    text = f"Face {millimetres(wide)} wide, {millimetres(up_to(wide - width_mm, CURE_MM))} more."
    return Cure(sentence=text, edit="set_follower", arguments={"lane_id": lane_id, "face_width_mm": wide})


def shape(solution: Solution, lane: LaneSolution, profile: Profile) -> Iterator[Curable]:
    """Find what a larger base radius or a longer move may cure."""
    cures = ShapeCures(solution.project, lane)
    for judge in (pressure_angle, curvature):
        for finding in judge(solution, lane, profile):
            yield Curable(finding, partial(cures.cure, finding), slow=True)


SHAPE = LaneCheck(
    (
        "pressure-angle",
        "undercut",
        "sharp-crest",
        "tight-hollow",
    ),
    with_profile(shape),
)
KNIFE_EDGE = LaneCheck(("knife-edge",), with_profile(knife_edge))
FACE_WIDTH = LaneCheck(("face-width",), with_profile(face_width))
