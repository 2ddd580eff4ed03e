"""Edits that may cure, tried on copies of a project.

An attempt cures if the edited project, simulated again with the motions that the edit makes, has fewer
findings and not this one. It *survives* if the places of its rule then have the slack that they must
survive, and nothing new is found. Findings share attempts, so each edit is simulated once.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Hashable
from dataclasses import dataclass, field, replace
from math import inf

from shaftscore.base.progress import Silent
from shaftscore.base.tolerance import CURE_DEG
from shaftscore.edits import BlockRef
from shaftscore.judge.checks.cures import Attempt, intervals_in, tried
from shaftscore.judge.findings import Finding
from shaftscore.judge.flow.network import Network
from shaftscore.judge.flow.observed import Observed, Observer
from shaftscore.judge.flow.openings import StateSpan
from shaftscore.judge.flow.places import place_of, slacks_near
from shaftscore.judge.flow.reserve import Reserve
from shaftscore.judge.flow.routes import States
from shaftscore.judge.flow.verdicts import CausedFinding
from shaftscore.judge.flow.work import WorkBudget, WorkSpentError
from shaftscore.model import Flow, Project, State
from shaftscore.rules.nominal import NominalTimes
from shaftscore.rules.project import broken_places

MOST_TRIED = 600
"""Edits that are simulated at most; what is found later has a cure only if one of these is it."""

LEAST_LEFT = 0.5
"""The least share that an edit may leave of a block beside the one that it is about."""

_LAYOUT = 10
"""Steps a slot that laying out the network of an edited project costs."""

Key = tuple[str, tuple[tuple[str, Hashable], ...]]
"""An edit with its arguments."""

Names = Counter[tuple[object, ...]]
"""How often what is found, by name."""


@dataclass(eq=False)
class CureTrials:
    """What edits of one project are tried with; budget: the steps of all tries together."""

    reserve: Reserve
    flow: Flow
    states: States
    observer: Observer
    observed: Observed
    budget: WorkBudget
    _tried: dict[Key, Names | None] = field(default_factory=dict)

    @property
    def _project(self) -> Project:
        return self.reserve.project

    @property
    def _network(self) -> Network:
        return self.observed.network

    def cures(self, judged: CausedFinding, attempt: Attempt) -> bool:
        """Return whether an edit makes a finding of the machine as drawn go away, and nothing worse."""
        after = self._after(attempt)
        fewer = after is not None and sum(after.values()) < len(self.observed.judged)
        return fewer and after is not None and _name(judged.finding) not in after and self._keeps(attempt)

    def survives(self, judged: CausedFinding, attempt: Attempt) -> bool:
        """Return whether places of the finding's rule survive their errors after an edit, or are as before.

        What a magazine needs was found with the tolerances. Nothing that was right is wrong after it.
        """
        known = {_name(one.finding) for one in self.observed.judged}
        if not known.issuperset(self._after(attempt) or ()):
            return False
        place = place_of(judged.cause, self._network, self.flow)
        edited = tried(self._project, attempt)
        states = None if edited is None else self._states_of(edited)
        if place is None or edited is None or states is None:
            return True
        changed = self._changed(edited)
        before = slacks_near(NominalTimes(self._project, self.states), place, changed)
        before.pop(place.lanes, None)
        return all(
            slack >= min(self.reserve.deg(replace(place, lanes=lanes)), before.get(lanes, inf)) - CURE_DEG
            for lanes, slack in slacks_near(NominalTimes(edited, states), place, changed).items()
        )

    def _keeps(self, attempt: Attempt) -> bool:
        """Return whether an edit keeps rules between lanes that hold, and half of each dwell beside it."""
        edited = tried(self._project, attempt)
        states = None if edited is None else self._states_of(edited)
        if edited is None or states is None or not self._leaves_dwells(edited, attempt):
            return False
        changed = self._changed(edited)
        before = broken_places(NominalTimes(self._project, self.states), changed)
        return broken_places(NominalTimes(edited, states), changed) <= before

    def _leaves_dwells(self, edited: Project, attempt: Attempt) -> bool:
        """Return whether an edit shortens no block to under half but the one that it is about."""
        ref = attempt.arguments.get("ref")
        both = zip(self._project.lanes, edited.lanes, strict=True)
        return all(
            new.length_deg >= old.length_deg * LEAST_LEFT or ref == BlockRef(before.id, number)
            for before, after in both
            if before is not after
            for number, (old, new) in enumerate(zip(before.blocks, after.blocks, strict=False))
        )

    def _after(self, attempt: Attempt) -> Names | None:
        """Count what is found after an edit, by name; None where it cannot be made or tried."""
        key = (attempt.edit, tuple(attempt.arguments.items()))
        if key not in self._tried:
            if len(self._tried) >= MOST_TRIED:
                return None
            edited = tried(self._project, attempt)
            self._tried[key] = None if edited is None else self._found_in(edited)
        return self._tried[key]

    def _found_in(self, edited: Project) -> Names | None:
        states = self._states_of(edited)
        if edited.flow is None or states is None:
            return None
        self.budget.spend(_LAYOUT * len(self._network.slots))
        observed = self.observer.observe(edited, self.reserve.clock, states, Silent(), self.budget)
        if observed.cut:
            raise WorkSpentError
        if _meant(observed.network) < _meant(self._network):
            return None  # an opening that is gone fails no more
        return Counter(_name(one.finding) for one in observed.judged)

    def _states_of(self, edited: Project) -> States | None:
        """Return the states of an edited project; None where the edit leaves a lane without motion."""
        changed = self._changed(edited)
        fresh: dict[State, tuple[StateSpan, ...] | None] = {}

        def states(state: State) -> tuple[StateSpan, ...] | None:
            if state.lane not in changed:
                return self.states(state)
            if state not in fresh:
                fresh[state] = intervals_in(edited, state)
            return fresh[state]

        needed = filter(lambda state: state.lane in changed, self.flow.states)
        return None if any(states(state) is None for state in needed) else states

    def _changed(self, edited: Project) -> set[str]:
        """Return the lanes that an edit changes, and the riders on them."""
        before = {lane.id: lane for lane in self._project.lanes}
        changed = {lane.id for lane in edited.lanes if before.get(lane.id) is not lane}
        return changed | {lane.id for lane in edited.lanes if lane.disc_of in changed}


def _name(finding: Finding) -> tuple[object, ...]:
    """Name what a finding is about, the same before and after an edit."""
    where = [finding.facts.get(key) for key in ("magazine", "channel", "outlet", "full")]
    return (finding.rule, frozenset(finding.lanes), *where)


def _meant(network: Network) -> int:
    """Count the items that are meant to leave in a turn."""
    return sum(opening.meant for opening in network.openings)
