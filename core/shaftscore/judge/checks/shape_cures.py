"""Cures of a disc's shape: a larger base radius, or more angle for the move.

Both take root finding, so they are looked for when there is time. A base radius is offered where one is
given that is too small: the smallest that meets all limits. A longer move is offered where one would
meet them all over the base radius as it is: the dwell before it ends earlier, or the block that it leads
to begins later. Numbers are rounded up to 0.1, and tried before they are offered.

Moves alike in all but their length share one search, and findings share what was tried. The work on one
lane is bounded by a count of nodes, never by a clock: where a lane has many findings, the first of them get
their cures and the rest none.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from functools import cached_property

from shaftscore.base.tolerance import CURE_DEG, CURE_MM, over, under
from shaftscore.base.wording import degrees, down_to, millimetres, up_to
from shaftscore.edits import BlockRef
from shaftscore.judge.checks.cures import Attempt, begun, ended, is_free, tried
from shaftscore.judge.findings import Cure, Finding
from shaftscore.kinematics.motion.lane import LaneMotion
from shaftscore.kinematics.motion.segments import Dwell, Move
from shaftscore.kinematics.profiles import Profile, build_profile, own_base, shortest_move
from shaftscore.model import Lane, Project, replaced
from shaftscore.solution import LaneSolution
from shaftscore.solution.lane import motion_of

MOST_NODES = 200_000
"""Cures of one lane are looked for until they have cost the work of so many nodes of a profile."""

LENGTH_NODES = 5_000
"""The search of a shortest length costs as much as so many nodes."""

RADIUS_NODES = 4
"""The search of a base radius costs so many times the nodes of the lane's profile."""

Said = tuple[str, str]
"""A segment as findings name it: what it is, and the level that it leads to."""


@dataclass
class ShapeCures:
    """Cures of one lane's disc; radius and lengths are worked out once, when first asked for."""

    project: Project
    lane: LaneSolution
    spent: int = 0
    _lengths: dict[Move, float | None] = field(default_factory=dict)
    _tried: dict[object, _Tried | None] = field(default_factory=dict)

    def cure(self, finding: Finding) -> Cure | None:
        """Return the cure of a finding, or None if none is known or the work on the lane is spent.

        The edit is the base radius where that cures, because it leaves the timing alone.
        """
        if self.lane.motion is None or finding.facts.get("how") == "corner":
            return None
        move = self._moves.get(_block_of(finding))
        cure = next((one for one in self._attempts(move) if self._cures(one, finding)), None)
        if cure is None:
            return None
        radius = self.radius if cure.edit == "set_disc" else None
        ways = CureWays(radius, None if move is None else self._length(move), move, self._roller(finding))
        return Cure(sentence=_sentence(finding, ways), edit=cure.edit, arguments=cure.arguments)

    @property
    def _is_spent(self) -> bool:
        return self.spent >= MOST_NODES

    @cached_property
    def _moves(self) -> dict[int | None, Move]:
        """The moves of the lane by the block that each leads to."""
        segments = () if self.lane.motion is None else self.lane.motion.segments
        return {segment.block: segment for segment in segments if isinstance(segment, Move)}

    @cached_property
    def radius(self) -> float | None:
        """The smallest base radius that meets all limits, mm, where a smaller one is given."""
        lane, motion = self.lane.lane, self.lane.motion
        given = lane.disc.base_radius_mm
        if given == "auto" or motion is None or lane.kind == "rider":
            return None
        self.spent += RADIUS_NODES * _nodes(self.lane.profile)
        free = replaced(lane, disc=replaced(lane.disc, base_radius_mm="auto"))
        base = own_base(self.project, free, motion)
        radius = up_to(base.radius_mm, CURE_MM)
        return radius if base.fits and radius > given else None

    def _length(self, move: Move) -> float | None:
        """Return the shortest length that a move needs, degrees, where it is longer than it has."""
        alike = replace(move, start_deg=0.0, length_deg=0.0, block=0)
        if alike not in self._lengths:
            if self._is_spent:
                return None
            self.spent += LENGTH_NODES
            shared = None if self.lane.shared is None else self.lane.shared.radius_mm
            shortest = shortest_move(self.project, self.lane.lane, move, base_radius_mm=shared)
            self._lengths[alike] = None if shortest is None else up_to(shortest, CURE_DEG)
        length = self._lengths[alike]
        return length if length is not None and length > move.length_deg else None

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

    def _cures(self, attempt: Attempt, finding: Finding) -> bool:
        """Return whether the edited lane keeps the rule on the same move or dwell.

        Each edit is made once; the base radius, which is one for all findings, whatever was spent.
        """
        key = attempt.edit, tuple(attempt.arguments.items())
        if key not in self._tried:
            if self._is_spent and attempt.edit != "set_disc":
                return False
            edited = tried(self.project, attempt)
            self._tried[key] = None if edited is None else _Tried.of(edited, self.lane.lane.id)
            self.spent += _nodes(self.lane.profile)
        made = self._tried[key]
        return made is not None and not made.still(finding)

    def _roller(self, finding: Finding) -> float | None:
        """Return the radius that the roller must stay under, mm, where a smaller roller cures an undercut."""
        if finding.facts.get("how") != "convex":
            return None
        under_mm = down_to(float(finding.facts["path_mm"]), CURE_MM)
        if under_mm - CURE_MM <= 0:
            return None
        smaller = {"lane_id": self.lane.lane.id, "roller_radius_mm": round(under_mm - CURE_MM, 6)}
        return under_mm if self._cures(Attempt("set_follower", smaller, ""), finding) else None


