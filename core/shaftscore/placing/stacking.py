"""The lowest-interference stack: an order of discs, and stations, with which bodies keep apart.

What is wrong with a stack is counted as the pairs of parts that come too near, then by how much in all.
The order of the discs is changed first: two discs change places, or one goes elsewhere. Only
where that does not end all interference, followers go to other stations, in steps of 10 degrees; a lane
with riders keeps its station, since their programs would move. Of equal results the one nearer to what
was drawn wins. It is a local search with a seed: same project, same answer; it claims no best. It ends
after a number of tries, or a count of work, never by a clock; then the best so far is the answer.
"""

from __future__ import annotations

import random
from collections.abc import Iterator
from dataclasses import dataclass, field

from shaftscore.base.angles import wrap
from shaftscore.base.progress import Progress, Silent
from shaftscore.judge.bodies import BodyPair, pairs_of, parts_of, too_near
from shaftscore.model import Project, Stack, replaced
from shaftscore.solution import Solution, solve

STATION_STEP_DEG = 10
"""Stations are tried in these steps."""

TRIES = 300
"""Tries for the order, and as many for the stations."""

MOST_WORK = 5_000_000
"""The search ends when so many pairs of parts were looked at."""

MEASURED = 1_000
"""Measuring how near two parts come costs as much as looking at so many pairs."""


@dataclass(frozen=True, order=True)
class Crowding:
    """How badly parts meet: pairs that are too near, and by how much in all, mm."""

    pairs: int
    missing_mm: float


@dataclass(frozen=True)
class Stacking:
    """A project with its discs in another order, and maybe other stations; crowding before and after.

    stations: lanes that stand elsewhere. orders: stacks whose order is another. ended: whether the search
    came to the end of its work before everything kept apart.
    """

    project: Project
    before: Crowding
    after: Crowding
    orders: tuple[str, ...]
    stations: tuple[str, ...]
    ended: bool


def lowest_interference(project: Project, seed: int = 0, progress: Progress | None = None) -> Stacking:
    """Look for an order of discs, and stations, without interference.

    Raises shaftscore.base.errors.Cancelled if progress does.
    """
    told = progress or Silent()
    search = _Search(project, random.Random(seed))
    before = search.crowding
    search.work = 0  # what is there already is measured in any case
    for number in range(2 * TRIES):
        if search.crowding.pairs == 0 or search.work >= MOST_WORK:
            break
        told.report(number / (2 * TRIES), f"{search.crowding.pairs} pairs come too near")
        search.step(stations=number >= TRIES)
    found = search.project
    return Stacking(
        project=found,
        before=before,
        after=search.crowding,
        orders=tuple(
            new.id for old, new in zip(project.stacks, found.stacks, strict=True) if old.order != new.order
        ),
        stations=tuple(
            new.id
            for old, new in zip(project.lanes, found.lanes, strict=True)
            if old.station_deg != new.station_deg
        ),
        ended=search.crowding.pairs > 0,
    )


@dataclass
class _Search:
    """The project that is best so far, what was measured of pairs, and the work so far, in pairs."""

    project: Project
    chance: random.Random
    work: int = 0
    solution: Solution = field(init=False)
    crowding: Crowding = field(init=False)
    _known: dict[object, float] = field(default_factory=dict)

    def __post_init__(self) -> None:
        self.solution = solve(self.project)
        self.crowding = self._crowding(self.solution)

    def step(self, *, stations: bool) -> None:
        """Try one change of a stack that is crowded, and keep it if it is better."""
        crowded = [stack for stack in self.project.stacks if any(self._missing(self.solution, stack))]
        stack = self.chance.choice(crowded)
        tried = self._moved(stack) if stations and self.chance.random() < 0.5 else self._reordered(stack)
        if tried is None:
            return
        solution = solve(tried, self.solution)
        crowding = self._crowding(solution)
        if crowding < self.crowding:
            self.project, self.solution, self.crowding = tried, solution, crowding

    def _reordered(self, stack: Stack) -> Project | None:
        discs = [lane.id for lane in self.project.discs_of(stack)]
        if len(discs) < 2:
            return None
        one, other = self.chance.sample(range(len(discs)), 2)
        if self.chance.random() < 0.5:
            discs[one], discs[other] = discs[other], discs[one]
        else:
            discs.insert(other, discs.pop(one))
        made = replaced(stack, order=tuple(discs))
        stacks = tuple(made if one is stack else one for one in self.project.stacks)
        return replaced(self.project, stacks=stacks)

    def _moved(self, stack: Stack) -> Project | None:
        """Return one of the stack's followers another station; none of a lane with riders."""
        hosts = {lane.disc_of for lane in self.project.lanes if lane.kind == "rider"}
        free = [lane for lane in self.project.discs_of(stack) if lane.id not in hosts]
        if not free:
            return None
        lane = self.chance.choice(free)
        by = STATION_STEP_DEG * self.chance.randrange(1, 360 // STATION_STEP_DEG)
        made = replaced(lane, station_deg=wrap(lane.station_deg + by))
        lanes = tuple(made if one is lane else one for one in self.project.lanes)
        return replaced(self.project, lanes=lanes)

    def _crowding(self, solution: Solution) -> Crowding:
        missing = [by for stack in solution.project.stacks for by in self._missing(solution, stack)]
        return Crowding(len(missing), round(sum(missing), 6))

    def _missing(self, solution: Solution, stack: Stack) -> Iterator[float]:
        """Yield by how much each pair that is too near lacks the clearance, mm."""
        for pair in pairs_of(parts_of(solution, stack), stack):
            self.work += 1
            missing = self._of(solution, stack, pair)
            if missing > 0:
                yield missing

    def _of(self, solution: Solution, stack: Stack, pair: BodyPair) -> float:
        """Measure a pair once: in plan view it does not matter how high the parts stand."""
        parts = (pair.first, pair.second)
        key = (stack.id, *((part.kind, part.lane, solution.lanes.get(part.lane)) for part in parts))
        if key not in self._known:
            self.work += MEASURED
            found = too_near(pair, stack.body_clearance_mm)
            self._known[key] = 0.0 if found is None else stack.body_clearance_mm - found.least_mm
        return self._known[key]
