"""Machines that count: slow and stepped stacks through many cycles, against counting by whole numbers.

The counter has two digits of seven lanes: a Geneva wheel of 10 slots on the master steps the ones, two
counted teeth of 20 on the ones step the tens. What it shows is worked out here by integer carry and by the
usual codes of the digits (segments a to g, as texts on seven-segment displays have them; from memory).
"""

from __future__ import annotations

import json
import math
from fractions import Fraction
from typing import Any

import numpy as np
import pytest

from shaftscore.judge.findings import Severity, words
from shaftscore.judge.report import Report, examine, report_json
from shaftscore.kinematics.course import course_of
from shaftscore.make.table import TableError, angles, cycle_table, lane_table
from shaftscore.model import LevelState, Project, read_project
from shaftscore.placing import Arrangement, MayChange, arrange
from shaftscore.solution import solve
from shaftscore.solution.cycles import circle_deg, motion_at

CODES = ["abcdef", "bc", "abdeg", "abcdg", "bcfg", "acdfg", "acdefg", "abc", "abcdefg", "abcdfg"]
"""Segments that are on for each digit."""

GENEVA = {"kind": "geneva", "centre_distance_mm": 60, "pin_diameter_mm": 4, "thickness_mm": 6}
GEAR = {
    "kind": "counted-gear",
    "teeth": 20,
    "counted": 2,
    "driven_teeth": 20,
    "module_mm": 1.5,
    "thickness_mm": 6,
}


def made(stacks: list[Any], lanes: list[Any], *rules: Any, rpm: float = 6, **more: Any) -> Project:
    raw = {"format": "shaftscore-project", "version": 2, "shaft": {"turn": "clockwise", "speed_rpm": rpm}}
    return read_project(
        json.dumps(raw | {"stacks": stacks, "lanes": lanes, "rules": rules} | more).encode(), "x"
    )


def segment(stack: str, name: str) -> dict[str, Any]:
    """Return a lane whose seven-segment piece is out for the digits that need it: dwells of 24° at each."""
    blocks = [
        {"level": "on" if name in CODES[digit] else "off", "start_deg": start, "end_deg": start + 24}
        for digit in range(10)
        for start in [(36 * digit - 12) % 360]
    ]
    blocks.sort(key=lambda block: float(block["start_deg"]))
    return {"id": stack + name, "stack": stack, "levels": {"off": 0, "on": 6}, "blocks": blocks}


def segment_counter() -> Project:
    """Return the counter of two digits."""
    return made(
        [
            {"id": "main"},
            {"id": "ones", "steps_from": GENEVA | {"stack": "main", "start_deg": 180, "slots": 10}},
            {"id": "tens", "steps_from": GEAR | {"stack": "ones", "start_deg": 324}},
        ],
        [segment(stack, name) for stack in ("ones", "tens") for name in "abcdefg"],
        {
            "kind": "exclusive",
            "states": [{"lane": "onesb", "level": "on"}, {"lane": "onesc", "level": "off"}],
        },
        {
            "kind": "requires",
            "when": {"lane": "tensf", "level": "on"},
            "need": {"lane": "tensa", "level": "on"},
        },
    )


@pytest.fixture(scope="module")
def counter() -> Project:
    return segment_counter()


def test_a_counter_shows_every_number_from_0_to_99(counter: Project) -> None:
    solution = solve(counter)
    for number in range(100):
        digits = dict(zip(("tens", "ones"), divmod(number, 10), strict=True))
        for lane_id, lane in solution.lanes.items():
            shown = lane_id[-1] in CODES[digits[lane.stack]]
            place = circle_deg(lane, number % int(lane.course.cycles) + 1, np.array([90.0]))
            output = motion_at(lane, place)[1][:, 0]
            assert output == pytest.approx([6.0 if shown else 0.0, 0, 0, 0]), (number, lane_id)
            held = [one.span.contains(float(place[0])) for one in lane.intervals(_on(lane_id))]
            assert any(held) is shown, (number, lane_id)


def _on(lane_id: str) -> LevelState:
    return LevelState(lane=lane_id, level="on")


