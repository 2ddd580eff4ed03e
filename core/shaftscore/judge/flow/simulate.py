"""The simulation as a whole: run, judge, find cures, and say what each magazine needs."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator, Mapping
from types import MappingProxyType

from shaftscore.base.progress import Progress, Share, Silent
from shaftscore.base.wording import counted
from shaftscore.judge.findings import Finding, Severity, found
from shaftscore.judge.flow.clock import CycleClock
from shaftscore.judge.flow.cures import Cures
from shaftscore.judge.flow.history import history
from shaftscore.judge.flow.needs import Needs
from shaftscore.judge.flow.network import Network
from shaftscore.judge.flow.observed import Observed, Observer
from shaftscore.judge.flow.openings import StateSpan
from shaftscore.judge.flow.reserve import Reserve, Survived
from shaftscore.judge.flow.result import CHECKED, FlowResult, MagazineResult
from shaftscore.judge.flow.routes import States
from shaftscore.judge.flow.work import MOST_ITEMS, NEEDS_STEPS, WorkBudget, WorkSpentError
from shaftscore.model import LevelState, Project, RangeState, State

MOST_TURNS = 10_000
"""Turns after which a run ends that neither repeats nor fails."""

LONG = "finding them would take too long"
"""Why something is left out."""

StateSource = (
    Callable[[State], "tuple[StateSpan, ...] | None"]
    | Mapping[LevelState | RangeState, "tuple[StateSpan, ...]"]
)
"""Intervals of a state, master angles; None, or a state not in the mapping, where they are not known."""


def simulate(
    project: Project,
    states: StateSource,
    max_turns: int = MOST_TURNS,
    progress: Progress | None = None,
    *,
    speed_rpm: float | None = None,
    lanes: Collection[str] | None = None,
    survived: Survived | None = None,
) -> FlowResult:
    """Simulate the flow of a project.

    states: returns the intervals of the gates' and diverters' states, master angles. max_turns: the run
    ends after this many. speed_rpm: instead of the project's. lanes: look at the gates of these lanes
    alone, and at what lies within them. survived: returns the error, degrees, that a place must survive, for
    cures that hold with it. Other rates and travels: give a project with other records.
    Raises ValueError if the project has no flow, shaftscore.base.errors.Cancelled if progress does.
    """
    if project.flow is None:
        raise ValueError(f'the project "{project.name}" has no flow')
    progress = progress or Silent()
    clock = CycleClock.of(project.shaft.speed_rpm if speed_rpm is None else speed_rpm)
    asked: States = states.get if isinstance(states, Mapping) else states
    observer = Observer(max_turns, None if lanes is None else frozenset(lanes))
    observed = observer.observe(project, clock, asked, Share(progress, 0.0, 0.4))
    magazines = _magazines(observed, max_turns, Share(progress, 0.4, 0.7))
    cures = Cures(Reserve(project, clock, survived), asked, observer, observed)
    findings = (
        *cures.cured(observed.judged, Share(progress, 0.7, 1.0)),
        *_left_out(observed, magazines, cures),
    )
    failed = observed.failed
    return FlowResult(
        holds_for_ever=False if failed else True if observed.repeats and observed.is_whole else None,
        turns=0 if observed.network.crowded else observed.run.turns if failed is None else failed,
        magazines=MappingProxyType(magazines),
        findings=findings,
        history=history(observed.network, failed or 1),
        checked=() if observed.network.crowded else CHECKED,
    )


def _magazines(observed: Observed, most_turns: int, progress: Progress) -> dict[str, MagazineResult]:
    """Return what each magazine needs; those that the steps did not suffice for are left out."""
    net, results = observed.network, dict[str, MagazineResult]()
    rates: dict[int | None, float | None] = {}
    budget = WorkBudget(NEEDS_STEPS)
    for index in _asked_for(net):
        progress.report(index / len(net.stores), "Needs of the magazines")
        try:
            needs = Needs.of(net, index, most_turns, budget)
            rates[needs.source] = needs.rate_per_min(rates.get(needs.source))
            results[net.stores[index].id] = _magazine(observed, index, needs, rates[needs.source])
        except WorkSpentError:
            break
    return results


def _asked_for(net: Network) -> list[int]:
    """Return the magazines whose needs are found: none where nothing was simulated."""
    return [i for i, store in enumerate(net.stores) if store.id not in net.outside and not net.crowded]


def _left_out(observed: Observed, magazines: Mapping[str, MagazineResult], cures: Cures) -> Iterator[Finding]:
    """Yield what was left out because it would have been too much work."""
    net = observed.network
    if net.crowded:
        most = f"at most {MOST_ITEMS:,} can be simulated"
        why = f"The flow is not simulated: its gates let out up to {net.crowded:,} items a turn; {most}."
        yield found("not-checked", (), why=why)
        return
    if observed.cut:
        turns = counted(observed.run.turns, "turn")
        why = f"The flow did not repeat within {turns}; more would take too long and are not checked."
        yield found("not-checked", (), why=why)
    missing = len(_asked_for(net)) - len(magazines)
    if missing:
        why = f"The rate and capacity required are left out for {counted(missing, 'magazine')}: {LONG}."
        yield found("not-checked", (), severity=Severity.NOTE, why=why, place=1)
    if cures.cut:
        why = f"Fixes for some findings of the flow are left out: {LONG}."
        yield found("not-checked", (), severity=Severity.NOTE, why=why, place=2)


def _magazine(observed: Observed, index: int, needs: Needs, rate_per_min: float | None) -> MagazineResult:
    run, net = observed.run, observed.network
    turn, slot = run.lowest_at[index]
    return MagazineResult(
        lowest_count=run.lowest[index],
        turn=turn + 1,
        deg=0.0 if slot < 0 else net.slot_deg(slot),
        needed_rate_per_min=rate_per_min,
        needed_capacity=needs.capacity(),
    )
