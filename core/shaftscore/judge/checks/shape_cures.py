"""Cures of a disc's shape: a larger base radius, or more angle for the move.

Both take root finding, so they are looked for when there is time. A base radius is offered where one is
given that is too small: the smallest that meets all limits. A longer move is offered where one would
meet them all over the base radius as it is: the dwell before it ends earlier, or the block that it leads
to begins later. Numbers are rounded up to 0.1, and tried before they are offered.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from functools import cached_property

from shaftscore.base.tolerance import CURE_DEG, over, under
from shaftscore.base.wording import degrees, down_to, millimetres, up_to
from shaftscore.edits import BlockRef
from shaftscore.judge.checks.cures import Attempt, begun, ended, first_verified, is_free
from shaftscore.judge.findings import Cure, Finding
from shaftscore.kinematics.motion.lane import LaneMotion
from shaftscore.kinematics.motion.segments import Dwell, Move
from shaftscore.kinematics.profiles import Profile, build_profile, own_base, shortest_move
from shaftscore.model import Lane, Project, replaced
from shaftscore.solution import LaneSolution, Solution
from shaftscore.solution.lane import motion_of

CURE_MM = 0.1
"""Lengths in cures are rounded outward to this many mm."""


def gentler(solution: Solution, lane: LaneSolution) -> Callable[[Finding], Cure | None]:
    """Return what looks for the cures of a lane's findings about its shape."""
    return ShapeCures(solution.project, lane).cure


@dataclass
class ShapeCures:
    """Cures of one lane's disc; radius and lengths are worked out once, when first asked for."""

    project: Project
    lane: LaneSolution
    _lengths: dict[int, float | None] = field(default_factory=dict)

    def cure(self, finding: Finding) -> Cure | None:
        """Return the cure of a finding, or None if none is known.

        The edit is the base radius where that cures, because it leaves the timing alone.
        """
        if self.lane.motion is None or finding.facts.get("how") == "corner":
            return None
        move = _move_of(self.lane.motion, finding)
        lane_id = self.lane.lane.id
        cure = first_verified(
            self.project, self._attempts(move), lambda edited: not _still(edited, lane_id, finding)
        )
        if cure is None:
            return None
        radius = self.radius if cure.edit == "set_disc" else None
        ways = Ways(radius, None if move is None else self._length(move), move, self._roller(finding))
        return Cure(sentence=_sentence(finding, ways), edit=cure.edit, arguments=cure.arguments)

    @cached_property
    def radius(self) -> float | None:
        """The smallest base radius that meets all limits, mm, where a smaller one is given."""
        lane, motion = self.lane.lane, self.lane.motion
        given = lane.disc.base_radius_mm
        if given == "auto" or motion is None or lane.kind == "rider":
            return None
        free = replaced(lane, disc=replaced(lane.disc, base_radius_mm="auto"))
        base = own_base(self.project, free, motion)
        radius = up_to(base.radius_mm, CURE_MM)
        return radius if base.fits and radius > given else None

    def _length(self, move: Move) -> float | None:
        """Return the shortest length that a move needs, degrees, where it is longer than it has."""
        if move.block not in self._lengths:
            shared = None if self.lane.shared is None else self.lane.shared.radius_mm
            shortest = shortest_move(self.project, self.lane.lane, move, base_radius_mm=shared)
            length = None if shortest is None else up_to(shortest, CURE_DEG)
            longer = length is not None and length > move.length_deg
            self._lengths[move.block] = length if longer else None
        return self._lengths[move.block]

    def _attempts(self, move: Move | None) -> Iterator[Attempt]:
        """Yield the edits to try, the base radius first; their sentence is made afterwards."""
        lane, project = self.lane.lane, self.project
        if self.radius is not None:
            yield Attempt("set_disc", {"lane_id": lane.id, "base_radius_mm": self.radius}, "")
        length = None if move is None else self._length(move)
        if move is None or length is None or self.lane.motion is None:
            return
        more = length - move.length_deg
        before, after = _before(lane, self.lane.motion, move), BlockRef(lane.program_id, move.block)
        for ref, change, by in ((before, ended, -more), (after, begun, more)):
            attempt = change(project, ref, by) if is_free(project, ref) else None
            if attempt is not None:
                yield attempt

    def _roller(self, finding: Finding) -> float | None:
        """Return the radius that the roller must stay under, mm, where a smaller roller cures an undercut."""
        if finding.facts.get("how") != "convex":
            return None
        under_mm = down_to(float(finding.facts["path_mm"]), CURE_MM)
        if under_mm - CURE_MM <= 0:
            return None
        smaller = {"lane_id": self.lane.lane.id, "roller_radius_mm": round(under_mm - CURE_MM, 6)}
        attempt = (Attempt("set_follower", smaller, ""),)
        cured = first_verified(
            self.project, attempt, lambda edited: not _still(edited, self.lane.lane.id, finding)
        )
        return None if cured is None else under_mm


