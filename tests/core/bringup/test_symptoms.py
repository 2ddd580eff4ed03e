"""The symptom sheet: what faults would look like, at lanes and at outlets."""

from __future__ import annotations

from collections.abc import Generator

import pytest
import simpy

from shaftscore.base.samples import sample_folder
from shaftscore.bringup import BuiltOutputs, sheet_json, sheet_lines, symptom_sheet
from shaftscore.bringup import fault_words as said
from shaftscore.bringup.condition import built
from shaftscore.bringup.items import faulty_flow, items_out
from shaftscore.bringup.symptoms import FaultSymptom, SymptomSheet
from shaftscore.model import Channel, Flow, Gate, Magazine, Outlet, Project, Supply, replaced
from shaftscore.model.loader import load_project
from shaftscore.solution import solve
from tests.machines import at, gate, machine

CYCLE_S, TRAVEL_S, RATE = 10.0, 2.5, 4.0


def feeder(start: int) -> Project:
    """Return two gates that open one after the other on one magazine, 6 turns a minute, fed too slowly."""
    flow = Flow(
        supplies=(Supply(id="hopper", rate_per_min=RATE),),
        magazines=(Magazine(id="tube", source="hopper", travel_s=TRAVEL_S, capacity=5, start_count=start),),
        channels=(Channel(id="chute", travel_min_s=0.1, travel_max_s=0.3, to="tray"),),
        outlets=(Outlet(id="tray"),),
        gates=tuple(
            Gate(id=name, state=at(name, "open"), source="tube", to="chute") for name in ("one", "two")
        ),
    )
    return machine(gate("One", 60.0, 90.0), gate("Two", 200.0, 230.0), flow=flow)


def by_simpy(project: Project, turns: int) -> tuple[int, ...]:
    """Return how many items leave in each turn by SimPy, an event library (outside reference)."""
    outputs = solve(project)
    env = simpy.Environment()
    flow = project.flow
    assert flow is not None
    (tube,) = flow.magazines
    held, taken, out = [tube.start_count], [tube.start_count], [0] * turns
    freed = [env.event()]

    def arrive() -> Generator[simpy.Event, None, None]:
        yield env.timeout(TRAVEL_S)
        held[0] += 1

    def supply() -> Generator[simpy.Event, None, None]:
        while True:
            yield env.timeout(60.0 / RATE)
            while taken[0] >= tube.capacity:
                yield freed[0]
            taken[0] += 1
            env.process(arrive())

    def opens(deg: float) -> Generator[simpy.Event, None, None]:
        yield env.timeout(deg / 360.0 * CYCLE_S)
        for turn in range(turns):
            if held[0]:
                held[0], taken[0] = held[0] - 1, taken[0] - 1
                out[turn] += 1
                freed[0].succeed()
                freed[0] = env.event()
            yield env.timeout(CYCLE_S)

    env.process(supply())
    for name in ("one", "two"):
        env.process(opens(outputs.lanes[name].states["open"][0].span.start))
    env.run(until=turns * CYCLE_S)
    return tuple(out)


@pytest.mark.parametrize("start", [1, 4])
def test_a_magazine_empty_at_the_start_lets_out_what_simpy_says(start: int) -> None:
    project = feeder(start)
    outputs = BuiltOutputs(solve(project))
    assert project.flow is not None
    emptied = faulty_flow(project.flow, said.empty("tube"))
    drawn = items_out(outputs, project.flow, outputs.drawn())
    faulty = items_out(outputs, emptied, outputs.drawn())
    assert drawn.arrived["tray"] == by_simpy(project, 3)
    assert faulty.arrived["tray"] == by_simpy(replaced(project, flow=emptied), 3)
    assert sum(faulty.arrived["tray"]) < sum(drawn.arrived["tray"])
    assert faulty.empty["one"] == 1


def test_stretches_of_a_shifted_lane_open_its_gate_as_the_edited_project_does() -> None:
    # Outside value: the same machine with its blocks moved by hand.
    project = feeder(4)
    late = replaced(project, lanes=(gate("One", 110.0, 140.0), gate("Two", 250.0, 280.0)))
    outputs, by_hand = BuiltOutputs(solve(project)), BuiltOutputs(solve(late))
    assert project.flow is not None
    faulty = built(project, outputs.drawn(), said.all_late(50.0))
    found = items_out(outputs, project.flow, faulty)
    assert found == items_out(by_hand, project.flow, by_hand.drawn())


@pytest.fixture(scope="module")
def blender() -> Project:
    return load_project(sample_folder() / "tea_blender.shaft")


@pytest.fixture(scope="module")
def sheet(blender: Project) -> SymptomSheet:
    return symptom_sheet(solve(blender))


def symptom(sheet: SymptomSheet, statement: str) -> FaultSymptom:
    every = (*sheet.symptoms, *sheet.invisible)
    return next(one for one in every if one.fault.statement == statement)


def test_a_stuck_gate_shows_where_it_should_move_and_lets_nothing_out(sheet: SymptomSheet) -> None:
    stuck = symptom(sheet, "A1 is stuck at “closed”")
    assert {one.lane for one in stuck.seen} == {"assam"}
    assert {(one.drawn.level, one.seen.level) for one in stuck.seen} == {("open", "closed")}
    assert stuck.outlets is not None
    assert [(one.end, one.drawn, one.seen) for one in stuck.outlets] == [("cup", (6, 6, 6), (5, 5, 5))]


def test_faults_are_grouped_by_their_first_difference_in_running_order(sheet: SymptomSheet) -> None:
    angles = [group.angle_deg for group in sheet.groups]
    assert angles == sorted(angles)
    assert len({(group.angle_deg, group.lane) for group in sheet.groups}) == len(sheet.groups)
    for group in sheet.groups:
        for one in group.symptoms:
            assert one.first == (group.angle_deg, group.lane)
    kinds = {one.fault.kind for one in (*sheet.symptoms, *sheet.invisible)}
    assert kinds >= {"wrong-way", "upside-down", "swapped", "crossed", "off-position", "hub-tooth", "stuck"}
    assert kinds >= {"spring-off", "travel", "late-falls", "slips", "empty"}


def test_the_sheet_is_said_in_whole_sentences(blender: Project, sheet: SymptomSheet) -> None:
    lines = list(sheet_lines(blender, sheet))
    assert lines[0].startswith(f"Tea blender: {len(sheet.checks)} checks in a turn, at ")
    assert "  A1 is stuck at “closed”. 1 sighting differs. To cup: 5 each turn, not 6." in lines
    assert "Would not show at these checks:" in lines


def test_the_json_object_has_the_documented_keys(blender: Project, sheet: SymptomSheet) -> None:
    # Outside value: the table of docs/guide/trouble.md.
    found = sheet_json(blender, sheet)
    keys = ["project", "checks", "groups", "invisible", "left_out", "flow_left_out"]
    assert list(found) == keys
    fault = found["groups"][0]["faults"][0]
    for key in (
        "kind",
        "statement",
        "lanes",
        "look",
        "do",
        "action",
        "differences",
        "seen",
        "outlets",
        "empty",
    ):
        assert key in fault
    assert set(fault["seen"][0]) == {"angle_deg", "step", "lane", "drawn", "seen"}


def test_faults_of_a_machine_that_counts_are_run_too() -> None:
    """Its tens stand on a stack that steps on once in ten cycles."""
    project = load_project(sample_folder() / "tally_board.shaft")
    found = symptom_sheet(solve(project))
    tens = {lane.id for lane in project.lanes if lane.group == "Tens"}
    assert any(tens & set(one.fault.lanes) for one in found.symptoms)
