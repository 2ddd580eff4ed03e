"""From what a run saw to findings, with the places, numbers and subjects that their sentences need.

Each failing gate is reported once a rule, at its first occurrence: for starvation the gate, for
double-release and missed-release each of the gate's openings (the repeats of one opening on a stack
that turns several times a cycle count as one). Turns are counted from 1 in findings.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from types import MappingProxyType

from shaftscore.base.angles import Arcs
from shaftscore.base.tolerance import LIMIT
from shaftscore.edits import BlockRef
from shaftscore.judge.findings import Finding, found
from shaftscore.judge.findings.record import Fact, Subject
from shaftscore.judge.flow.clock import US_PER_MIN, US_PER_S, microseconds
from shaftscore.judge.flow.engine import FlowRun, Shortfall
from shaftscore.judge.flow.meetings import Meeting
from shaftscore.judge.flow.network import Network, Slot
from shaftscore.judge.flow.openings import GateOpening
from shaftscore.judge.flow.order import Came, WrongOrder
from shaftscore.model import Channel, Diverter, Gate, LevelState, Project


@dataclass(frozen=True)
class LostItem:
    """A misrouted item: the slot and the turn (from 0) in which it left."""

    slot: int
    turn: int


@dataclass(frozen=True)
class Seen:
    """What a run saw: its openings' shortfalls, the first misrouted items, meetings, outlets."""

    run: FlowRun
    lost: Iterable[LostItem]
    meetings: Iterable[Meeting]
    orders: Iterable[WrongOrder]


_Row = tuple[int, int, str, int, tuple[Shortfall, str] | None]


Cause = GateOpening | Shortfall | LostItem | Meeting | WrongOrder
"""What a finding was made of."""


@dataclass(frozen=True)
class CausedFinding:
    """A finding with its cause."""

    finding: Finding
    cause: Cause


