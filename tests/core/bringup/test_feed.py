"""The feed planner: its answers hold in SimPy's model of the same network, and nothing smaller does."""

from __future__ import annotations

from collections.abc import Sequence

import pytest

from shaftscore.bringup import feed
from shaftscore.bringup.feed import TOO_MUCH, FeedPlanner, planned_flow
from shaftscore.model import Flow, Gate, Magazine, Project, State, Supply, Tolerances, replaced
from shaftscore.solution import Solution, solve
from tests.core.judge.flow.simpy_model import Angles, Model
from tests.machines import at, gate, machine

NO_ERRORS = Tolerances(
    disc_angle_deg=0,
    profile_mm=0,
    fit_spread_mm=0,
    station_mm=0,
    zero_mm=0,
    travel_percent=0,
    speed_percent=0,
)
TURNS = 60


def _project(*, rate: float | None = 3.0, capacity: int = 1, source: str | None = "hopper") -> Project:
    """Two magazines on one supply; three gates that open one after the other, 6 rev/min."""
    lanes = (gate("A", 30, 50), gate("B", 110, 130), gate("C", 200, 220))
    rows = (("left", "a", "jade"), ("left", "b", "jade"), ("right", "c", "amber"))
    flow = Flow(
        supplies=(Supply(id="hopper", rate_per_min=rate),),
        magazines=tuple(
            Magazine(id=name, source=source, capacity=capacity, start_count=1, travel_s=2.5)
            for name in ("left", "right")
        ),
        gates=tuple(
            Gate(id=f"gate_{lane}", state=at(lane, "open"), source=store, item=item)
            for store, lane, item in rows
        ),
    )
    return machine(*lanes, flow=flow, tolerances=NO_ERRORS)


def _starves(solution: Solution, flow: Flow, turns: int = TURNS) -> bool:
    """Ask SimPy's model whether any gate finds its magazine empty."""

    def angles(state: State) -> Sequence[Angles]:
        return [(one.span.start, one.span.length, one.passing) for one in solution.intervals(state)]

    return bool(Model(flow, 6.0, angles, turns).run().starved)


def _with(flow: Flow, *, rate: float | None = None, **changes: tuple[int, int]) -> Flow:
    """Return a flow with another rate, and capacity and initial count of magazines by id."""
    supplies = tuple(replaced(one, rate_per_min=rate or one.rate_per_min) for one in flow.supplies)
    stores = tuple(
        replaced(one, capacity=changes[one.id][0], start_count=changes[one.id][1])
        if one.id in changes
        else one
        for one in flow.magazines
    )
    return replaced(flow, supplies=supplies, magazines=stores)


def test_answer_holds_in_simpy_and_nothing_smaller_does() -> None:
    """Three items a turn at 6 rev/min: by the balance of the supply at least 18 a minute."""
    solution = solve(_project())
    (plan,) = FeedPlanner(solution).plan().supplies
    flow = solution.project.flow
    assert flow is not None
    assert plan.least_rate_per_min == 18.0
    assert not plan.holds_now
    stores = {one.magazine: (one.capacity, one.start_count) for one in plan.stores}
    answer = _with(flow, rate=plan.rate_per_min, **stores)
    assert not _starves(solution, answer)
    assert planned_flow(flow, [plan]) == answer
    roomy = dict.fromkeys(stores, (6, 6))
    assert not _starves(solution, _with(flow, rate=18.0, **roomy))
    assert _starves(solution, _with(flow, rate=17.9, **roomy), turns=1000)
    for name, (capacity, start) in stores.items():
        less = capacity - 1
        assert less == 0 or _starves(solution, _with(answer, **{name: (less, min(start, less))}))
        assert start == 0 or _starves(solution, _with(answer, **{name: (capacity, start - 1)}))


def test_answer_for_some_steps_bridges_a_slow_supply() -> None:
    """20 steps of a turn of 12: the third turn is not over, so the numbers may fail after it."""
    solution = solve(_project())
    (plan,) = FeedPlanner(solution, 20).plan().supplies
    assert plan.rate_per_min == 3.0
    flow = solution.project.flow
    assert flow is not None
    answer = _with(flow, **{one.magazine: (one.capacity, one.start_count) for one in plan.stores})
    assert not _starves(solution, answer, turns=1)
    assert _starves(solution, answer, turns=40)


def test_refill_by_hand_says_how_long_it_lasts_and_what_is_missing() -> None:
    """By counting: two jades and one amber go a turn, so 13 ambers last 13 turns, and 26 jades are gone."""
    project = _project(source=None)
    flow = project.flow
    assert flow is not None
    solution = solve(replaced(project, flow=_with(flow, left=(30, 30), right=(13, 13))))
    refill = FeedPlanner(solution, 24).plan().refill
    assert refill is not None
    assert (refill.turns, refill.steps) == (13, 6)  # the gate opens at 200°, after the sixth step
    assert [(one.item, one.count, one.start_count) for one in refill.refills] == [
        ("jade", 26, 4),
        ("amber", 13, 2),
    ]


def test_too_much_work_is_said_and_not_raised(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(feed, "PLAN_STEPS", 20)
    monkeypatch.setattr(feed, "RUN_STEPS", 5)
    (plan,) = FeedPlanner(solve(_project())).plan().supplies
    assert (plan.stores, plan.why) == ((), TOO_MUCH)
    refill = FeedPlanner(solve(_project(source=None, capacity=50))).plan().refill
    assert refill is not None
    assert refill.why == TOO_MUCH


def test_a_machine_without_flow_is_refused() -> None:
    with pytest.raises(ValueError, match="Test machine"):
        FeedPlanner(solve(machine(gate("A", 30, 50))))
