"""Cures of interference: spacers, another station or place in the stack, tried before they are offered.

Where the followers of three lanes or more collide, all of them at once are spread over stations first.

A spacer is cured if the pair keeps apart after it; a station or a place in the stack only if nothing
comes too near to what it moves. A lane that is moved to another station keeps its program; a lane with riders
stays where it is, because their programs would move. Stations and places are found once a lane.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property

from shaftscore.base.angles import wrap
from shaftscore.base.errors import EditError
from shaftscore.base.tolerance import CURE_MM
from shaftscore.base.wording import degrees, down_to, millimetres, up_to
from shaftscore.edits import apply_edit
from shaftscore.judge.bodies import BodyPair, BodyPart, keeps_apart, pairs_of, parts_of
from shaftscore.judge.bodies.parts import STANDING, Body
from shaftscore.judge.checks.cures import Attempt
from shaftscore.judge.checks.spread import (
    is_hopeless,
    is_of_followers,
    movable,
    part_names,
    spread_over_stations,
)
from shaftscore.judge.findings import Cure, Finding
from shaftscore.model import Lane, Stack
from shaftscore.solution import Solution

STEP_DEG = 10
"""Stations are tried in these steps."""

SPREAD_FROM = 3
"""Followers of so many lanes are spread together; of two, moving one is enough."""

NOT_A_LANES = ("hub", "wheel", "pinion")
NOT_AT_STATION = ("spacer", *NOT_A_LANES)
"""Kinds of parts that are no lane's own: another station of a lane does not move them."""

MOST_PLACES = 6
"""Places in the stack that are tried for a disc, the nearest first."""