def test_a_carry_takes_place_within_the_step_of_the_ones(counter: Project) -> None:
    """From 9 to 10 the tens move while the ones do: between 180° and 324° of cycle 10, and only then."""
    lane = solve(counter).lanes["tensa"]
    assert lane.course.cycles == 100
    assert lane.course.turns == 1
    master = np.arange(0.0, 3600.0, 0.25)
    moving = master[lane.course.own(master / 100)[1] > 1e-9]
    assert 3240 + 180 < moving.min() < moving.max() < 3240 + 324
    ones = course_of(counter, counter.stacks[1], Fraction(100)).own(master / 100)[0]
    tens = lane.course.own(master / 100)[0]
    assert tens[(ones <= 324.0) & (master < 3600)] == pytest.approx(0.0, abs=1e-9)
    assert tens[-1] == pytest.approx(36.0)


def test_findings_name_their_cycle(counter: Project) -> None:
    report = examine(counter)
    told = [(one, words(one, counter)) for one in report.findings if one.rule in ("overlap", "interlock")]
    by_rule = {rule: [said for one, said in told if one.rule == rule] for rule in ("overlap", "interlock")}
    # Segment f is on without segment a for the digit 4 alone: tens 4 is shown in cycles 41 to 50.
    assert [said.where for said in by_rule["interlock"]] == [by_rule["interlock"][0].where]
    assert by_rule["interlock"][0].where.startswith("cycle 40, ")
    assert ", 2" in by_rule["interlock"][0].where
    assert "cycle 50, " in by_rule["interlock"][0].where
    # b is on and c off for the digit 2, which is shown from the step in cycle 2 to that in cycle 3.
    overlaps = {said.where.split(",")[0] for said in by_rule["overlap"] if "360" not in said.what}
    assert "cycle 2" in overlaps
    found = report_json(report)
    entry = next(one for one in found["findings"] if one["rule"] == "interlock")  # type: ignore[attr-defined]
    assert (entry["cycle"], entry["end_cycle"]) == (40, 50)
    assert 0 <= entry["start_deg"] < 360
    lanes: Any = found["lanes"]
    assert lanes["tensa"]["repeats_after_cycles"] == 100
    assert lanes["onesa"]["repeats_after_cycles"] == 10
    assert max(end for spans in lanes["onesa"]["states"].values() for _, end in spans) < 3600


def crossed(cycles: int, gap_deg: float) -> Project:
    """Return two lanes that clash, on a stack that turns once in some cycles, at as many times the speed."""
    lanes = [
        {
            "id": name,
            "stack": "slow",
            "levels": {"in": 0, "out": 8},
            "blocks": [
                {"level": "out", "start_deg": start, "end_deg": start + 60},
                {"level": "in", "start_deg": (start + 100) % 360, "end_deg": (start + 100) % 360 + 160},
            ],
        }
        for name, start in (("one", 40), ("two", 95))
    ]
    states = [{"lane": name, "level": "out"} for name in ("one", "two")]
    rules = [
        {"kind": "exclusive", "states": states, "gap_deg": gap_deg},
        {"kind": "order", "first": states[0], "then": states[1], "min_s": 3},
    ]
    return made([{"id": "slow", "cycles": cycles}], lanes, *rules, rpm=6 * cycles)


def test_a_slow_stack_is_the_same_machine_at_a_faster_master() -> None:
    """Degrees of the master are 4 times as many; times and all on the stack stay (no outside value)."""
    plain, slow = (examine(crossed(cycles, 10.0 * cycles)) for cycles in (1, 4))
    assert [one.rule for one in plain.findings] == [one.rule for one in slow.findings]
    for before, after in zip(plain.findings, slow.findings, strict=True):
        assert after.facts.get("seconds") == pytest.approx(before.facts.get("seconds"))
        assert (after.cure and after.cure.sentence) == (before.cure and before.cure.sentence)
    clash = [next(one for one in report.findings if one.rule == "overlap") for report in (plain, slow)]
    assert clash[1].value == pytest.approx(4 * float(clash[0].value or 0))
    assert words(clash[1], slow.project).where.startswith("cycle ")
    assert chance_of(slow) == pytest.approx(chance_of(plain))
    margins = [report.margin.smallest_deg for report in (plain, slow) if report.margin]
    assert margins[1] == pytest.approx(4 * margins[0])
    rows = [list(lane_table(report.project, "one", angles(7.0))) for report in (plain, slow)]
    values = [np.array([[float(cell or "nan") for cell in row] for row in table[1:]]) for table in rows]
    assert np.allclose(*values, rtol=1e-6, atol=1e-6, equal_nan=True)


