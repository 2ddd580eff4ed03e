"""The flow in the arranging problem: what it says holds is what the simulation says."""

from __future__ import annotations

from itertools import combinations

import pytest

from shaftscore.base.angles import wrap
from shaftscore.judge.findings import Severity
from shaftscore.judge.report import examine
from shaftscore.judge.spread.slacks import RuleSlack, rule_slacks
from shaftscore.model import Channel, Flow, Gate, Magazine, Outlet, Project, Supply, replaced
from shaftscore.placing import Arrangement, MayChange, arrange
from shaftscore.placing.complete import completed, holds, margin_of
from shaftscore.placing.gates import add_gates
from shaftscore.placing.lanes import Lanes
from shaftscore.placing.problem import Problem
from shaftscore.placing.rules import add_rules
from shaftscore.placing.search import Search
from shaftscore.placing.shortest import Shortest
from shaftscore.placing.weights import MarginWeights
from shaftscore.solution import solve
from tests.core.judge.spread.machines import EXACT, only
from tests.core.placing.test_states import as_drawn, model_of
from tests.machines import at, exclusive, gate, machine
from tests.samples import direct, sample

TIMED = {"starvation", "collision", "missed-release", "double-release", "misrouted", "wrong-order"}


def errors(project: Project) -> set[str]:
    found = examine(project).findings
    # What the fits of the discs make of it is not for Arrange to say.
    return {one.rule for one in found if one.severity is Severity.ERROR and one.rule != "unlikely"}


def chute(first: float, second: float, **changes: object) -> Project:
    """Two gates at 6 rev/min that let one item each into a chute with a headway of 0.5 s, 18 degrees."""
    lanes = (gate("A", first, first + 10), gate("B", second, second + 10))
    flow = Flow(
        supplies=(Supply(id="hopper"),),
        magazines=tuple(Magazine(id=f"m{n}", source="hopper", capacity=2, start_count=2) for n in "ab"),
        channels=(Channel(id="chute", travel_min_s=0.1, travel_max_s=0.2, headway_s=0.5, to="cup"),),
        outlets=(Outlet(id="cup", expects=("first", "second")),),
        gates=tuple(
            Gate(id=f"g{n}", state=at(n, "open"), source=f"m{n}", to="chute", item=item, item_s=0.1)
            for n, item in (("a", "first"), ("b", "second"))
        ),
    )
    return machine(*lanes, flow=replaced(flow, **changes) if changes else flow)


def slow(first: float, rate: float, capacity: int) -> Project:
    """A gate that opens three times a turn on one magazine with a supply of its own."""
    levels = {"closed": 0.0, "open": 10.0}
    from tests.machines import lane

    blocks = []
    for number, begin in enumerate((first, first + 70, first + 140)):
        rest = 20.0 if number < 2 else 170.0
        blocks += [("open", begin, begin + 10), ("closed", begin + 35, begin + 35 + rest - 20)]
    flow = Flow(
        supplies=(Supply(id="hopper", rate_per_min=rate),),
        magazines=(Magazine(id="m", source="hopper", capacity=capacity, start_count=capacity),),
        gates=(Gate(id="g", state=at("a", "open"), source="m", item="item"),),
    )
    return machine(lane("A", *blocks, levels=levels), flow=flow)


CASES = {
    "far apart": chute(60, 200),
    "too close in the chute": chute(60, 70),
    "in the wrong order": chute(200, 60),
    "an outlet that expects nothing": chute(60, 200, outlets=(Outlet(id="cup", expects=()),)),
    "a gate that opens too short": chute(
        60,
        200,
        gates=tuple(replaced(g, item_s=2.0) for g in chute(60, 200).flow.gates),  # type: ignore[union-attr]
    ),
    "fed well": slow(40.0, 60.0, 3),
    "a supply that is too slow": slow(40.0, 10.0, 3),
    "a magazine that is too small": slow(40.0, 20.0, 1),
}


@pytest.mark.parametrize("name", CASES)
def test_it_holds_where_the_simulation_finds_nothing(name: str) -> None:
    model = model_of(CASES[name])
    found = errors(CASES[name]) & TIMED
    assert holds(model.problem, as_drawn(model)) is not bool(found), found


@pytest.mark.parametrize("name", ["too close in the chute", "in the wrong order"])
def test_what_does_not_hold_is_arranged(name: str) -> None:
    model = model_of(CASES[name])
    answer = Search(model.problem, 1, model.margin).solve(None, 10.0)
    assert answer.found
    assert not errors(model.arranged(answer.values))


