"""The run that a drawn flow's figures are from: some turns from the start, every item noted."""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise

from shaftscore.judge.flow.clock import US_PER_MIN, CycleClock
from shaftscore.judge.flow.engine import Event, EventKind, FlowRun, RunWatch
from shaftscore.judge.flow.history import history_of
from shaftscore.judge.flow.network import Network, network
from shaftscore.judge.flow.result import FlowHistory
from shaftscore.judge.flow.routes import States
from shaftscore.judge.flow.work import TURN_STEPS
from shaftscore.model import Project

MOST_STEPS = 200_000
"""Slots looked at in a drawn run, in all its turns: more turns than that allows are not run."""

USUAL_TURNS = 16
"""Turns of a drawn run until somebody asks for others."""

MOST_TURNS = 1_000
"""Turns that may be asked for."""

Passed = tuple[str, str]
"""A way from one part of the flow to the next: their ids."""


@dataclass(frozen=True)
class RunOpening:
    """A moment at which a gate lets an item out of a magazine: when, µs from the start, and which two.

    is_empty: nothing was there, though an item was meant.
    """

    time_us: int
    gate: str
    magazine: str
    is_empty: bool = False


@dataclass(frozen=True)
class DrawnRun:
    """What happened in a run of `turns` turns from the start; 0 where nothing could be run.

    meant: items that each gate is meant to let through in a turn; gates that could not be judged are not in
    it. opens_deg: by gate, where its first opening begins, degrees; those that never open are not in it.
    passed: items that pass from one part to the next in a turn in which every slot lets one through. through:
    by gate, items of the whole run. arrived: by outlet, items of each turn. lowest: by magazine. empty:
    openings that found nothing, by time. later: outlets at which turn 1 lacks items of a stream that began
    before the start.
    """

    turns: int
    per_min: float
    history: FlowHistory
    meant: Mapping[str, int]
    opens_deg: Mapping[str, float]
    passed: Mapping[Passed, int]
    through: Mapping[str, int]
    arrived: Mapping[str, tuple[int, ...]]
    lowest: Mapping[str, int]
    openings: tuple[RunOpening, ...]
    later: frozenset[str]

    def rate(self, a_turn: float) -> float:
        """Return items a turn as items a minute."""
        return a_turn * self.per_min


class _Arrivals(RunWatch):
    """Listens to a run and counts what leaves gates and comes to ends, turn by turn."""

    def __init__(self, net: Network) -> None:
        self.through: Counter[str] = Counter()
        self.arrived: list[Counter[str]] = []
        self.missed: set[tuple[int, int]] = set()
        self._gates = [net.gates[slot.gate].id for slot in net.slots]
        self._ends = [slot.route.end for slot in net.slots]

    def turn_over(self, turn: int, left: Sequence[int], missed: Sequence[int]) -> None:
        """Count the items of a turn, and note which slots did not give what was meant."""
        self.missed.update((turn, slot) for slot in missed)
        self.through.update(self._gates[slot] for slot in left)
        self.arrived.append(Counter(self._ends[slot] for slot in left))


def drawn_run(project: Project, states: States, turns: int = USUAL_TURNS) -> DrawnRun:
    """Run a project's flow for some turns, fewer where the work would be too much.

    states: the intervals of the gates' and diverters' states, master angles. Raises ValueError if the project
    has no flow.
    """
    if project.flow is None:
        raise ValueError(f'the project "{project.name}" has no flow')
    net = network(project.flow, CycleClock.of(project.shaft.speed_rpm), states)
    watch = _Arrivals(net)
    run = FlowRun(net, (watch,), record=True)
    for _ in range(_affordable(net, turns)):
        run.turn()
    run.state()  # brings what no gate has asked for up to date
    events = sorted(run.events or [])
    outlets = [outlet.id for outlet in project.flow.outlets]
    return DrawnRun(
        turns=run.turns,
        per_min=US_PER_MIN / net.clock.cycle_us,
        history=history_of(net, events, 1, max(1, run.turns)),
        meant=_meant(net),
        opens_deg=_opens(net),
        passed=Counter(_passages(net)),
        through=watch.through,
        arrived={one: tuple(turn[one] for turn in watch.arrived) for one in outlets},
        lowest={store.id: run.lowest[index] for index, store in enumerate(net.stores)},
        openings=tuple(_openings(net, events, watch.missed)),
        later=frozenset(slot.route.end for slot in net.slots if slot.carry),
    )


def _affordable(net: Network, turns: int) -> int:
    """Return how many turns to run: none where the flow is too crowded to be simulated."""
    most = MOST_STEPS // (len(net.slots) + TURN_STEPS)
    return 0 if net.crowded else max(1, min(turns, most, MOST_TURNS))


def _meant(net: Network) -> dict[str, int]:
    meant = {gate.id: 0 for gate in net.gates if gate.id not in net.left_out}
    for opening in net.openings:
        meant[net.gates[opening.gate].id] += opening.meant
    return meant


def _opens(net: Network) -> dict[str, float]:
    """Return where each gate opens first in a turn, degrees; passing through a level opens it too."""
    found: dict[str, float] = {}
    for opening in net.openings:
        start, gate = opening.interval.span.start, net.gates[opening.gate].id
        found[gate] = min(start, found.get(gate, start))
    return found


def _passages(net: Network) -> Iterator[Passed]:
    """Yield the ways of the item of every slot, from part to part."""
    for slot in net.slots:
        way = [net.gates[slot.gate].id, *(step.channel for step in slot.route.passes), slot.route.end]
        yield from ((here, there) for here, there in pairwise(way) if there)


def _openings(
    net: Network, events: Sequence[Event], missed: Collection[tuple[int, int]]
) -> Iterator[RunOpening]:
    """Yield what left, and where a meant item was not there; one beyond those meant may lack."""
    for time, kind, index in events:
        is_empty = kind is EventKind.EMPTY and (time // net.clock.cycle_us, index) in missed
        if is_empty or kind is EventKind.LEFT:
            slot = net.slots[index]
            yield RunOpening(time, net.gates[slot.gate].id, net.stores[slot.store].id, is_empty)