def chance_of(report: Report) -> float | None:
    return None if report.chance is None else report.chance.share


def test_one_cycle_is_the_machine_of_before() -> None:
    """With cycles 1 written out the report is the same, bit for bit."""
    project = crossed(1, 10.0)
    raw = json.loads(project.model_dump_json(by_alias=True))
    assert raw["stacks"][0]["cycles"] == 1
    raw["stacks"][0].pop("cycles")
    again = read_project(json.dumps(raw).encode(), "x")
    assert report_json(examine(again)) == report_json(examine(project))


def test_a_table_of_a_cycle_goes_on_where_the_last_one_ended() -> None:
    project = crossed(4, 0.0)
    cycles = [list(cycle_table(project, "one", cycle, angles(90.0)))[1:] for cycle in (1, 2, 3, 4)]
    own = [float(row[2]) for rows in cycles for row in rows]
    assert own == pytest.approx(np.arange(0.0, 360.0, 22.5))
    with pytest.raises(TableError, match="no cycle 5: the machine repeats after 4 cycles"):
        list(cycle_table(project, "one", 5, angles(90.0)))


def test_speed_in_a_step_is_the_slope_of_the_output(counter: Project) -> None:
    lane = solve(counter).lanes["onesd"]
    circle = np.linspace(0.0, 36.0 * 4, 100_001)
    _, (s, v, a, _) = motion_at(lane, circle)
    dt = (circle[1] - circle[0]) / lane.circle_deg_per_s
    assert np.abs(np.gradient(s, dt) - v).max() < 2e-3 * np.abs(v).max()
    assert np.abs(np.gradient(v, dt)[5:-5] - a[5:-5]).max() < 0.02 * np.abs(a).max()
    figures: Any = report_json(examine(counter))["lanes"]
    assert figures["onesd"]["peak_velocity_mm_s"] == pytest.approx(np.abs(v).max(), rel=1e-4)


def test_very_fast_stacks_are_shown_once() -> None:
    """16 lanes at 3,600 turns: one repetition with its count, findings folded."""
    lanes = [
        {
            "id": f"l{n}",
            "levels": {"in": 0, "out": 5},
            "blocks": [
                {"level": "out", "start_deg": 20 * n, "end_deg": 20 * n + 60},
                {"level": "in", "start_deg": (20 * n + 120) % 360, "end_deg": (20 * n + 120) % 360 + 180},
            ],
        }
        for n in range(16)
    ]
    rule = {"kind": "exclusive", "states": [{"lane": f"l{n}", "level": "out"} for n in (0, 1, 8)]}
    report = examine(made([{"id": "main", "turns": 3600}], lanes, rule, rpm=0.01))
    found: Any = report_json(report)
    assert found["lanes"]["l0"]["repeats_per_cycle"] == 3600
    ((start, end),) = found["lanes"]["l1"]["states"]["out"]
    assert 0 <= start < end <= 0.1
    (clash,) = [one for one in found["findings"] if one["rule"] == "overlap"]
    assert clash["repeats_per_cycle"] == 3600
    assert math.isclose(report.findings[0].cycles, 1 / 3600)


def test_what_repeats_too_late_is_said_to_be_not_checked(counter: Project) -> None:
    stacks = [{"id": "seconds"}, {"id": "minutes", "cycles": 60}, {"id": "hours", "cycles": 3600}]
    blocks = [
        {"level": "on", "start_deg": 0, "end_deg": 90},
        {"level": "off", "start_deg": 150, "end_deg": 300},
    ]
    lanes = [
        {"id": stack["id"], "stack": stack["id"], "levels": {"off": 0, "on": 5}, "blocks": blocks}
        for stack in stacks
    ]
    rules = [
        {"kind": "requires", "when": {"lane": "hours", "level": "on"}, "need": {"lane": other, "level": "on"}}
        for other in ("minutes", "seconds")
    ]
    report = examine(made(stacks, lanes, *rules))
    said = [words(one, report.project).what for one in report.findings if one.rule == "not-checked"]
    late = "the machine repeats only after 3600 cycles (minutes and hours)"
    assert f"The chance of working is not worked out: {late}." in said
    assert any(what.startswith("The margin of") for what in said)
    assert {one.rule for one in report.findings} >= {"interlock"}


