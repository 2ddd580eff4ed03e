"""Followers of neighbouring lanes spread over stations, or over tiers, so that no two come too near.

*Stations* are equally spread: the lanes whose followers collide go to the fewest of them at which every
part keeps the required clearance, bottom to top and in turn where that is enough. All other lanes stay.
*Tiers* are thicker spacers, so that each follower has its own height. What comes too near is judged by
`judge.bodies` alone: two parts that are both turned by the same angle keep their clearance, so that only the
difference of two stations counts. A lane with riders, and its riders, stay where they are, because their
programs would move.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property

from shaftscore.base.angles import TURN, wrap
from shaftscore.base.errors import EditError
from shaftscore.base.wording import degrees
from shaftscore.edits import set_stack
from shaftscore.judge.bodies import BodyPair, BodyPart, keeps_apart, on_one_rod, pairs_of, parts_of, too_near
from shaftscore.judge.bodies.parts import STANDING, TURNING, Turning
from shaftscore.judge.checks.cures import printable_from
from shaftscore.model import Project, Stack
from shaftscore.solution import Solution

MOST_STATIONS = 12
"""Followers are spread over so many stations at most: 30° apart."""

MOST_MEASURED = 2_000
"""The search ends when so many pairs of parts were measured."""

MOST_TRIED = 20_000
"""The search ends when so many lanes were put at a station."""

BESIDE = (*TURNING, "pinion")
"""Kinds of parts that are no follower's."""


@dataclass(frozen=True)
class StationSpread:
    """Lanes and the stations at which nothing comes too near to them.

    angles_deg: the stations, equally spread. stations: lane id to station, degrees, bottom to top.
    """

    angles_deg: tuple[float, ...]
    stations: Mapping[str, float]

    @property
    def angles_text(self) -> str:
        """The stations as people read them."""
        return ", ".join(angle_text(angle) for angle in self.angles_deg)

    @property
    def text(self) -> str:
        """The stations as a part of a sentence."""
        count = len(self.stations)
        if len(self.angles_deg) == 1:
            return f"station {self.angles_text} for all {count} lanes whose followers collide"
        return f"stations {self.angles_text} for the {count} lanes whose followers collide"


def angle_text(angle_deg: float) -> str:
    """Return a station as people read it: whole degrees where it is."""
    return degrees(angle_deg, 0 if angle_deg == round(angle_deg) else 1)


def collisions(parts: Sequence[BodyPart], stack: Stack) -> tuple[BodyPair, ...]:
    """Return the pairs of followers' parts of different lanes that come too near to one another."""
    return tuple(
        pair
        for pair in pairs_of(tuple(parts), stack)
        if is_of_followers(pair) and too_near(pair, stack.body_clearance_mm) is not None
    )


def is_of_followers(pair: BodyPair) -> bool:
    """Return whether both parts of a pair are followers', with their guides and rods."""
    return pair.first.kind not in BESIDE and pair.second.kind not in BESIDE


def is_hopeless(pair: BodyPair, stack: Stack) -> bool:
    """Return whether the first part reaches the other at every station: a disc's round core, a spacer."""
    body = pair.second.body
    if pair.second.kind in TURNING and pair.second.kind != "disc":
        return True
    if not isinstance(body, Turning):
        return False
    return pair.first.near_mm < body.profile.min_radius_mm + stack.body_clearance_mm


def spread_over_stations(
    solution: Solution, stack: Stack, parts: Sequence[BodyPart], colliding: Sequence[BodyPair]
) -> StationSpread | None:
    """Return the fewest stations that part the followers of colliding pairs; None where none are found.

    parts: of the stack. The lowest of the lanes that move keeps its station.
    """
    lanes = movable(solution.project, stack, colliding)
    if not lanes:
        return None
    search = _StationSearch(solution.project, stack, tuple(parts), lanes)
    if search.is_hopeless:
        return None
    for count in range(1, MOST_STATIONS + 1):
        found = search.over(count)
        if found is not None or search.has_ended:
            return found
    return None


def movable(project: Project, stack: Stack, colliding: Sequence[BodyPair]) -> tuple[str, ...]:
    """Return the lanes of colliding pairs that may go to another station, bottom to top."""
    lanes = {part.lane for pair in colliding for part in (pair.first, pair.second)}
    ridden = {lane.disc_of for lane in project.lanes}
    return tuple(lane.id for lane in project.discs_of(stack) if lane.id in lanes and lane.id not in ridden)


