"""The simulation as a whole: run, judge, and say what each magazine needs.

The run goes on until its state comes back (then every further turn repeats what was seen) or for the
most turns asked for. A failure does not end it: an empty gate lets nothing out, a misrouted item is
lost, items that met go on, so that one run tells of every gate that fails.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from types import MappingProxyType

from core.flow.clock import Clock
from core.flow.engine import Run, Watch
from core.flow.history import history
from core.flow.meetings import Meetings
from core.flow.network import Network, network
from core.flow.openings import Interval
from core.flow.order import Order
from core.flow.result import FlowResult, MagazineResult
from core.flow.verdicts import Seen, Verdicts
from core.model import Flow, LevelState, Project, RangeState, State
from core.progress import Progress, Silent

MOST_TURNS = 10_000
"""Turns after which a run ends that neither repeats nor fails."""

StateSource = (
    Callable[[State], "tuple[Interval, ...] | None"]
    | Mapping[LevelState | RangeState, "tuple[Interval, ...]"]
)
"""Intervals of a state, master angles; None, or a state not in the mapping, where they are not known."""


class Lost(Watch):
    """Listens to a run and keeps the first misrouted item of each opening."""

    def __init__(self, network: Network) -> None:
        self.found: dict[int, tuple[int, int]] = {}
        self._network = network

    def slots(self) -> frozenset[int]:
        """Give the slots whose items are misrouted."""
        return frozenset(i for i, slot in enumerate(self._network.slots) if slot.route.lost is not None)

    def left(self, slot: int, turn: int) -> None:
        """Note an item that left through a slot."""
        if self._network.slots[slot].route.lost is not None:
            self.found.setdefault(self._network.slots[slot].gate, (slot, turn))


def simulate(
    project: Project,
    states: StateSource,
    max_turns: int = MOST_TURNS,
    progress: Progress | None = None,
    speed_rpm: float | None = None,
) -> FlowResult:
    """Simulate the flow of a project.

    states: gives the intervals of the gates' and diverters' states, master angles. max_turns: the run
    ends after this many. speed_rpm: instead of the project's. Other rates and travels: give a project
    with other records. Raises ValueError if the project has no flow, core.errors.Cancelled if progress
    does.
    """
    if project.flow is None:
        raise ValueError(f'the project "{project.name}" has no flow')
    clock = Clock.of(project.shaft.speed_rpm if speed_rpm is None else speed_rpm)
    net = network(project.flow, clock, _asked(states))
    lost, meetings, order = Lost(net), Meetings(net, project.flow.channels), Order(net, project.flow)
    run = Run(net, (lost, meetings, order))
    repeats = run_on(run, max_turns, progress or Silent())
    seen = Seen(run, lost.found.values(), meetings.found, order.found)
    findings = Verdicts(project, net).findings(seen)
    failed = min((finding.turn or 1 for finding in findings), default=None)
    return FlowResult(
        holds_for_ever=False if failed else True if repeats and net.whole else None,
        turns=run.turns if failed is None else failed,
        magazines=MappingProxyType(_magazines(project.flow, net, run)),
        findings=findings,
        history=history(net, failed or 1),
    )


def _asked(states: StateSource) -> Callable[[State], tuple[Interval, ...] | None]:
    return states.get if isinstance(states, Mapping) else states


def run_on(run: Run, max_turns: int, progress: Progress) -> bool:
    """Run until the state comes back (True) or for max_turns turns (False)."""
    seen = {run.state()}
    while run.turns < max_turns:
        run.turn()
        state = run.state()
        if state in seen:
            return True
        seen.add(state)
        if not run.turns & 63:
            progress.report(run.turns / max_turns, "Running the flow")
    return False


def _magazines(flow: Flow, net: Network, run: Run) -> dict[str, MagazineResult]:
    return {magazine.id: _magazine(net, run, index) for index, magazine in enumerate(flow.magazines)}


def _magazine(net: Network, run: Run, index: int) -> MagazineResult:
    turn, slot = run.lowest_at[index]
    deg = 0.0 if slot < 0 else net.slot_deg(slot)
    return MagazineResult(run.lowest[index], turn + 1, deg)
