"""Small networks for the tests: state intervals by hand, and projects that hold nothing else."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from shaftscore.base.angles import Arcs
from shaftscore.judge.flow import FlowResult, simulate
from shaftscore.judge.flow.clock import CycleClock
from shaftscore.judge.flow.engine import FlowRun
from shaftscore.judge.flow.network import Network, network
from shaftscore.model import (
    Flow,
    Gate,
    Lane,
    LevelState,
    Magazine,
    Project,
    Shaft,
    Stack,
    State,
    Supply,
    replaced,
)


@dataclass(frozen=True)
class PlainInterval:
    """A state interval, master angles."""

    span: Arcs
    passing: bool = False
    blocks: tuple[int, ...] = (0,)


Intervals = tuple[PlainInterval, ...]
States = Mapping[State, Intervals]


def at(start: float, length: float = 10.0, *, passing: bool = False) -> PlainInterval:
    return PlainInterval(Arcs.span(start, length), passing, () if passing else (0,))


def opened(lane: str, level: str = "open") -> LevelState:
    return LevelState(lane=lane, level=level)


def magazine(name: str, source: str | None = None, **fields: object) -> Magazine:
    return Magazine(id=name, source=source, **{"capacity": 4, **fields})


def gate(name: str, source: str, to: str | None = None, **fields: object) -> Gate:
    """A gate of the lane of its own name, open at that lane's level "open"."""
    return Gate(**{"id": name, "source": source, "to": to, "state": opened(name), "item": name, **fields})


def supply(name: str, rate: float | None = None) -> Supply:
    return Supply(id=name, rate_per_min=rate)


def project(flow: Flow, speed_rpm: float = 6.0, turns: int = 1, lanes: Iterable[str] = ()) -> Project:
    """A project with the lanes that the flow speaks of, and others by name; one turn takes 10 s."""
    named = {gate.state.lane for gate in flow.gates} | set(lanes)
    return Project(
        format="shaftscore-project",
        version=2,
        shaft=Shaft(turn="clockwise", speed_rpm=speed_rpm),
        stacks=(Stack(id="main", turns=turns),),
        lanes=tuple(
            Lane(id=name, levels={"closed": 0.0, "open": 10.0, "far": 20.0}) for name in sorted(named)
        ),
        flow=flow,
    )


def result(flow: Flow, states: States, **options: object) -> FlowResult:
    lanes = {state.lane for state in states}
    return simulate(project(flow, lanes=lanes), states, **options)


def net(flow: Flow, states: States, speed_rpm: float = 6.0) -> Network:
    return network(flow, CycleClock.of(speed_rpm), states.get)


def run(flow: Flow, states: States, turns: int, speed_rpm: float = 6.0) -> FlowRun:
    """A recorded run of some turns."""
    made = FlowRun(net(flow, states, speed_rpm), record=True)
    for _ in range(turns):
        made.turn()
    made.state()
    return made


def one(
    rate: float | None, *, capacity: int = 4, start: int = 4, travel_s: float = 0.0, **fields: object
) -> Flow:
    """A supply, a magazine and a gate."""
    stored = magazine("m", "s", capacity=capacity, start_count=start, travel_s=travel_s)
    return Flow(supplies=(supply("s", rate),), magazines=(stored,), gates=(gate("g", "m", **fields),))


__all__ = [
    "Intervals",
    "PlainInterval",
    "States",
    "at",
    "gate",
    "magazine",
    "net",
    "one",
    "opened",
    "project",
    "replaced",
    "result",
    "run",
    "supply",
]