class Verdicts:
    """Makes the findings of one project's network."""

    def __init__(self, project: Project, network: Network) -> None:
        assert project.flow is not None, "called for projects with a flow"
        self._project = project
        self._network = network
        self._channels: dict[str, Channel] = {channel.id: channel for channel in project.flow.channels}

    def judged(self, seen: Seen) -> tuple[CausedFinding, ...]:
        """Return all findings with their causes, sorted by turn and angle, each with a key of its own."""
        made = [
            *self._openings(seen.run),
            *(CausedFinding(self._misrouted(item), item) for item in seen.lost),
            *(CausedFinding(self._collision(meeting), meeting) for meeting in seen.meetings),
            *(CausedFinding(self._wrong_order(order), order) for order in seen.orders),
        ]
        return _told_apart(sorted(made, key=lambda judged: judged.finding.order))

    def _openings(self, run: FlowRun) -> Iterator[CausedFinding]:
        """Judge openings that never can let out what is meant, and those that once did not."""
        told: set[tuple[str, int, int]] = set()
        for _, _, rule, index, shortfall in sorted(self._rows(run), key=lambda row: row[:3]):
            opening = self._network.openings[index]
            key = (rule, opening.gate, -1 if rule == "starvation" else self._repeat(index))
            if key in told:
                continue
            told.add(key)
            if shortfall is None:
                yield CausedFinding(self._never(opening), opening)
            else:
                yield CausedFinding(self._shortfall(*shortfall), shortfall[0])

    def _rows(self, run: FlowRun) -> Iterator[_Row]:
        """List the openings to judge with when, by which rule, and what a run saw of them."""
        for index, opening in enumerate(self._network.openings):
            if opening.why:
                yield 0, opening.begin_us, "missed-release", index, None
        for (index, kind), fall in run.shortfalls.items():
            slot = self._network.slots[fall.slot]
            yield fall.turn + slot.carry, slot.phase_us, self._rule(kind), index, (fall, kind)

    @staticmethod
    def _rule(kind: str) -> str:
        return {"more": "double-release", "empty": "starvation", "no room": "missed-release"}[kind]

    def _repeat(self, index: int) -> int:
        """Count an opening within one turn of its own stack, so that its repeats in a cycle are one."""
        opening = self._network.openings[index]
        own = self._network.own_openings[opening.gate]
        lane = self._project.lane(self._gate(opening.gate).state.lane)
        repeats = self._project.stack_of(lane).turns
        each = len(own) // repeats if len(own) > repeats else 1
        return own.index(index) % each

    def _gate(self, index: int) -> Gate:
        return self._network.gates[index]

    def _subjects(self, opening: GateOpening) -> tuple[Subject, ...]:
        """Return the gate's state and the blocks in the opening."""
        state = self._gate(opening.gate).state
        own, blocks = self._project.lane(state.lane).program_id, opening.interval.blocks
        return (state, *(BlockRef(own, block) for block in blocks))

    def _never(self, opening: GateOpening) -> Finding:
        """Return the finding of an opening too short, not reloaded, never closing, or with too many slots."""
        gate = self._gate(opening.gate)
        facts: dict[str, Fact] = {"open_s": opening.length_us / US_PER_S, "item": gate.item}
        if opening.why == "too-many":
            return self._not_simulated(gate, opening)
        if opening.why == "reload" and gate.reload is not None:
            facts |= {"reload_s": opening.reload_us / US_PER_S, "asked_s": gate.reload.item_s}
        else:
            needs = gate.item_s * (opening.meant if gate.mode == "stream" else 1)
            facts |= {"asked_s": needs, "why": opening.why}
        return _with_facts(
            facts,
            "missed-release",
            (gate.state.lane,),
            span=opening.interval.span,
            turn=1,
            value=float(opening.slots),
            limit=float(opening.meant),
            subjects=self._subjects(opening),
        )

    def _not_simulated(self, gate: Gate, opening: GateOpening) -> Finding:
        many = round(opening.length_us / max(1, microseconds(gate.item_s)))
        what = f"Gate {gate.id}: openings that let {many:,} items out"
        return found("not-checked", (gate.state.lane,), span=opening.interval.span, what=what)

    def _shortfall(self, fall: Shortfall, kind: str) -> Finding:
        if kind == "empty":
            return self._starvation(fall)
        opening = self._network.openings[fall.opening]
        gate = self._gate(opening.gate)
        facts: dict[str, Fact] = {"open_s": opening.length_us / US_PER_S, "item": gate.item}
        if kind == "no room":
            facts["full"] = self._network.slots[fall.slot].route.end
        return _with_facts(
            facts,
            self._rule(kind),
            (gate.state.lane,),
            span=opening.interval.span,
            turn=fall.turn + 1,
            value=float(fall.out),
            limit=float(opening.meant),
            subjects=self._subjects(opening),
        )

    def _starvation(self, fall: Shortfall) -> Finding:
        slot = self._network.slots[fall.slot]
        opening = self._network.openings[fall.opening]
        gate = self._gate(opening.gate)
        facts: dict[str, Fact] = {"item": gate.item, "magazine": gate.source}
        return _with_facts(
            facts | feed(self._network, slot.store),
            "starvation",
            (gate.state.lane,),
            span=Arcs.span(self._network.slot_deg(fall.slot), 0.0),
            turn=fall.turn + slot.carry + 1,
            value=float(fall.empty),
            limit=float(opening.meant),
            subjects=self._subjects(opening),
        )

    def _misrouted(self, item: LostItem) -> Finding:
        slot = self._network.slots[item.slot]
        opening = self._network.openings[slot.opening]
        gate, route = self._gate(slot.gate), slot.route
        channel = self._channels[route.passes[-1].channel]
        assert isinstance(channel.to, Diverter) or route.lost == "round", "only diverters misroute"
        earliest, latest = (slot.phase_us + offset for offset in route.window)
        diverter = channel.to.lane if isinstance(channel.to, Diverter) else gate.state.lane
        facts: dict[str, Fact] = {"item": gate.item, "channel": channel.id}
        return _with_facts(
            facts | self._where(channel, route.lost or "none"),
            "misrouted",
            tuple(dict.fromkeys((diverter, gate.state.lane))),
            span=self._network.clock.span(earliest, latest),
            turn=item.turn + 1 + earliest // self._network.clock.cycle_us,
            subjects=self._subjects(opening),
        )

    @staticmethod
    def _where(channel: Channel, lost: str) -> dict[str, Fact]:
        """Describe which states of the diverter the item finds it between, or in two of."""
        if not isinstance(channel.to, Diverter):
            return {"round": channel.id}
        states = [branch.state for branch in channel.to.by_state]
        names = [s.level if isinstance(s, LevelState) else f"{s.from_mm:g} to {s.to_mm:g} mm" for s in states]
        listed = " and ".join(filter(None, [", ".join(names[:-1]), names[-1]]))
        return {"at": f"two of {listed}"} if lost == "two" else {"between": listed}

    def _collision(self, meeting: Meeting) -> Finding:
        near, clock = meeting.near, self._network.clock
        channel = self._channels[near.channel]
        first, second = self._network.slots[near.first], self._network.slots[near.second]
        _, first_end = self._window(first, near.channel, meeting.first_turn)
        second_begin, _ = self._window(second, near.channel, meeting.second_turn)
        subjects = [*self._slot_subjects(first), *self._slot_subjects(second)]
        return found(
            "collision",
            tuple(dict.fromkeys(self._gate(slot.gate).state.lane for slot in (first, second))),
            span=clock.span(min(first_end, second_begin), max(first_end, second_begin)),
            turn=clock.turn(min(first_end, second_begin)),
            value=max(0, second_begin - first_end) / US_PER_S,
            limit=channel.headway_s,
            subjects=tuple(dict.fromkeys(subjects)),
            channel=channel.id,
        )

    def _slot_subjects(self, slot: Slot) -> tuple[Subject, ...]:
        return self._subjects(self._network.openings[slot.opening])

    def _window(self, slot: Slot, channel: str, turn: int) -> tuple[int, int]:
        """Return when the item of a slot in a turn (from 0) reaches a channel's end."""
        step = next(step for step in slot.route.passes if step.channel == channel)
        leaves = turn * self._network.clock.cycle_us + slot.phase_us
        return leaves + step.earliest_us, leaves + step.latest_us

    def _wrong_order(self, order: WrongOrder) -> Finding:
        mismatch, clock = order.mismatch, self._network.clock
        got, other = mismatch.got, mismatch.other
        slots = [self._network.slots[came.slot] for came in (got, other) if came is not None]
        subjects = [subject for slot in slots for subject in self._slot_subjects(slot)]
        begin, end = _window_of(got)
        start = order.turn * clock.cycle_us
        return found(
            "wrong-order",
            tuple(dict.fromkeys(self._gate(slot.gate).state.lane for slot in slots)),
            span=None if got is None else clock.span(start + begin, start + end),
            turn=order.turn + 1,
            subjects=tuple(dict.fromkeys(subjects)),
            outlet=order.outlet,
            got="" if got is None else got.name,
            expected=mismatch.expected,
            why=mismatch.why,
        )