def test_arrange_moves_blocks_of_slow_stacks_apart() -> None:
    project = crossed(4, 40.0)
    found = arrange(project, may=MayChange())
    assert isinstance(found, Arrangement)
    assert found.project.stacks is project.stacks or found.project.stacks == project.stacks
    assert not [one for one in examine(found.project).findings if one.severity is Severity.ERROR]


def test_counted_teeth_that_move_a_lane_at_once_are_a_jump_of_speed() -> None:
    """At 6 rev/min a ratio of 20 to 20 turns the wheel by 36° in 36°: 36 deg/s at once (by hand)."""
    blocks = [
        {"level": "in", "start_deg": 340, "end_deg": 355},
        {"level": "out", "start_deg": 110, "end_deg": 130},
    ]
    lane = {"id": "a", "stack": "wheel", "levels": {"in": 0, "out": 9}, "blocks": blocks[::-1]}
    lane["law"] = "constant-velocity"
    stacks: list[Any] = [
        {"id": "main"},
        {"id": "wheel", "steps_from": GEAR | {"stack": "main", "start_deg": 90}},
    ]
    report = examine(made(stacks, [lane]))
    (jump,) = [one for one in report.findings if one.facts.get("by") == "stage"]
    # The rise takes 115° of the wheel; the fall 210°: at 36 deg/s the rise is the quicker.
    assert jump.value == pytest.approx(9 / 115 * 36, rel=1e-6)
    assert words(jump, report.project).what.startswith(
        "The velocity jumps by 2.8 mm/s where the intermittent"
    )
    geneva = [
        stacks[0],
        {"id": "wheel", "steps_from": GENEVA | {"stack": "main", "start_deg": 90, "slots": 10}},
    ]
    assert not [one for one in examine(made(geneva, [lane])).findings if one.facts.get("by") == "stage"]


def test_items_are_counted_over_the_round() -> None:
    """A gate on a stack of 4 cycles lets out one item a round, one on the master four."""
    lanes = [
        {
            "id": name,
            "stack": stack,
            "levels": {"shut": 0, "open": 6},
            "blocks": [
                {"level": "open", "start_deg": 100, "end_deg": 160},
                {"level": "shut", "start_deg": 220, "end_deg": 400},
            ],
        }
        for name, stack in (("often", "main"), ("seldom", "slow"))
    ]
    gates = [
        {
            "id": f"g{n}",
            "state": {"lane": lane, "level": "open"},
            "from": f"m{n}",
            "to": f"o{n}",
            "item": "ball",
        }
        for n, lane in enumerate(("often", "seldom"))
    ]
    flow = {
        "supplies": [{"id": "s", "rate_per_min": 6}],
        "magazines": [
            {"id": "m0", "from": "s", "travel_s": 0, "capacity": 3, "start_count": 3},
            {"id": "m1", "travel_s": 0, "capacity": 9, "start_count": 5},
        ],
        "outlets": [{"id": "o0", "expects": ["ball"] * 4}, {"id": "o1", "expects": ["ball"]}],
        "gates": gates,
    }
    report = examine(made([{"id": "main"}, {"id": "slow", "cycles": 4}], lanes, flow=flow))
    assert report.cycles == 4
    empty = [one for one in report.findings if one.rule == "starvation"]
    # Its band starts a little before the block, at 4 times 100° of the master, so still in cycle 1.
    # Five items in a magazine that nothing fills: the sixth opening, in round 6, finds none.
    assert [(one.lanes, one.turn) for one in empty] == [(("seldom",), 6)]
    assert words(empty[0], report.project).where.startswith("round 6, cycle 1, 343.")
    assert not [one for one in report.findings if one.rule == "wrong-order"]
    assert report_json(report)["flow"]["repeats_after_cycles"] == 4  # type: ignore[index]