@dataclass(frozen=True, eq=False)
class _Tried:
    """An edited lane: its motion and profile, and which segments break which rule, asked for once a rule."""

    motion: LaneMotion
    profile: Profile
    _broken: dict[str, frozenset[Said]] = field(default_factory=dict)

    @classmethod
    def of(cls, project: Project, lane_id: str) -> _Tried | None:
        """Return the lane of an edited project, or None if it has no disc there."""
        lane = project.lane(lane_id)
        motion = motion_of(project, lane)
        profile = build_profile(project, lane, motion) if isinstance(motion, LaneMotion) else None
        if not isinstance(profile, Profile) or not isinstance(motion, LaneMotion):
            return None
        return cls(motion, profile)

    def still(self, finding: Finding) -> bool:
        """Return whether the rule of a finding is still broken on the same move or dwell."""
        if finding.rule not in self._broken:
            numbers = _broken(self.profile, finding.rule)
            self._broken[finding.rule] = frozenset(_says(self.motion, number) for number in numbers)
        return _said(finding) in self._broken[finding.rule]


def _nodes(profile: Profile | None) -> int:
    return 0 if profile is None else len(profile.nodes.theta_deg)


@dataclass(frozen=True)
class CureWays:
    """The ways to cure: a base radius (mm), a length (degrees) of a move, a roller radius to stay under."""

    radius_mm: float | None
    length_deg: float | None
    move: Move | None
    roller_mm: float | None


def _block_of(finding: Finding) -> int | None:
    """Return the block to which the move of a finding leads, or None if it is about a dwell or a spline."""
    refs = [subject for subject in finding.subjects if isinstance(subject, BlockRef)]
    return refs[0].index if refs and finding.facts.get("move") in ("rise", "fall") else None


def _before(lane: Lane, motion: LaneMotion, move: Move) -> BlockRef:
    """Name the last block of the dwell that a move leaves."""
    at = motion.segments.index(move)
    dwell = motion.segments[at - 1]
    assert isinstance(dwell, Dwell)
    return BlockRef(lane.program_id, dwell.blocks[-1])


def _broken(profile: Profile, rule: str) -> list[int]:
    """Return the numbers of the segments that break a rule."""
    if rule == "pressure-angle":
        return [place.segment for place in profile.steep_places if over(place.value, place.limit)]
    if rule == "undercut":
        return [undercut.segment for undercut in profile.undercuts()]
    places = profile.crest_places if rule == "sharp-crest" else profile.hollow_places
    return [place.segment for place in places if under(place.value, place.limit)]


def _says(motion: LaneMotion, number: int) -> Said:
    """Name a segment as findings do, by what it is and the level that it leads to."""
    segment = motion.segments[number]
    if isinstance(segment, Move):
        return ("rise" if segment.rise_mm >= 0 else "fall", segment.to_level)
    return ("dwell", segment.level) if isinstance(segment, Dwell) else ("curve", "")


def _said(finding: Finding) -> Said:
    return str(finding.facts["move"]), str(finding.facts["to_level"])


def _sentence(finding: Finding, ways: CureWays) -> str:
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
