"""What comes out of a machine whose lanes do something else than drawn, or whose magazines and items differ.

The flow is run again, by the same simulation as ever; only the stretches in which lanes are at their levels
are those of the faulty machine, found where its output enters and leaves a band.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from shaftscore.base.angles import TURN, Arcs, distinct
from shaftscore.bringup.condition import Conditions
from shaftscore.bringup.outputs import BuiltOutputs
from shaftscore.bringup.records import BuildFault
from shaftscore.judge.flow.clock import CycleClock
from shaftscore.judge.flow.engine import EventKind, FlowRun
from shaftscore.judge.flow.network import network
from shaftscore.kinematics.followers import Reals
from shaftscore.kinematics.motion.states import StateInterval
from shaftscore.model import Channel, Flow, LevelState, Magazine, Project, State
from shaftscore.model.base import replaced
from shaftscore.model.bench import MOST_COUNTED_TURNS

SAMPLES = 2880
"""Places of a turn at which a lane is looked at to find its stretches; between them it is straight."""

TURNS = MOST_COUNTED_TURNS
"""Turns that are counted."""

LEFT = "out of the machine"
"""Where items end that no outlet or magazine takes."""

LOST = "lost at a diverter"
"""Where items end that find a diverter elsewhere."""


@dataclass(frozen=True)
class ItemsOut:
    """What came out in the first turns.

    arrived: by where items end (an outlet, a magazine, LEFT, or LOST where a diverter is elsewhere), how
    many left for it in each turn. empty: gates that opened on an empty magazine, with the first turn (from
    1).
    """

    arrived: Mapping[str, tuple[int, ...]]
    empty: Mapping[str, int]


def faulty_flow(flow: Flow, fault: BuildFault) -> Flow:
    """Return a flow with a fault of its magazines or items; itself for other faults."""
    if fault.kind == "empty":
        return replaced(flow, magazines=tuple(_emptied(one, fault.part) for one in flow.magazines))
    if fault.kind == "slow-items":
        return replaced(flow, channels=tuple(_slowest(one) for one in flow.channels))
    return flow


def _emptied(magazine: Magazine, part: str) -> Magazine:
    return replaced(magazine, start_count=0) if magazine.id == part else magazine


def _slowest(channel: Channel) -> Channel:
    return replaced(channel, travel_min_s=channel.travel_max_s)


def items_out(outputs: BuiltOutputs, flow: Flow, conditions: Conditions) -> ItemsOut:
    """Run a flow for the first turns under some conditions; items of lanes without motion are left out."""
    project = outputs.project
    clock = CycleClock.of(project.shaft.speed_rpm)
    states = BuiltStates(outputs, conditions)
    net = network(flow, clock, states)
    run = FlowRun(net, record=True)
    for _ in range(TURNS):
        run.turn()
    return _counted(run)


def _counted(run: FlowRun) -> ItemsOut:
    arrived: dict[str, list[int]] = {}
    empty: dict[str, int] = {}
    net = run.network
    for time, kind, index in sorted(run.events or []):
        turn = min(net.clock.turn(time), TURNS)
        if kind is EventKind.LEFT:
            route = net.slots[index].route
            end = LOST if route.lost is not None else route.end or LEFT
            arrived.setdefault(end, [0] * TURNS)[turn - 1] += 1
        elif kind is EventKind.EMPTY:
            empty.setdefault(net.gates[net.slots[index].gate].id, turn)
    return ItemsOut({end: tuple(counts) for end, counts in sorted(arrived.items())}, empty)


class BuiltStates:
    """The stretches in which the lanes of a faulty machine are in a state, master angles.

    Those of a lane that the fault does not touch are the solved ones.
    """

    def __init__(self, outputs: BuiltOutputs, conditions: Conditions) -> None:
        self._outputs, self._conditions, self._drawn = outputs, conditions, outputs.drawn()
        self._kept: dict[str, Reals] = {}

    def __call__(self, state: State) -> tuple[StateInterval, ...] | None:
        """Return the stretches of a state; None where its lane has no motion."""
        solution, lane = self._outputs.solution, state.lane
        solved = solution.lanes.get(lane)
        if solved is None or solved.motion is None:
            return None
        condition = self._conditions.get(lane)
        if condition is None or condition == self._drawn[lane]:
            return solution.intervals(state)
        low, high = _band(self._outputs.project, state)
        return _stretches(self._turn_of(lane), low, high)

    def _turn_of(self, lane: str) -> Reals:
        """Return the output of a lane over the second turn, (n,) mm."""
        if lane not in self._kept:
            run = TURN + np.linspace(0.0, TURN, SAMPLES, endpoint=False)
            self._kept[lane] = self._outputs.at(self._conditions[lane], run)
        return self._kept[lane]


def _band(project: Project, state: State) -> tuple[float, float]:
    if not isinstance(state, LevelState):
        return state.from_mm, state.to_mm
    lane = project.named_lane(project.lane(state.lane))
    return lane.levels[state.level] - lane.band, lane.levels[state.level] + lane.band


def _stretches(output: Reals, low: float, high: float) -> tuple[StateInterval, ...]:
    """Return the stretches of a turn in which samples (n,) are between two outputs, mm."""
    inside = (output >= low) & (output <= high)
    if inside.all():
        return (StateInterval(Arcs.full(), False, ()),)
    if not inside.any():
        return ()
    after = np.roll(output, -1)
    changes = np.flatnonzero(inside != np.roll(inside, -1))
    angles = [_crossing(output, after, place, low, high) for place in distinct(changes)]
    begins = [bool(~inside[place]) for place in distinct(changes)]
    if not begins[0]:
        angles, begins = [*angles[1:], angles[0] + TURN], [*begins[1:], begins[0]]
    return tuple(
        StateInterval(Arcs.span(start, end - start), False, ())
        for start, end in zip(angles[::2], angles[1::2], strict=True)
    )


def _crossing(output: Reals, after: Reals, place: int, low: float, high: float) -> float:
    """Return where an output enters or leaves a band behind a sample, degrees."""
    here, there = float(output[place]), float(after[place])
    edges = [edge for edge in (low, high) if min(here, there) <= edge <= max(here, there) and here != there]
    outside = here if not low <= here <= high else there
    edge = min(edges, key=lambda one: abs(one - outside), default=here)
    share = (edge - here) / (there - here) if there != here else 0.0
    return (place + min(1.0, max(0.0, share))) * TURN / SAMPLES


def differing(drawn: ItemsOut, faulty: ItemsOut) -> Sequence[tuple[str, tuple[int, ...], tuple[int, ...]]]:
    """Return where other counts arrive than drawn: (end, drawn, faulty) by turn."""
    none = (0,) * TURNS
    ends = sorted({*drawn.arrived, *faulty.arrived})
    found = [(end, drawn.arrived.get(end, none), faulty.arrived.get(end, none)) for end in ends]
    return [row for row in found if row[1] != row[2]]