def test_what_no_timing_cures_has_its_magazine_in_the_core() -> None:
    model = model_of(CASES["a supply that is too slow"])
    search = Search(model.problem, 1, model.margin)
    assert search.solve(None, 10.0).status == "infeasible"
    core = search.core(10.0)
    assert core is not None
    assert [(reason.kind, reason.of) for reason in core] == [("magazine", "m")]


def test_columns_of_the_sower_turned_away_are_turned_back() -> None:
    drawn = direct(sample("seedling_sower"))
    lanes = []
    for number, one in enumerate(drawn.lanes):
        by = 0.3 * number - 2.0 if one.id.startswith("column") else 0.0
        blocks = tuple(
            replaced(b, start_deg=start, end_deg=start + b.length_deg)
            for b in one.blocks
            for start in [wrap(round(b.start_deg + by, 6))]
        )
        lanes.append(replaced(one, blocks=blocks))
    project = replaced(drawn, lanes=tuple(lanes))
    model = model_of(project)
    answer = Search(model.problem, 1, model.margin).solve(None, 10.0, keep=model.as_drawn())
    assert answer.found
    assert not errors(model.arranged(answer.values))


def margin_steps(project: Project, errors: tuple[RuleSlack, ...] = ()) -> float:
    """Return the smallest margin of a project as drawn, steps (tenths of the error where one is given)."""
    lanes = Lanes(solve(project), problem := Problem(), Shortest(project))
    add_rules(problem, lanes, MarginWeights(errors))
    add_gates(problem, lanes, MarginWeights(errors), wide=False)
    found = margin_of(problem, completed(problem, [variable.hint for variable in problem.variables]))
    assert found is not None
    return found


def test_the_headway_is_a_margin_in_units_of_what_it_must_survive() -> None:
    # B opens 20 degrees after A; the window is 0.1 s (3.6 degrees), the headway 15 degrees: 1.4 are left.
    narrow = Channel(id="chute", travel_min_s=0.1, travel_max_s=0.2, headway_s=15 / 36, to="cup")
    project = chute(60, 80, channels=(narrow,))
    project = replaced(project, tolerances=only(travel_percent=50.0), stacks=(EXACT,))
    assert margin_steps(project) == pytest.approx(14.0, abs=0.01)
    slacks = rule_slacks(solve(project))
    assert min(one.slack_deg for one in slacks if one.kind == "headway") == pytest.approx(1.4, abs=1e-3)
    # Half of the window's 3.6 degrees: 1.8 degrees may be lost, more than there are.
    assert margin_steps(project, slacks) * 0.1 == pytest.approx(1.4 / 1.8, rel=1e-3)


def relay(second: float) -> Project:
    """Gate A fills the magazine that gate B empties, which begins empty; a third gate is locked."""
    first, third = gate("A", 100.0, 110.0), gate("C", 190.0, 200.0)
    locked = replaced(third, blocks=tuple(replaced(block, locked=True) for block in third.blocks))
    flow = Flow(
        supplies=(Supply(id="hopper"),),
        magazines=(
            Magazine(id="top", source="hopper", capacity=2, start_count=2),
            Magazine(id="low", capacity=2, start_count=0),
        ),
        outlets=(Outlet(id="cup"),),
        gates=(
            Gate(id="fills", state=at("a", "open"), source="top", to="low", item="item", item_s=0.1),
            Gate(id="empties", state=at("b", "open"), source="low", to="cup", item="item", item_s=0.1),
        ),
    )
    opened = [at(name, "open") for name in "abc"]
    rules = tuple(exclusive(*pair) for pair in combinations(opened, 2))
    project = machine(first, gate("B", second, second + 10), locked, rules=rules, flow=flow)
    return replaced(project, tolerances=replaced(project.tolerances, disc_angle_deg=4.0))


def test_a_magazine_that_a_gate_fills_never_runs_empty_by_an_answer() -> None:
    """The problem itself knows nothing of it: B before A holds there, and starves in the first turn."""
    drawn = relay(140.0)
    model = model_of(relay(20.0))
    assert holds(model.problem, as_drawn(model))
    assert "starvation" in errors(relay(20.0))
    found = arrange(drawn, may=MayChange(order=True))
    assert isinstance(found, Arrangement)
    assert not errors(found.project)
    before, after = ([one.normalised for one in rule_slacks(solve(one))] for one in (drawn, found.project))
    assert min(after) >= min(before) - 1e-9
    filled, emptied = (solve(found.project).intervals(at(name, "open"))[0].span.start for name in "ab")
    assert filled < emptied
