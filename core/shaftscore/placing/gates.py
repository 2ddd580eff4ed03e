"""The flow of items as inequalities: openings, channels, outlets and magazines in steady state.

A *leaving* is one moment of the turn at which a gate lets an item out. Where it may end depends on the
diverters; each possible *way* is a literal. What magazines hold is in `shaftscore.placing.stocked`; those
filled through gates, and what several magazines really get of one supply, are left to the solver that
confirms.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from itertools import combinations

from shaftscore.model import Channel, Diverter, Flow, Gate, LevelState, Magazine, State
from shaftscore.placing.affine import STEP_DEG, STEPS, Affine, fixed, var
from shaftscore.placing.lanes import HeldInterval, Lanes
from shaftscore.placing.leavings import ItemWay, Leaving
from shaftscore.placing.problem import Problem, Ranked, Reason
from shaftscore.placing.rules import IMPOSSIBLE, Margins, apart, covered, no_margin
from shaftscore.placing.stocked import Stocked
from shaftscore.placing.weights import IN_DEGREES, MarginWeights
from shaftscore.rules import opening, outlet, stock
from shaftscore.rules.headway import room as between_items
from shaftscore.rules.items import leaves_after, meant_by, onward
from shaftscore.rules.times import LinearSpan

MOST_WAYS = 64
"""Most ways of one item that are looked at."""


class Gates:
    """Adds what a flow requires.

    Over 300 lines, since gates, magazines, diverters and outlets share the variables of one run of items.
    """

    def __init__(
        self, problem: Problem, lanes: Lanes, flow: Flow, weights: MarginWeights, *, wide: bool
    ) -> None:
        """Gather the network; wide: let no lane be taken to serve one outlet alone."""
        self._problem, self._lanes, self._flow, self._weights = problem, lanes, flow, weights
        self._per_s = 6.0 * lanes.project.shaft.speed_rpm / STEP_DEG
        self._channels = {channel.id: channel for channel in flow.channels}
        self.homes: Mapping[str, str] = {} if wide else self._homes()

    def _homes(self) -> dict[str, str]:
        """Return the one outlet of each lane that lets out, in a turn, just what that outlet expects."""
        found: dict[str, str] = {}
        for lane_id, gates in self._by_lane().items():
            ends = [{way.end for way in self._from(gate.to or "", 0.0, 0.0, (), ())} for gate in gates]
            fits = [
                outlet.id
                for outlet in self._flow.outlets
                if outlet.expects
                and all(outlet.id in end for end in ends)
                and Counter(outlet.expects) == self._let_out(gates)
            ]
            if len(fits) == 1:
                found[lane_id] = fits[0]
        return {lane_id: end for lane_id, end in found.items() if list(found.values()).count(end) == 1}

    def _by_lane(self) -> dict[str, list[Gate]]:
        found: dict[str, list[Gate]] = {}
        for gate in self._flow.gates:
            found.setdefault(gate.state.lane, []).append(gate)
        return found

    def _let_out(self, gates: Sequence[Gate]) -> Counter[str]:
        """Count what some gates are meant to let out in a turn."""
        total: Counter[str] = Counter()
        for gate in gates:
            for held in self._lanes.held(gate.state):
                total[gate.item] += 0 if held.passing else gate.items * round(STEPS / held.period)
        return total

    def add(self) -> None:
        """Add everything."""
        leavings = [leaving for gate in self._flow.gates for leaving in self._gate(gate)]
        for leaving in leavings:
            self._routed(leaving)
        for channel in self._flow.channels:
            self._headways(channel, leavings)
        for end in self._flow.outlets:
            if end.expects:
                self._ordered(end.id, end.expects, leavings)
        drawn: dict[str, list[Leaving]] = {}
        for leaving in leavings:
            drawn.setdefault(leaving.gate.source, []).append(leaving)
        for magazine in self._flow.magazines:
            self._stocked(magazine, drawn)

    def _gate(self, gate: Gate) -> list[Leaving]:
        """Let each opening let out what is meant, and give the moments."""
        reason = Reason("gate", gate.id)
        margins = self._weights.of("release", gate.id, (gate.state.lane,))
        item, found = gate.item_s * self._per_s, []
        own = sorted(self._lanes.held(gate.state), key=lambda held: held.place)
        for held in own:
            if held.full:
                self._problem.at_least_0(IMPOSSIBLE, reason)
                continue
            meant = 0 if held.passing else meant_by(gate)
            span = LinearSpan(held.start, held.end)
            if meant:
                open_for = opening.enough(span, item, meant)
                self._problem.at_least_0(open_for, reason, margin=margins(open_for))
            if gate.mode == "stream" or not meant:
                # One item more would need this long; a hair less keeps it in.
                spare = opening.spare(span, item, meant) - 0.01
                self._problem.at_least_0(spare, reason, margin=margins(spare))
            for number in range(meant):
                found += self._leavings(gate, held, leaves_after(gate, item, number))
        if gate.reload is not None:
            self._reloaded(gate, own, reason, margins)
        return found

    def _leavings(self, gate: Gate, held: HeldInterval, after: float) -> list[Leaving]:
        moment = held.start + after
        at = HeldInterval(held.lane, moment, moment, held.period, place=held.place)
        return [
            Leaving(gate, repeat, self._ways(gate))
            for repeat in (at.repeated(STEPS) if at.period < STEPS else [at])
        ]

    def _reloaded(self, gate: Gate, own: Sequence[HeldInterval], reason: Reason, margins: Margins) -> None:
        """Let the lane be in the reload state long enough between an opening and the next."""
        assert gate.reload is not None
        asked = gate.reload.item_s * self._per_s
        known = self._lanes.held(gate.reload.state)
        for index, held in enumerate(own):
            before = own[index - 1]
            lap = held.period if index == 0 else 0.0
            between = LinearSpan(before.end - lap, held.start)
            stays = [
                LinearSpan(stay.start - back, stay.end - back)
                for stay in known
                if _between(before, stay, held)
                for back in (lap if stay.place > held.place else 0.0,)
            ]
            chosen = [self._problem.literal("reload") for _ in stays] if len(stays) > 1 else []
            if not stays:
                self._problem.at_least_0(IMPOSSIBLE, reason)
            for number, stay in enumerate(stays):
                on = (chosen[number],) if chosen else ()
                for length in opening.reload_rooms(stay, between):
                    loaded = length - asked
                    self._problem.at_least_0(loaded, reason, on, margin=margins(loaded))
            if chosen:
                self._problem.one_of(chosen)

    def _ways(self, gate: Gate) -> tuple[ItemWay, ...]:
        """Return the ways of an item, those that lead to an outlet which expects it where there is one."""
        found = self._from(gate.to or "", 0.0, 0.0, (), ())[:MOST_WAYS]
        wanted = {o.id for o in self._flow.outlets if gate.item in (o.expects or ())}
        home = self.homes.get(gate.state.lane)
        right = [way for way in found if way.end in ({home} if home else wanted)] or found
        if len(right) == 1:
            return (right[0],)
        return tuple(
            ItemWay(way.passes, way.asked, way.end, self._problem.literal(f"{gate.id} to {way.end}"))
            for way in right
        )

    def _from(
        self,
        here: str,
        earliest: float,
        latest: float,
        passes: tuple[tuple[str, float, float], ...],
        asked: tuple[tuple[State, float, float], ...],
    ) -> list[ItemWay]:
        channel = self._channels.get(here)
        if channel is None or len(passes) > len(self._channels):
            return [ItemWay(passes, asked, here)]
        least, most = channel.travel_min_s * self._per_s, channel.travel_max_s * self._per_s
        window = onward(LinearSpan(earliest, latest), least, most)
        earliest, latest = window.start, window.end
        passes = (*passes, (here, earliest, latest))
        if not isinstance(channel.to, Diverter):
            return self._from(channel.to, earliest, latest, passes, asked)
        return [
            way
            for branch in channel.to.by_state
            for way in self._from(
                branch.to, earliest, latest, passes, (*asked, (branch.state, earliest, latest))
            )
        ]

    def _routed(self, leaving: Leaving) -> None:
        """Let the diverters show the way while the item may arrive."""
        for way in leaving.ways:
            for state, earliest, latest in way.asked:
                at = leaving.at
                window = HeldInterval(at.lane, at.start + earliest, at.start + latest, at.period)
                channel = next(
                    name for name, first, last in way.passes if (first, last) == (earliest, latest)
                )
                margins = self._weights.of("diverter", channel, (state.lane, at.lane))
                reason, held = Reason("channel", channel), self._lanes.held(state)
                covered(self._problem, window, held, reason, way.literals, margins=margins)
                for other in self._beside(channel, state):
                    apart(self._problem, window, other, 0.0, reason, literals=way.literals, margins=margins)
        if len(leaving.ways) > 1:
            self._problem.one_of([way.literal for way in leaving.ways if way.literal is not None])

    def _beside(self, channel: str, state: State) -> Iterator[HeldInterval]:
        """Yield intervals of a diverter's states that lead elsewhere and may hold beside one of its states.

        Two levels of a lane never hold together.
        """
        to = self._channels[channel].to
        assert isinstance(to, Diverter), "items are asked for a state there"
        end = next(branch.to for branch in to.by_state if branch.state == state)
        for branch in to.by_state:
            levels = isinstance(state, LevelState) and isinstance(branch.state, LevelState)
            if branch.to != end and not levels:
                yield from self._lanes.held(branch.state)

    def _headways(self, channel: Channel, leavings: Sequence[Leaving]) -> None:
        """Keep the arrivals at a channel's end apart."""
        if channel.headway_s <= 0:
            return
        headway = channel.headway_s * self._per_s
        reason = Reason("channel", channel.id)
        arrivals = [
            (
                HeldInterval(at.lane, at.start + first, at.start + last, at.period, place=at.place),
                way.literals,
            )
            for leaving in leavings
            for at in (leaving.at,)
            for way in leaving.ways
            for name, first, last in way.passes
            if name == channel.id
        ]
        for (one, on), (other, also) in combinations(arrivals, 2):
            if one.start.terms != other.start.terms or one.start.constant != other.start.constant:
                margins = self._weights.of("headway", channel.id, (one.lane, other.lane))
                literals = (*on, *also)
                apart(
                    self._problem,
                    one,
                    other,
                    headway,
                    reason,
                    literals=literals,
                    margins=margins,
                    room=between_items,
                )

    def _ordered(self, end: str, expects: Sequence[str], leavings: Sequence[Leaving]) -> None:
        """Let the items of a turn come in the order that an outlet expects."""
        coming = [(leaving, way) for leaving in leavings for way in leaving.ways if way.end == end]
        reason = Reason("outlet", end)
        if _from_one_lane(coming):
            self._in_lane_order(coming, expects, reason)
            return
        arriving = Affine({}, -float(len(expects)))
        for _, way in coming:
            arriving = arriving + (1.0 if way.literal is None else var(way.literal))
        self._problem.equal(arriving, fixed(0.0), reason)
        phases = [self._phase(leaving, reason) for leaving, _ in coming]
        places = [self._problem.new("place", 0, max(0, len(coming) - 1)) for _ in coming]
        windows = [
            LinearSpan(phase + way.window[0], phase + way.window[1])
            for phase, (_, way) in zip(phases, coming, strict=True)
        ]
        middles = [outlet.rank(window) for window in windows]
        self._problem.ranked.append(
            Ranked(tuple(places), tuple(middles), tuple(way.literal for _, way in coming))
        )
        for (leaving, way), place in zip(coming, places, strict=True):
            fits = [number for number, item in enumerate(expects) if item == leaving.gate.item]
            self._one_place(place, fits, way, reason)
        for first, second in combinations(range(len(coming)), 2):
            self._either_first(coming, windows, places, (first, second), reason)

    def _in_lane_order(
        self, coming: list[tuple[Leaving, ItemWay]], expects: Sequence[str], reason: Reason
    ) -> None:
        """Let the turn begin at such an item that the items of one lane come as expected.

        Their order round the turn is that of the lane's dwells, so only the first of a turn is open.
        """
        ring = sorted((leaving for leaving, _ in coming), key=lambda leaving: leaving.at.place)
        items = [leaving.gate.item for leaving in ring]
        early, late = coming[0][1].window
        firsts = [n for n in range(len(ring)) if [*items[n:], *items[:n]] == list(expects)]
        chosen = []
        for first in firsts:
            literal = self._problem.literal("begins the turn")
            chosen.append(literal)
            begin, last = ring[first].at.start, ring[first - 1].at.start
            phase = begin + self._problem.turns("phase", begin, STEPS, STEPS)
            lap = STEPS if first == 0 else 0.0
            self._problem.at_least_0(phase, reason, (literal,))
            before = last - begin + phase  # where the item before it leaves, of the turn before
            self._problem.at_least_0(before * -1.0 + (lap - 0.01), reason, (literal,))
            for number in range(first, first + len(ring) - 1):
                one, other = ring[number % len(ring)], ring[(number + 1) % len(ring)]
                if one.gate.item != other.gate.item:
                    seam = STEPS if (number + 1) % len(ring) == 0 else 0.0
                    apart_by = outlet.room(
                        LinearSpan(one.at.start + early, one.at.start + late),
                        LinearSpan(other.at.start + (seam + early), other.at.start + (seam + late)),
                    )
                    margins = self._weights.of("outlet-order", reason.of, (one.at.lane,))
                    self._problem.at_least_0(apart_by, reason, (literal,), margin=margins(apart_by))
        if chosen:
            self._problem.one_of(chosen, reason)
        else:
            self._problem.at_least_0(IMPOSSIBLE, reason)

    def _phase(self, leaving: Leaving, reason: Reason) -> Affine:
        """Return the moment within the turn, 0 to a turn."""
        turns = self._problem.turns("phase", leaving.at.start, STEPS, STEPS)
        phase = leaving.at.start + turns
        self._problem.at_least_0(phase, reason)
        self._problem.at_least_0(phase * -1.0 + (STEPS - 0.01), reason)
        return phase

    def _one_place(self, place: int, fits: Sequence[int], way: ItemWay, reason: Reason) -> None:
        """Assign an item that comes to one of the places that expect it."""
        chosen = [self._problem.literal("takes") for _ in fits]
        for literal, number in zip(chosen, fits, strict=True):
            self._problem.equal_if(place, number, literal)
        needed = fixed(1.0) if way.literal is None else var(way.literal)
        self._problem.at_least_0(Affine(dict.fromkeys(chosen, 1.0)) - needed, reason)

    def _either_first(
        self,
        coming: Sequence[tuple[Leaving, ItemWay]],
        windows: Sequence[LinearSpan[Affine]],
        places: Sequence[int],
        pair: tuple[int, int],
        reason: Reason,
    ) -> None:
        literals = []
        for one, other in (pair, pair[::-1]):
            literal = self._problem.literal("first")
            literals.append(literal)
            (first, way), (second, other_way) = coming[one], coming[other]
            margins: Margins = no_margin
            if first.gate.item != second.gate.item:
                apart_by = outlet.room(windows[one], windows[other])
                margins = self._weights.of("outlet-order", reason.of, (first.at.lane, second.at.lane))
            else:
                apart_by = (outlet.rank(windows[other]) - outlet.rank(windows[one])) * 0.5
            on = (literal, *way.literals, *other_way.literals)
            self._problem.at_least_0(apart_by, reason, on, margin=margins(apart_by))
            self._problem.at_least_0(var(places[other]) - var(places[one]) - 1.0, reason, on)
        ways = (*coming[pair[0]][1].literals, *coming[pair[1]][1].literals)
        if ways:
            away = self._problem.literal("away")
            literals.append(away)
            self._problem.at_least_0(Affine(dict.fromkeys(ways, -1.0), len(ways) - 1.0), None, (away,))
        self._problem.one_of(literals)

    def _stocked(self, magazine: Magazine, leavings: Mapping[str, Sequence[Leaving]]) -> None:
        """Keep a magazine that a supply fills from running empty, at the start and in turn after turn."""
        supply = next((s for s in self._flow.supplies if s.id == magazine.source), None)
        own = leavings.get(magazine.id, ())
        if supply is None or not own:
            return
        sharing = [other.id for other in self._flow.magazines if other.source == supply.id]
        reason = Reason("magazine", magazine.id)
        apart_by, travel = stock.filling(supply, magazine, len(sharing), self._per_s, stock.Shares(1.0, 1.0))
        items = sum(len(leavings.get(one, ())) for one in sharing)
        if items * apart_by / len(sharing) > STEPS * (1 + 1e-9):
            self._problem.at_least_0(IMPOSSIBLE, reason)
            return
        stocked = Stocked(self._problem, self._weights, reason, own, travel)
        waits = [*stocked.waits(magazine, apart_by)]
        # Of a shared supply each is given its turn, which may be more than it needs: then the run confirms.
        if len(sharing) > 1 and supply.rate_per_min is not None and not all(map(stocked.as_drawn, waits)):
            return
        for wait in waits:
            stocked.add(wait)


def _from_one_lane(coming: Sequence[tuple[Leaving, ItemWay]]) -> bool:
    """Return whether all items that may come leave one lane, have no other way, and travel alike."""
    lanes = {leaving.at.lane for leaving, _ in coming}
    windows = {way.window for _, way in coming}
    sure = all(way.literal is None and leaving.at.place >= 0 for leaving, way in coming)
    return len(lanes) == 1 and len(windows) == 1 and sure


def _between(before: HeldInterval, stay: HeldInterval, held: HeldInterval) -> bool:
    """Return whether a stay of the same lane begins after an opening and before the next."""
    if before.place < held.place:
        return before.place < stay.place < held.place
    return stay.place > before.place or stay.place < held.place


def add_gates(problem: Problem, lanes: Lanes, weights: MarginWeights = IN_DEGREES, *, wide: bool) -> bool:
    """Add the flow of the project, where it has one; return whether lanes were taken to serve one outlet.

    weights: how many margins each place must keep.
    """
    if lanes.project.flow is None:
        return False
    gates = Gates(problem, lanes, lanes.project.flow, weights, wide=wide)
    gates.add()
    return bool(gates.homes)