@dataclass(frozen=True)
class Ways:
    """The ways to cure: a base radius (mm), a length (degrees) of a move, a roller radius to stay under."""

    radius_mm: float | None
    length_deg: float | None
    move: Move | None
    roller_mm: float | None


def _move_of(motion: LaneMotion, finding: Finding) -> Move | None:
    """Return the move that a finding is about, or None if it is about a dwell or a spline."""
    refs = [subject for subject in finding.subjects if isinstance(subject, BlockRef)]
    if not refs or finding.facts.get("move") not in ("rise", "fall"):
        return None
    moves = [segment for segment in motion.segments if isinstance(segment, Move)]
    return next((move for move in moves if move.block == refs[0].index), None)


def _before(lane: Lane, motion: LaneMotion, move: Move) -> BlockRef:
    """Name the last block of the dwell that a move leaves."""
    at = motion.segments.index(move)
    dwell = motion.segments[at - 1]
    assert isinstance(dwell, Dwell)
    return BlockRef(lane.program_id, dwell.blocks[-1])


def _still(project: Project, lane_id: str, finding: Finding) -> bool:
    """Return whether an edited lane still breaks the rule, on the same move or dwell, or has no disc."""
    lane = project.lane(lane_id)
    motion = motion_of(project, lane)
    profile = build_profile(project, lane, motion) if isinstance(motion, LaneMotion) else None
    if not isinstance(profile, Profile) or not isinstance(motion, LaneMotion):
        return True
    return any(_says(motion, segment) == _said(finding) for segment in _broken(profile, finding.rule))


def _broken(profile: Profile, rule: str) -> list[int]:
    """Return the numbers of the segments that break a rule."""
    if rule == "pressure-angle":
        return [place.segment for place in profile.steep_places if over(place.value, place.limit)]
    if rule == "undercut":
        return [undercut.segment for undercut in profile.undercuts()]
    places = profile.crest_places if rule == "sharp-crest" else profile.hollow_places
    return [place.segment for place in places if under(place.value, place.limit)]


def _says(motion: LaneMotion, number: int) -> tuple[str, str]:
    """Name a segment as findings do, by what it is and the level that it leads to."""
    segment = motion.segments[number]
    if isinstance(segment, Move):
        return ("rise" if segment.rise_mm >= 0 else "fall", segment.to_level)
    return ("dwell", segment.level) if isinstance(segment, Dwell) else ("curve", "")


def _said(finding: Finding) -> tuple[str, str]:
    return str(finding.facts["move"]), str(finding.facts["to_level"])


def _sentence(finding: Finding, ways: Ways) -> str:
    """Write the ways to cure as one order, the rule's usual way first."""
    radius = "" if ways.radius_mm is None else f"base radius {millimetres(ways.radius_mm)}"
    length = more = ""
    if ways.move is not None and ways.length_deg is not None:
        kind = "rise" if ways.move.rise_mm >= 0 else "fall"
        length = f"give the {kind} {degrees(ways.length_deg)}"
        more = f"{degrees(up_to(ways.length_deg - ways.move.length_deg, CURE_DEG))} more for the move"
    roller = "" if ways.roller_mm is None else f"roller under {millimetres(ways.roller_mm)}"
    if finding.rule == "undercut":
        said = [radius or length, roller]
    elif finding.rule == "tight-hollow":
        said = [radius, more] if radius else [length]
    else:
        said = [length, radius]
    text = ", or ".join(filter(None, said))
    return f"{text[:1].upper()}{text[1:]}."
