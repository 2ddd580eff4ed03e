"""What the verdict covers: the areas by the definitions of the format, one machine each."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import pytest

from shaftscore.judge.findings import RULES
from shaftscore.judge.report import (
    AREAS,
    QUICK,
    RULES_OF,
    CoverageState,
    coverage_of,
    coverage_text,
    examine,
    report_json,
    verdict_lines,
    verdict_text,
)
from shaftscore.model import (
    CrankSource,
    Disc,
    Drive,
    Flow,
    FrictionCase,
    Gate,
    Lane,
    Load,
    Magazine,
    Project,
    Rod,
    Stack,
    Stage,
    Supply,
    TranslatingRoller,
    replaced,
)
from shaftscore.model.loader import read_project
from shaftscore.model.saved import saved_form
from tests.machines import at, block, gate, machine

CHECKED, PARTLY, NOT_DESCRIBED, NOT_NEEDED = "checked", "partly", "not-described", "not-needed"

LOAD = Load(friction_n=1.0, spring_preload_n=40.0, spring_rate_n_per_mm=2.0)
ROLLER = TranslatingRoller(kind="translating-roller", roller_radius_mm=5.0, arm_thickness_mm=4.0)
CRANK = Drive(source=CrankSource(kind="crank", radius_mm=100.0, hand_force_n=400.0, turn="clockwise"))
STACK = Stack(
    id="main", joints="one-way", followers_set="built", rod=Rod(across_mm=8.0, below_mm=8.0, above_mm=8.0)
)


def lane(name: str, start: float, **more: Any) -> Lane:
    parts = {"follower": ROLLER, "load": LOAD, "disc": Disc(base_radius_mm=60.0, thickness_mm=5.0)}
    return gate(name, start, start + 60, 60.0, **(parts | more))


def whole(**changes: Any) -> Project:
    """A machine of which everything is described; it has no items."""
    made = machine(lane("A", 40), lane("B", 200), drive=CRANK, stacks=(STACK,), flow=Flow())
    return replaced(made, **changes)


def with_lane(**changes: Any) -> Project:
    """The same, its second lane changed."""
    made = whole()
    return replaced(made, lanes=(made.lanes[0], replaced(made.lanes[1], **changes)))


def states(project: Project) -> dict[str, str]:
    return {area: str(one.state) for area, one in coverage_of(project).areas.items()}


def missing(project: Project, area: str) -> tuple[str, ...]:
    return coverage_of(project).areas[area].missing  # type: ignore[index]


def moving() -> Flow:
    return Flow(
        supplies=(Supply(id="hopper"),),
        magazines=(Magazine(id="tube", source="hopper", capacity=4, start_count=4),),
        gates=(Gate(id="g", state=at("a", "open"), source="tube", item="bead"),),
    )


ALL = dict.fromkeys(AREAS, CHECKED) | {"items": NOT_NEEDED}


def test_a_machine_of_which_everything_is_described() -> None:
    assert states(whole()) == ALL
    assert coverage_of(whole()).is_complete
    assert dict(coverage_of(whole()).not_described) == {}


def test_a_machine_of_blocks_alone() -> None:
    """Defaults stand in for joints and heights; nothing stands in for a load, a drive, a rod, a flow."""
    bare = machine(gate("A", 40, 100, 60.0), gate("B", 200, 260, 60.0))
    assert states(bare) == {
        "timing": CHECKED,
        "items": NOT_DESCRIBED,
        "forces": NOT_DESCRIBED,
        "torque": NOT_DESCRIBED,
        "fits": PARTLY,
        "heights": PARTLY,
        "shaft": NOT_DESCRIBED,
        "parts": CHECKED,
    }
    friction = ["lanes[0].load.friction_n", "lanes[1].load.friction_n"]
    assert {area: list(paths) for area, paths in coverage_of(bare).not_described.items()} == {
        "items": ["flow"],
        "forces": friction,
        "torque": ["drive", *friction],
        "fits": ["stacks[0].joints"],
        "heights": [
            "stacks[0].followers_set",
            "lanes[0].follower.arm_thickness_mm",
            "lanes[1].follower.arm_thickness_mm",
        ],
        "shaft": ["stacks[0].rod", *friction],
    }


def test_a_machine_without_lanes_has_nothing_to_judge() -> None:
    found = states(machine())
    assert found == dict.fromkeys(AREAS, NOT_DESCRIBED)
    assert missing(machine(), "timing") == ("lanes",)


Case = tuple[Project, Mapping[str, str], Mapping[str, tuple[str, ...]]]
FRICTION = ("lanes[1].load.friction_n",)
CASES: dict[str, Case] = {
    "a lane without blocks: forces, parts and what reads them lack it": (
        with_lane(blocks=()),
        {"timing": PARTLY, "forces": PARTLY, "torque": PARTLY, "shaft": PARTLY, "parts": PARTLY},
        {"timing": ("lanes[1].blocks",), "torque": ("lanes[1].blocks",)},
    ),
    "a lane without a load": (
        with_lane(load=None),
        {"forces": PARTLY, "torque": PARTLY, "shaft": PARTLY},
        {"forces": FRICTION, "torque": FRICTION, "shaft": FRICTION},
    ),
    "a load without friction": (
        with_lane(load=Load(spring_preload_n=40.0)),
        {"forces": PARTLY, "torque": PARTLY, "shaft": PARTLY},
        {"forces": FRICTION},
    ),
    "no drive": (whole(drive=None), {"torque": NOT_DESCRIBED}, {"torque": ("drive",)}),
    "a worm without efficiency": (
        whole(
            drive=replaced(
                CRANK, stages=(Stage(driver_teeth=1, driven_teeth=1, kind="worm", reverses=False),)
            )
        ),
        {"torque": PARTLY},
        {"torque": ("drive.stages[0].efficiency",)},
    ),
    "a worm with its lead": (
        whole(
            drive=replaced(
                CRANK,
                stages=(
                    Stage(driver_teeth=1, driven_teeth=1, kind="worm", reverses=False, lead_angle_deg=20.0),
                ),
            )
        ),
        {},
        {},
    ),
    "joints not stated": (
        whole(stacks=(replaced(STACK, joints=None),)),
        {"fits": PARTLY},
        {"fits": ("stacks[0].joints",)},
    ),
    "followers not said how": (
        whole(stacks=(replaced(STACK, followers_set=None),)),
        {"heights": PARTLY},
        {"heights": ("stacks[0].followers_set",)},
    ),
    "a lever without a thickness": (
        with_lane(follower=replaced(ROLLER, arm_thickness_mm=None)),
        {"heights": PARTLY},
        {"heights": ("lanes[1].follower.arm_thickness_mm",)},
    ),
    "no rod": (
        whole(stacks=(replaced(STACK, rod=None),)),
        {"shaft": NOT_DESCRIBED},
        {"shaft": ("stacks[0].rod",)},
    ),
    "a flow": (whole(flow=moving()), {"items": CHECKED}, {}),
    "no flow": (whole(flow=None), {"items": NOT_DESCRIBED}, {"items": ("flow",)}),
}


@pytest.mark.parametrize(("project", "changed", "paths"), CASES.values(), ids=CASES)
def test_what_is_missing_and_what_reads_it(
    project: Project, changed: Mapping[str, str], paths: Mapping[str, tuple[str, ...]]
) -> None:
    assert states(project) == ALL | dict(changed)
    assert {area: missing(project, area) for area in paths} == paths
    gaps = {area for area, state in states(project).items() if state in (PARTLY, NOT_DESCRIBED)}
    assert set(coverage_of(project).not_described) == gaps


def test_items_read_the_blocks_of_their_gates() -> None:
    made = with_lane(blocks=())
    assert states(replaced(made, flow=moving()))["items"] == CHECKED
    of_b = replaced(moving(), gates=(replaced(moving().gates[0], state=at("b", "open")),))
    assert missing(replaced(made, flow=of_b), "items") == ("lanes[1].blocks",)


def test_stacks_that_carry_nothing_need_nothing() -> None:
    assert states(whole(stacks=(STACK, Stack(id="spare")))) == ALL


def test_a_rider_has_the_program_of_its_disc_and_a_load_of_its_own() -> None:
    rider = Lane(id="r", kind="rider", disc_of="a", station_deg=90.0, follower=ROLLER)
    made = replaced(whole(), lanes=(*whole().lanes, rider))
    assert states(made)["timing"] == CHECKED
    assert missing(made, "forces") == ("lanes[2].load.friction_n",)


def test_one_of_two_stacks() -> None:
    second = Stack(id="second")
    made = whole(stacks=(STACK, second))
    moved = replaced(made, lanes=(made.lanes[0], replaced(made.lanes[1], stack="second")))
    found = states(moved)
    assert (found["fits"], found["shaft"]) == (PARTLY, PARTLY)
    assert found["heights"] == CHECKED  # no two followers beside one another
    assert missing(moved, "fits") == ("stacks[1].joints",)


def test_a_d_rod_in_another_bore_has_no_section() -> None:
    """Its flat is read from a D bore; without one its shaft cannot be computed."""
    rod = Rod(shape="d", across_mm=8.0, below_mm=8.0, above_mm=8.0)
    shaft = coverage_of(whole(stacks=(replaced(STACK, rod=rod),))).areas["shaft"]
    assert (shaft.state, shaft.missing) == (NOT_DESCRIBED, ("stacks[0].rod.shape",))


LOCKING = replaced(ROLLER, guide_length_mm=2.0, overhang_mm=60.0, guide_friction=0.3)
"""A guide that locks from a pressure angle of 3.1° on: 0.3 (2 · 60 + 2) / 2 tan 3.1° is 1."""


def test_a_shaft_that_cannot_be_computed_is_not_checked() -> None:
    project = whole(lanes=(lane("A", 40, follower=LOCKING), lane("B", 200)))
    assert states(project) == ALL
    report = examine(project)
    assert report.shafts is not None
    assert set(report.shafts.refused) == {"main"}
    shaft = report.coverage.areas["shaft"]
    assert (shaft.state, shaft.missing, shaft.described, shaft.count) == (PARTLY, (), 0, 1)
    assert coverage_text(report).startswith("Partly described: shaft.")
    assert report_json(report)["not_described"] == {"shaft": []}
    assert not report.is_clean


def test_cases_of_no_friction_are_completed_by_cases() -> None:
    """friction_n beside frictions is refused, so it would not complete anything."""
    load = Load(frictions=(FrictionCase(name="Dry", friction_n=0.0),), spring_preload_n=40.0)
    forces = coverage_of(whole(lanes=(lane("A", 40, load=load), lane("B", 200)))).areas["forces"]
    assert forces.missing == ("lanes[0].load.frictions",)


def test_what_the_person_leaves_out_is_no_gap_but_what_reads_it_lacks_it() -> None:
    made = replaced(with_lane(load=None), not_needed=("forces",))
    found = coverage_of(made)
    assert found.areas["forces"].state is CoverageState.NOT_NEEDED
    assert found.areas["forces"].by_person
    assert found.areas["torque"].state is CoverageState.PARTLY
    everything = replaced(made, not_needed=("forces", "torque", "shaft"))
    assert coverage_of(everything).is_complete
    assert not coverage_of(whole()).areas["items"].by_person


def test_a_migrated_file_does_not_say_how_its_joints_are_set() -> None:
    text = (
        b'{"format": "shaftscore-project", "version": 1, "shaft": {"turn": "clockwise", "speed_rpm": 6},'
        b'"lanes": [{"id": "a", "levels": {"open": 0}, "blocks": [{"level": "open", "start_deg": 0, '
        b'"end_deg": 360}]}]}'
    )
    found = states(read_project(text, "old"))
    assert (found["timing"], found["fits"], found["heights"], found["parts"]) == (
        CHECKED,
        PARTLY,
        PARTLY,
        CHECKED,
    )


@pytest.mark.parametrize("project", [entry[0] for entry in CASES.values()], ids=CASES)
def test_saving_changes_nothing(project: Project) -> None:
    assert states(read_project(saved_form(project), "again")) == states(project)


# In words and in JSON


def test_a_machine_with_errors_is_not_clean_however_much_is_described() -> None:
    clash = examine(with_lane(blocks=(*whole().lanes[1].blocks, block("closed", 255.0, 275.0))), stage=QUICK)
    assert clash.coverage.is_complete
    assert not clash.is_clean
    assert verdict_text(clash).startswith("1 error")


def test_two_lines_say_what_was_and_was_not_judged() -> None:
    bare = machine(gate("A", 40, 100, 60.0), gate("B", 200, 260, 60.0))
    report = examine(bare)
    assert report.found_nothing
    assert not report.is_clean
    assert verdict_text(report) == "Nothing found in timing, parts."
    expected = "Partly described: fits, heights. Not described: items, forces, torque, shaft."
    assert coverage_text(report) == expected
    left_out = examine(replaced(bare, not_needed=AREAS[1:7]))
    assert left_out.is_clean
    assert verdict_text(left_out) == "Clean: nothing found."
    assert coverage_text(left_out) == "Not needed: items, forces, torque, fits, heights, shaft."


def test_a_machine_of_which_nothing_is_checked_is_not_clean() -> None:
    bare = machine(gate("A", 40, 100, 60.0), gate("B", 200, 260, 60.0))
    report = examine(replaced(bare, not_needed=AREAS))
    assert report.found_nothing
    assert report.coverage.is_complete
    assert not report.is_clean
    assert verdict_text(report) == "Nothing was checked."
    expected = "Not needed: timing, items, forces, torque, fits, heights, shaft, parts."
    assert coverage_text(report) == expected
    assert verdict_lines(report) == ("Nothing was checked.", expected)


def test_json_says_the_same() -> None:
    made = report_json(examine(with_lane(load=None), stage=QUICK))
    assert made["coverage"] == ALL | dict.fromkeys(("forces", "torque", "shaft"), PARTLY)
    assert made["not_described"] == {area: list(FRICTION) for area in ("forces", "torque", "shaft")}


def test_every_rule_belongs_to_one_area() -> None:
    listed = [rule for rules in RULES_OF.values() for rule in rules]
    assert len(listed) == len(set(listed))
    assert set(RULES) - {"not-checked"} <= set(listed)
    assert set(AREAS) < set(RULES_OF)