@dataclass(eq=False)
class _StationSearch:
    """Puts lanes at stations, one after the other from the bottom; what was measured is known."""

    project: Project
    stack: Stack
    parts: tuple[BodyPart, ...]
    lanes: tuple[str, ...]
    tried: int = 0
    _known: dict[tuple[str, str, float], bool] = field(default_factory=dict)
    measured: int = 0

    @cached_property
    def _pairs(self) -> Mapping[str, Mapping[str, tuple[BodyPair, ...]]]:
        """The pairs of each lane that moves with every other lane, whose heights let them meet.

        Whether two turn on one rod is looked up at each station.
        """
        found: dict[str, dict[str, tuple[BodyPair, ...]]] = {lane: {} for lane in self.lanes}
        for pair in _without_rods(self.parts, self.stack):
            if (
                pair.second.kind in TURNING and pair.second.kind != "disc"
            ):  # round about the axis: a station changes nothing
                continue
            for own, other in ((pair.first.lane, pair.second.lane), (pair.second.lane, pair.first.lane)):
                if own in found:
                    found[own][other] = (*found[own].get(other, ()), pair)
        return found

    @property
    def has_ended(self) -> bool:
        """Whether all the work that is allowed was done."""
        return self.tried >= MOST_TRIED or self.measured >= MOST_MEASURED

    @property
    def is_hopeless(self) -> bool:
        """Whether some part of a lane that moves reaches a disc at every station."""
        pairs = (pair for others in self._pairs.values() for own in others.values() for pair in own)
        return any(is_hopeless(pair, self.stack) for pair in pairs)

    def over(self, count: int) -> StationSpread | None:
        """Return the lanes at `count` stations, the lowest lane at its own; None where none is found."""
        base = self.project.lane(self.lanes[0]).station_deg
        angles = [round(wrap(base + TURN * number / count), 6) for number in range(count)]
        places = self._placed(angles)
        if places is None:
            return None
        stations = {lane: angles[place] for lane, place in zip(self.lanes, places, strict=True)}
        return StationSpread(tuple(sorted(set(stations.values()))), stations)

    def _placed(self, angles: Sequence[float]) -> list[int] | None:
        """Put lane after lane at the first free station after its neighbour's; go back if none is."""
        places: list[int] = []
        left: list[Iterator[int]] = [iter((0,))]
        while left:
            place = next(left[-1], None)
            if place is None:
                left.pop()
                if places:
                    places.pop()
                continue
            self.tried += 1
            if self.has_ended:
                return None
            if not self._is_free(places, angles, place):
                continue
            places.append(place)
            if len(places) == len(self.lanes):
                return places
            left.append(iter([(place + 1 + step) % len(angles) for step in range(len(angles))]))
        return None

    def _is_free(self, places: Sequence[int], angles: Sequence[float], place: int) -> bool:
        """Return whether the next lane may be at a place, with those below it at theirs."""
        lane = self.lanes[len(places)]
        below = {other: angles[at] for other, at in zip(self.lanes, places, strict=False)}
        above = set(self.lanes[len(places) + 1 :])
        return all(
            self._is_apart(lane, angles[place], other, below.get(other))
            for other in self._pairs[lane]
            if other not in above
        )

    def _is_apart(self, lane: str, at_deg: float, other: str, other_deg: float | None) -> bool:
        """Return whether two lanes keep apart at stations; other_deg None: where the other is now."""
        by = at_deg - self.project.lane(lane).station_deg
        if other_deg is not None:
            by -= other_deg - self.project.lane(other).station_deg
        key = (lane, other, round(wrap(round(by, 6)), 6))
        if key not in self._known:
            turned = [_turned(pair, lane, key[2]) for pair in self._pairs[lane][other]]
            pairs = [pair for pair in turned if not on_one_rod(pair.first, pair.second)]
            self.measured += len(pairs)
            limit = self.stack.body_clearance_mm
            apart = all(pair.looks_apart(limit) for pair in pairs)
            self._known[key] = apart and all(keeps_apart(pair, limit) for pair in pairs)
        return self._known[key]


def _without_rods(parts: Sequence[BodyPart], stack: Stack) -> Iterator[BodyPair]:
    """Yield the pairs whose heights let them meet, those too that share a rod where they are now."""
    bare = [replace(part, axle=None) for part in parts]
    own = {id(one): part for one, part in zip(bare, parts, strict=True)}
    for pair in pairs_of(tuple(bare), stack):
        yield BodyPair(own[id(pair.first)], own[id(pair.second)])


def _turned(pair: BodyPair, lane: str, by_deg: float) -> BodyPair:
    """Return a pair with the part of a lane `by_deg` further on; of a disc, the other one as much back.

    That is the same, and the disc's outline need not be laid out again.
    """
    if pair.first.lane == lane:
        return BodyPair(pair.first.turned(by_deg), pair.second)
    return BodyPair(pair.first.turned(-by_deg), pair.second)


def tier_spacer_mm(solution: Solution, stack: Stack, colliding: Sequence[BodyPair]) -> float | None:
    """Return the thickness of spacers, mm, at which no two followers of colliding pairs meet in height.

    It is a whole count of layers. None where a pivot rod is among them, which passes all heights, or two
    followers run on one disc.
    """
    order = {lane.id: place for place, lane in enumerate(solution.project.discs_of(stack))}
    more = 0.0
    for pair in colliding:
        between = abs(order[pair.first.host] - order[pair.second.host])
        if between == 0 or {pair.first.kind, pair.second.kind} & {*STANDING}:
            return None
        gap = max(pair.second.bottom_mm - pair.first.top_mm, pair.first.bottom_mm - pair.second.top_mm)
        more = max(more, (stack.body_clearance_mm - gap) / between)
    spacer = printable_from(solution.project, stack.spacer_mm + more)
    return spacer if _keeps_heights(solution, stack, colliding, spacer) else None


def _keeps_heights(solution: Solution, stack: Stack, colliding: Sequence[BodyPair], spacer_mm: float) -> bool:
    """Return whether pairs are at different heights with other spacers."""
    try:
        project = set_stack(solution.project, stack.id, spacer_mm=spacer_mm).project
    except EditError:
        return False
    made = next(one for one in project.stacks if one.id == stack.id)
    parts = parts_of(replace(solution, project=project), made)
    met = {part_names(pair) for pair in pairs_of(parts, made)}
    return not met & {part_names(pair) for pair in colliding}


def part_names(pair: BodyPair) -> tuple[str, ...]:
    """Return what both parts of a pair are, and whose: the same before and after an edit."""
    return pair.first.kind, pair.first.lane, pair.second.kind, pair.second.lane