@dataclass(frozen=True, eq=False)
class CureFinder:
    """Finds the cures of one stack.

    parts: at their heights in the solution's project. met: all pairs that come too near.
    """

    solution: Solution
    stack: Stack
    parts: tuple[BodyPart, ...]
    met: tuple[BodyPair, ...] = ()
    _stations: dict[str, Attempt | None] = field(default_factory=dict, repr=False)
    _places: dict[str, Attempt | None] = field(default_factory=dict, repr=False)

    def cure(self, pair: BodyPair, finding: Finding) -> Cure | None:
        """Return the first way that cures as an edit, with all that do in its sentence; None if none does."""
        ways = [*self._spread(pair), *self._spacers(pair, finding), *self._station(pair), *self._place(pair)]
        if not ways:
            return None
        text = ", or ".join(way.sentence for way in ways)
        sentence = f"{text[:1].upper()}{text[1:]}."
        return Cure(sentence=sentence, edit=ways[0].edit, arguments=ways[0].arguments)

    # All followers that collide at once

    def _spread(self, pair: BodyPair) -> Iterator[Attempt]:
        """Yield the stations that part all followers that collide, for a pair of them."""
        way = self._all_spread if is_of_followers(pair) else None
        if way is not None and {pair.first.lane, pair.second.lane} & {*self._colliding_lanes}:
            yield way

    @cached_property
    def _colliding(self) -> tuple[BodyPair, ...]:
        return tuple(pair for pair in self.met if is_of_followers(pair))

    @cached_property
    def _colliding_lanes(self) -> tuple[str, ...]:
        return movable(self.solution.project, self.stack, self._colliding)

    @cached_property
    def _all_spread(self) -> Attempt | None:
        if len(self._colliding_lanes) < SPREAD_FROM:
            return None
        found = spread_over_stations(self.solution, self.stack, self.parts, self._colliding)
        if found is None:
            return None
        return Attempt("spread_followers", {"stations": dict(found.stations)}, found.text)

    # Spacers

    def _spacers(self, pair: BodyPair, finding: Finding) -> Iterator[Attempt]:
        """Yield spacers between the two parts that are thick enough, or small enough to be passed."""
        if _stands(pair) or {pair.first.kind, pair.second.kind} & {*NOT_A_LANES}:
            return
        stack = self.stack
        changed: dict[str, object]
        if pair.second.kind == "spacer":
            short = stack.body_clearance_mm - (finding.value or 0.0)
            radius = down_to(stack.spacer_radius_mm - short, CURE_MM)
            text = f"spacer radius {millimetres(radius)}"
            changed = {"stack_id": stack.id, "spacer_radius_mm": radius}
        else:
            between = max(1, self._layers_between(pair))
            gap = max(pair.second.bottom_mm - pair.first.top_mm, pair.first.bottom_mm - pair.second.top_mm)
            more = up_to((stack.body_clearance_mm - gap) / between, CURE_MM)
            text = f"spacer {millimetres(more)} thicker"
            changed = {"stack_id": stack.id, "spacer_mm": round(stack.spacer_mm + more, 6)}
        if self._is_cured(pair, changed):
            yield Attempt("set_stack", changed, text)

    def _layers_between(self, pair: BodyPair) -> int:
        """Count the spacers between the discs of two parts."""
        return abs(self._order.index(pair.first.host) - self._order.index(pair.second.host))

    @cached_property
    def _order(self) -> list[str]:
        return [lane.id for lane in self.solution.project.discs_of(self.stack)]

    def _is_cured(self, pair: BodyPair, changed: dict[str, object]) -> bool:
        """Return whether the pair keeps apart after a change of the stack."""
        made = self._restacked(changed)
        if made is None:
            return False
        stack, pairs = made
        same = [one for one in pairs if part_names(one) == part_names(pair)]
        return all(keeps_apart(one, stack.body_clearance_mm) for one in same)

    def _restacked(self, changed: dict[str, object]) -> tuple[Stack, tuple[BodyPair, ...]] | None:
        """Return the stack and its pairs after a change of its fields; None where they are not allowed."""
        try:
            project = apply_edit(self.solution.project, "set_stack", **changed).project
        except EditError:
            return None
        stack = next(one for one in project.stacks if one.id == self.stack.id)
        parts = tuple(map(self._with_known_body, parts_of(replace(self.solution, project=project), stack)))
        return stack, tuple(pairs_of(parts, stack))

    def _with_known_body(self, part: BodyPart) -> BodyPart:
        """Let a part have the body that is laid out already; only heights and spacers changed."""
        known = self._bodies.get((part.kind, part.lane))
        return part if known is None else replace(part, body=known)

    @cached_property
    def _bodies(self) -> dict[tuple[str, str], Body]:
        return {(part.kind, part.lane): part.body for part in self.parts if part.kind not in NOT_AT_STATION}

    # Another station

    def _station(self, pair: BodyPair) -> Iterator[Attempt]:
        """Yield the nearest station for the first part's lane at which nothing comes too near to it."""
        if pair.first.kind == "pinion":
            return
        lane = self.solution.project.lane(pair.first.lane)
        ridden = {other.disc_of for other in self.solution.project.lanes}
        if lane.kind == "rider" or lane.id in ridden or is_hopeless(pair, self.stack):
            return
        if lane.id not in self._stations:
            self._stations[lane.id] = next(self._stations_of(lane), None)
        yield from filter(None, (self._stations[lane.id],))

    def _stations_of(self, lane: Lane) -> Iterator[Attempt]:
        for by in sorted(range(STEP_DEG - 180, 181, STEP_DEG), key=lambda by: (abs(by), by < 0)):
            if by != 0 and self._fits(lane.id, by):
                text = f"station {degrees(abs(by), 0)} {'on' if by > 0 else 'back'}"
                moved = {"lane_id": lane.id, "station_deg": wrap(lane.station_deg + by)}
                yield Attempt("set_lane", moved, text)

    def _fits(self, lane_id: str, by_deg: float) -> bool:
        """Return whether the parts of a lane keep away from all others at a station `by_deg` further on."""
        turned = tuple(_at_station(part, lane_id, by_deg) for part in self.parts)
        return _all_apart(tuple(pairs_of(turned, self.stack, lane_id)), self.stack)

    # Another place in the stack

    def _place(self, pair: BodyPair) -> Iterator[Attempt]:
        """Yield the nearest place in the stack for the first part's disc at which nothing new meets."""
        lane_id = pair.first.host
        if _stands(pair) or {pair.first.kind, pair.second.kind} & {"spacer", *NOT_A_LANES}:
            return
        if lane_id not in self._places:
            self._places[lane_id] = next(self._places_of(lane_id), None)
        yield from filter(None, (self._places[lane_id],))

    def _places_of(self, lane_id: str) -> Iterator[Attempt]:
        now = self._order.index(lane_id)
        rest = [other for other in self._order if other != lane_id]
        for place in sorted(range(len(self._order)), key=lambda place: abs(place - now))[1 : MOST_PLACES + 1]:
            order = (*rest[:place], lane_id, *rest[place:])
            changed: dict[str, object] = {"stack_id": self.stack.id, "order": order}
            if self._is_free(lane_id, changed):
                yield Attempt("set_stack", changed, self._place_text(lane_id, rest, place))

    def _is_free(self, lane_id: str, changed: dict[str, object]) -> bool:
        """Return whether after a change nothing is near to a disc's parts, and no other pair newly meets."""
        made = self._restacked(changed)
        if made is None:
            return False
        stack, pairs = made
        met = {part_names(pair) for pair in pairs_of(self.parts, self.stack)}
        asked = [
            pair
            for pair in pairs
            if lane_id in (pair.first.host, pair.second.host) or part_names(pair) not in met
        ]
        return _all_apart(asked, stack)

    def _place_text(self, lane_id: str, rest: Sequence[str], place: int) -> str:
        project = self.solution.project
        name = project.lane(lane_id).label
        if place == 0:
            return f"{name}’s disc at the bottom of the stack"
        return f"{name}’s disc above {project.lane(rest[place - 1]).label}’s"


def _stands(pair: BodyPair) -> bool:
    """Return whether one of two parts stands on the frame, at heights that a spacer does not change."""
    return bool({pair.first.kind, pair.second.kind} & {*STANDING})


def _all_apart(pairs: Sequence[BodyPair], stack: Stack) -> bool:
    """Return whether all keep apart; a first look at few angles finds most that do not."""
    limit = stack.body_clearance_mm
    return all(pair.looks_apart(limit) for pair in pairs) and all(keeps_apart(p, limit) for p in pairs)


def _at_station(part: BodyPart, lane_id: str, by_deg: float) -> BodyPart:
    return part.turned(by_deg) if part.lane == lane_id and part.kind not in NOT_AT_STATION else part
