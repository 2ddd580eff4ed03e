"""Edits that may cure, tried on copies of a project.

An attempt cures if the edited project, simulated again with the motions that the edit makes, has fewer
findings and not this one. It *survives* if the places of its rule then have the slack that they must
survive, and nothing new is found. Findings share attempts, so each edit is simulated once.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Hashable
from dataclasses import dataclass, field, replace
from functools import cached_property
from math import inf

from shaftscore.base.progress import Silent
from shaftscore.base.tolerance import CURE_DEG
from shaftscore.edits import BlockRef
from shaftscore.judge.checks.cures import Attempt, intervals_in, tried
from shaftscore.judge.findings import Finding
from shaftscore.judge.flow.network import Network
from shaftscore.judge.flow.observed import Observed, Observer
from shaftscore.judge.flow.openings import StateSpan
from shaftscore.judge.flow.places import place_of, places_of_rule, slacks_near
from shaftscore.judge.flow.reserve import JudgedPlace, Reserve
from shaftscore.judge.flow.routes import States
from shaftscore.judge.flow.verdicts import CausedFinding
from shaftscore.judge.flow.work import WorkBudget, WorkSpentError
from shaftscore.model import Flow, Project, State
from shaftscore.rules.nominal import NominalTimes
from shaftscore.rules.project import broken_places
from shaftscore.rules.times import RulePlace

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


@dataclass(frozen=True, eq=False)
class EditedFlow:
    """A project after an edit: the lanes that it changed, with the riders on them, and its states."""

    project: Project
    changed: frozenset[str]
    states: States

    @cached_property
    def times(self) -> NominalTimes:
        """The machine after the edit, as its rules read it."""
        return NominalTimes(self.project, self.states)


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
    _made: tuple[Key, EditedFlow | None] | None = None
    _kept: dict[Key, bool] = field(default_factory=dict)
    _drawn: dict[tuple[str, str], tuple[RulePlace, ...]] = field(default_factory=dict)

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
        if not self._known.issuperset(self._after(attempt) or ()):
            return False
        place = place_of(judged.cause, self._network, self.flow)
        edited = self._edited(attempt)
        if place is None or edited is None:
            return True
        near = place.lanes.union(edited.changed)
        before = slacks_near(self._drawn_places(place), near)
        before.pop(place.lanes, None)
        return all(
            slack >= min(self.reserve.deg(replace(place, lanes=lanes)), before.get(lanes, inf)) - CURE_DEG
            for lanes, slack in slacks_near(places_of_rule(edited.times, place), near).items()
        )

    def _drawn_places(self, place: JudgedPlace) -> tuple[RulePlace, ...]:
        """Return the places of a rule as drawn, which every attempt at it is compared with."""
        key = (place.kind, place.what)
        if key not in self._drawn:
            self._drawn[key] = places_of_rule(self._as_drawn, place)
        return self._drawn[key]

    @cached_property
    def _known(self) -> set[tuple[object, ...]]:
        return {_name(one.finding) for one in self.observed.judged}

    @cached_property
    def _as_drawn(self) -> NominalTimes:
        return NominalTimes(self._project, self.states)

    def _keeps(self, attempt: Attempt) -> bool:
        """Return whether an edit keeps rules between lanes that hold, and half of each dwell beside it."""
        key = _key(attempt)
        if key not in self._kept:
            edited = self._edited(attempt)
            self._kept[key] = (
                edited is not None
                and self._leaves_dwells(edited.project, attempt)
                and broken_places(edited.times, edited.changed)
                <= broken_places(self._as_drawn, edited.changed)
            )
        return self._kept[key]

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
        key = _key(attempt)
        if key not in self._tried:
            if len(self._tried) >= MOST_TRIED:
                return None
            edited = self._edited(attempt)
            self._tried[key] = None if edited is None else self._found_in(edited)
        return self._tried[key]

    def _found_in(self, edited: EditedFlow) -> Names | None:
        if edited.project.flow is None:
            return None
        self.budget.spend(_LAYOUT * len(self._network.slots))
        observed = self.observer.observe(
            edited.project, self.reserve.clock, edited.states, Silent(), self.budget
        )
        if observed.cut:
            raise WorkSpentError
        if _meant(observed.network) < _meant(self._network):
            return None  # an opening that is gone fails no more
        return Counter(_name(one.finding) for one in observed.judged)

    def _edited(self, attempt: Attempt) -> EditedFlow | None:
        """Return the project after an edit; None where it cannot be made or stops a lane.

        That of the last edit is kept, since each attempt is looked at in one go; all of them would be many.
        """
        key = _key(attempt)
        if self._made is None or self._made[0] != key:
            edited = tried(self._project, attempt)
            self._made = key, None if edited is None else self._moving(edited)
        return self._made[1]

    def _moving(self, edited: Project) -> EditedFlow | None:
        """Return an edited project with its states; None where the edit leaves a lane without motion."""
        changed = self._changed(edited)
        fresh: dict[State, tuple[StateSpan, ...] | None] = {}
        drawn = self.states  # not through self, which keeps what comes of it: a circle would be freed late

        def states(state: State) -> tuple[StateSpan, ...] | None:
            if state.lane not in changed:
                return drawn(state)
            if state not in fresh:
                fresh[state] = intervals_in(edited, state)
            return fresh[state]

        needed = filter(lambda state: state.lane in changed, self.flow.states)
        return None if any(states(state) is None for state in needed) else EditedFlow(edited, changed, states)

    def _changed(self, edited: Project) -> frozenset[str]:
        """Return the lanes that an edit changes, and the riders on them."""
        before = {lane.id: lane for lane in self._project.lanes}
        changed = {lane.id for lane in edited.lanes if before.get(lane.id) is not lane}
        return frozenset(changed | {lane.id for lane in edited.lanes if lane.disc_of in changed})


def _key(attempt: Attempt) -> Key:
    return attempt.edit, tuple(attempt.arguments.items())


def _name(finding: Finding) -> tuple[object, ...]:
    """Name what a finding is about, the same before and after an edit."""
    where = [finding.facts.get(key) for key in ("magazine", "channel", "outlet", "full")]
    return (finding.rule, frozenset(finding.lanes), *where)


def _meant(network: Network) -> int:
    """Count the items that are meant to leave in a turn."""
    return sum(opening.meant for opening in network.openings)
