"""State intervals as expressions: at the drawn places they are what the solver finds."""

from __future__ import annotations

import pytest
from hypothesis import given, settings

from shaftscore.base.angles import wrap
from shaftscore.base.samples import sample_folder
from shaftscore.judge.report import QUICK, examine
from shaftscore.model import Lane, LevelState, Load, Project, State
from shaftscore.model.loader import load_project
from shaftscore.placing.affine import STEP_DEG
from shaftscore.placing.complete import completed, holds, margin_of
from shaftscore.placing.model import Arranging, arranging
from shaftscore.placing.shortest import Shortest
from shaftscore.solution import solve
from tests.machines import at, block, exclusive, gate, lane, machine, order, requires, within
from tests.strategies import clean_blocks

SAMPLES = sample_folder()
CLEAN = ("tea_blender.shaft", "seedling_sower.shaft")


PULL = Load(moving_mass_g=20.0, spring_preload_n=5.0, spring_rate_n_per_mm=0.5)


def model_of(project: Project) -> Arranging:
    return arranging(solve(project), Shortest(project))


def as_drawn(model: Arranging) -> list[int]:
    return completed(model.problem, [variable.hint for variable in model.problem.variables])


def spans(model: Arranging, state: State, values: list[int]) -> list[tuple[float, float]]:
    """Return (start, length) of a state's intervals over the whole turn, master degrees."""
    found = [
        (wrap(repeat.start.at(values) * STEP_DEG), repeat.length.at(values) * STEP_DEG)
        for held in model.lanes.held(state)
        for repeat in held.repeated(3600.0)
    ]
    return sorted((start, 360.0) if length >= 360 else (start, length) for start, length in found)


def solved_spans(project: Project, state: State) -> list[tuple[float, float]]:
    return sorted((i.span.start, i.span.length) for i in solve(project).intervals(state))


def near(first: list[tuple[float, float]], second: list[tuple[float, float]], by: float) -> bool:
    ends = zip(sorted(first), sorted(second), strict=True)
    return len(first) == len(second) and all(
        min(wrap(a - b), wrap(b - a)) < by and abs(long - wide) < by for (a, long), (b, wide) in ends
    )


@settings(max_examples=15)
@given(clean_blocks(("low", "mid", "high")))
def test_a_rider_s_levels_are_those_of_the_disc_that_moves_under_it(blocks: tuple) -> None:
    host = lane("Host", *blocks, levels={"low": 0.0, "mid": 4.0, "high": 10.0}, law="cycloidal")
    rider = Lane(id="rider", kind="rider", disc_of="host", station_deg=-70.0)
    project = machine(host, rider)
    if solve(project).lanes["host"].motion is None or not blocks:
        return
    model = model_of(project)
    for level in ("low", "mid", "high"):
        found = spans(model, at("rider", level), as_drawn(model))
        assert near(found, solved_spans(project, at("rider", level)), 0.2)


@settings(max_examples=25)
@given(clean_blocks(("low", "mid", "high")))
def test_states_of_any_lane_are_those_of_the_solver(blocks: tuple) -> None:
    # Drawn on the grid, so that both speak of the very same places.
    tidy = [
        block(b.level, wrap(round(b.start_deg, 1)), wrap(round(b.start_deg, 1)) + round(b.length_deg, 1))
        for b in blocks
    ]
    one = lane("One", *tidy, levels={"low": 0.0, "mid": 4.0, "high": 10.0})
    project = machine(one)
    if solve(project).lanes["one"].motion is None or not tidy:
        return
    model = model_of(project)
    for state in (at("one", "low"), at("one", "mid"), within("one", 3.0, 8.0), within("one", 9.0, 10.0)):
        found = spans(model, state, as_drawn(model))
        assert near(found, solved_spans(project, state), 1e-6), state


@pytest.mark.parametrize("name", CLEAN)
def test_a_clean_sample_holds_as_drawn_with_the_margin_of_the_solver(name: str) -> None:
    project = load_project(SAMPLES / name)
    model = model_of(project)
    values = as_drawn(model)
    assert holds(model.problem, values)
    report = examine(project, stage=QUICK)
    assert report.margin is not None
    margin = margin_of(model.problem, values)
    assert margin is not None
    assert margin * STEP_DEG == pytest.approx(report.margin.smallest_deg, abs=1e-6)


TWO = (gate("A", 60, 80), gate("B", 90, 110))
BROKEN = {
    "exclusive": machine(*TWO, rules=(exclusive(at("a", "open"), at("b", "open"), gap_deg=40.0),)),
    "requires": machine(*TWO, rules=(requires(at("a", "open"), at("b", "open")),)),
    "order": machine(*TWO, rules=(order(at("a", "open"), at("b", "open"), min_s=2.0, max_s=3.0),)),
    "window": machine(
        lane(
            "A",
            block("open", 60, 80, window={"earliest_deg": 90.0, "latest_deg": 100.0}),
            ("closed", 104, 396),
        )
    ),
}


@pytest.mark.parametrize("name", BROKEN)
def test_what_is_broken_does_not_hold(name: str) -> None:
    model = model_of(BROKEN[name])
    assert not holds(model.problem, as_drawn(model))


def test_a_rest_gives_way_and_other_dwells_keep_their_length() -> None:
    model = model_of(machine(gate("A", 60, 80)))
    opened, closed = model.lanes.moving["a"].parts
    assert (opened.least_deg, opened.most_deg) == (20.0, 20.0)
    assert (closed.least_deg, closed.most_deg) == (0.0, 360.0)


def test_a_dwell_shortens_to_the_least_length_that_the_maker_gave() -> None:
    one = lane("A", block("open", 60, 80, min_length_deg=12.0), block("closed", 104, 396, min_length_s=2.0))
    opened, closed = model_of(machine(one, rpm=6.0)).lanes.moving["a"].parts
    assert (opened.least_deg, opened.most_deg) == (12.0, 20.0)
    assert closed.least_deg == pytest.approx(72.0)  # 2 s at 6 rev/min


def test_lanes_with_drops_turn_as_a_whole() -> None:
    one = lane("A", block("closed", 60, 200, law="drop"), ("open", 300, 330), load=PULL)
    moving = model_of(machine(one)).lanes.moving["a"]
    assert moving.rigid
    variables = {number for start in moving.starts for number in start.terms}
    assert len(variables) == 1


def test_a_stack_that_turns_several_times_repeats_its_states() -> None:
    project = machine(gate("A", 60, 80, stack="fast"), stacks=({"id": "main"}, {"id": "fast", "turns": 3}))
    model = model_of(project)
    state = LevelState(lane="a", level="open")
    assert near(spans(model, state, as_drawn(model)), solved_spans(project, state), 1e-6)
