"""One observed run: a network simulated until its state comes back, and the verdicts about it.

The run goes on until its state comes back (then every further turn repeats what was seen) or for the
most turns asked for. A failure does not end it: an empty gate lets nothing out, a misrouted item is
lost, items that met go on, so that one run shows every gate that fails.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from shaftscore.base.progress import Progress
from shaftscore.judge.findings import Severity
from shaftscore.judge.flow.clock import CycleClock
from shaftscore.judge.flow.engine import FlowRun, RunWatch
from shaftscore.judge.flow.meetings import Meetings
from shaftscore.judge.flow.network import Network, network
from shaftscore.judge.flow.order import OutletOrder
from shaftscore.judge.flow.routes import States
from shaftscore.judge.flow.verdicts import CausedFinding, LostItem, Seen, Verdicts
from shaftscore.judge.flow.work import RUN_STEPS, WorkBudget
from shaftscore.model import Project


class Lost(RunWatch):
    """Listens to a run and keeps the first misrouted item of each gate."""

    def __init__(self, network: Network) -> None:
        self.found: dict[int, LostItem] = {}
        slots = enumerate(network.slots)
        self._gates = {index: slot.gate for index, slot in slots if slot.route.lost is not None}

    def turn_over(self, turn: int, left: Sequence[int], missed: Sequence[int]) -> None:  # noqa: ARG002
        """Note misrouted items."""
        if not self._gates:
            return
        for slot in left:
            if slot in self._gates:
                self.found.setdefault(self._gates[slot], LostItem(slot, turn))


@dataclass(frozen=True)
class Observed:
    """A run that is over, whether its state came back, and what is wrong.

    cut: whether the run ended because its steps were spent (`shaftscore.judge.flow.work`).
    """

    network: Network
    run: FlowRun
    repeats: bool
    judged: tuple[CausedFinding, ...]
    cut: bool = False

    @property
    def failed(self) -> int | None:
        """The turn (from 1) of the first failure, or None."""
        errors = (one.finding for one in self.judged if one.finding.severity is Severity.ERROR)
        return min((finding.turn or 1 for finding in errors), default=None)

    @property
    def is_whole(self) -> bool:
        """Whether all that was to be looked at could be simulated."""
        return self.network.whole and all(opening.why != "too-many" for opening in self.network.openings)


@dataclass(frozen=True)
class Observer:
    """How to look at projects: for how many turns at most, and at which lanes (None: at all)."""

    max_turns: int
    lanes: frozenset[str] | None = None

    def observe(
        self,
        project: Project,
        clock: CycleClock,
        states: States,
        progress: Progress,
        budget: WorkBudget | None = None,
    ) -> Observed:
        """Simulate a project's flow; raises shaftscore.base.errors.Cancelled if progress does.

        budget: the steps of the run, RUN_STEPS unless given.
        """
        budget = budget or WorkBudget(RUN_STEPS)
        flow = project.flow
        assert flow is not None, "called for projects with a flow"
        net = network(flow, clock, states, self.lanes)
        lost, meetings, order = Lost(net), Meetings(net, flow.channels), OutletOrder(net, flow)
        run = FlowRun(net, (lost, meetings, order))
        repeats = run_on(run, self.max_turns, progress, budget)
        seen = Seen(run, lost.found.values(), meetings.found, order.found)
        return Observed(net, run, repeats, Verdicts(project, net).judged(seen), cut=budget.left < 0)


def run_on(run: FlowRun, max_turns: int, progress: Progress, budget: WorkBudget | None = None) -> bool:
    """Run until the state comes back (True), for max_turns turns or while steps are left (False)."""
    slots = len(run.network.slots)
    seen = {run.state()}
    while run.turns < max_turns and (budget is None or budget.take(slots)):
        run.turn()
        state = run.state()
        if state in seen:
            return True
        seen.add(state)
        if not run.turns & 63:
            progress.report(run.turns / max_turns, "Running the flow")
    return False
