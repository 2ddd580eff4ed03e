"""One run of the flow of an edited copy: what goes wrong in it, without cures and required figures."""

from __future__ import annotations

from collections.abc import Collection
from types import MappingProxyType

from shaftscore.base.progress import Silent
from shaftscore.judge.flow.clock import CycleClock
from shaftscore.judge.flow.history import history
from shaftscore.judge.flow.observed import Observer
from shaftscore.judge.flow.result import CHECKED, FlowResult
from shaftscore.judge.flow.routes import States
from shaftscore.judge.flow.simulate import MOST_TURNS
from shaftscore.judge.flow.work import WorkBudget
from shaftscore.model import Project


def run_of_copy(
    project: Project, states: States, budget: WorkBudget, lanes: Collection[str] | None = None
) -> FlowResult:
    """Return what one run of a project's flow finds; no rule is checked where the steps are spent.

    states: intervals of the gates' and diverters' states, master angles. budget: the steps of this run and
    of those that share it. lanes: look at the gates of these alone. Raises ValueError if the project has
    no flow.
    """
    if project.flow is None:
        raise ValueError(f'the project "{project.name}" has no flow')
    observer = Observer(MOST_TURNS, None if lanes is None else frozenset(lanes))
    clock = CycleClock.of(project.shaft.speed_rpm)
    observed = observer.observe(project, clock, states, Silent(), budget)
    spent = observed.cut or bool(observed.network.crowded) or not observed.is_whole
    failed = observed.failed
    return FlowResult(
        holds_for_ever=None if failed is None else False,
        turns=observed.run.turns,
        magazines=MappingProxyType({}),
        findings=tuple(one.finding for one in observed.judged),
        history=history(observed.network, 1),
        checked=() if spent else CHECKED,
    )