def _with_facts(
    facts: Mapping[str, Fact],
    rule: str,
    lanes: tuple[str, ...],
    *,
    span: Arcs,
    turn: int,
    value: float | None = None,
    limit: float | None = None,
    subjects: tuple[Subject, ...],
) -> Finding:
    made = found(rule, lanes, span=span, turn=turn, value=value, limit=limit, subjects=subjects)
    return replace(made, facts=MappingProxyType(dict(facts)))


def _window_of(came: Came | None) -> tuple[int, int]:
    return (0, 0) if came is None else (came.earliest_us, came.latest_us)


def feed(network: Network, store: int) -> dict[str, Fact]:
    """Return what a magazine's supply gives and what is drawn from all that it fills, a minute.

    Empty where no supply with a rate fills it, or where that is not too slow.
    """
    source = network.stores[store].supply
    pace = network.sources[source].pace if source >= 0 else None
    if pace is None:
        return {}
    drawn = network.drawn_by_source[source]
    fed_per_min = US_PER_MIN / (pace.whole + pace.part / pace.parts)
    gives_per_min = drawn * US_PER_MIN / network.clock.cycle_us
    slow = fed_per_min < gives_per_min * (1 - LIMIT)
    return {"fed_per_min": fed_per_min, "gives_per_min": gives_per_min} if slow else {}


def _told_apart(judged: list[CausedFinding]) -> tuple[CausedFinding, ...]:
    """Return findings that would share a key a place of their own."""
    seen: dict[object, int] = {}
    told = []
    for one in judged:
        place = seen.get(one.finding.key, 0)
        seen[one.finding.key] = place + 1
        told.append(replace(one, finding=replace(one.finding, place=place)) if place else one)
    return tuple(told)
