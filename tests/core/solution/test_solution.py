"""One edit re-solves one lane; what a lane's result reads, and what it does not."""

from __future__ import annotations

import numpy as np
import pytest

from shaftscore.edits import BlockRef, apply_edit
from shaftscore.model import Disc, Lane, Load, Project, Stack, replaced
from shaftscore.solution import Solution, solve
from tests.machines import at, block, exclusive, gate, lane, machine, within

STACKS = (Stack(id="slow"), Stack(id="fast", turns=3))


def big(count: int = 12) -> Project:
    gates = [gate(f"Gate {n}", 20.0 * n + 10, 20.0 * n + 22, 20.0) for n in range(count)]
    return machine(*gates, stacks=STACKS)


def fresh(project: Project, before: Solution) -> set[str]:
    """Name the lanes that were solved again."""
    after = solve(project, before)
    solved = {key for key, one in after.lanes.items() if one is not before.lanes.get(key)}
    assert len(after.lanes) - len(solved) == after.reused
    return solved


def test_nothing_changed_solves_nothing() -> None:
    project = big()
    assert fresh(project, solve(project)) == set()


def test_one_edit_solves_one_lane() -> None:
    project = big()
    edited = apply_edit(project, "place_block", ref=BlockRef("gate-3", 1), start_deg=73.0).project
    assert edited is not project
    assert fresh(edited, solve(project)) == {"gate-3"}


@pytest.mark.parametrize(
    ("edit", "arguments", "count"),
    [
        ("set_shaft", {"speed_rpm": 7.0}, 12),
        ("set_shaft", {"turn": "counterclockwise"}, 12),
        ("set_shaft", {"steps": 8}, 0),
        ("set_name", {"name": "Other"}, 0),
        ("set_limits", {"pressure_angle_deg": 25.0}, 12),
        ("set_tolerances", {"disc_angle_deg": 0.1}, 0),
        ("set_stack", {"stack_id": "slow", "turns": 2}, 12),
        ("set_stack", {"stack_id": "fast", "turns": 2}, 0),
        ("set_stack", {"stack_id": "slow", "bore": replaced(STACKS[0].bore, across_mm=20.0)}, 12),
        ("set_print", {"bed_x_mm": 100.0}, 12),
        ("rename_lane", {"lane_id": "gate-1", "name": "Renamed"}, 1),
    ],
)
def test_what_a_result_reads(edit: str, arguments: dict[str, object], count: int) -> None:
    project = big()
    assert len(fresh(apply_edit(project, edit, **arguments).project, solve(project))) == count


def test_a_common_base_radius_ties_lanes_together() -> None:
    tied = [
        gate(name, 100, 120, move, disc=Disc(base_group="bank")) for name, move in (("A", 20.0), ("B", 40.0))
    ]
    project = machine(*tied, gate("C", 10, 40))
    solution = solve(project)
    profiles = [solution.lanes[key].profile for key in "ab"]
    assert profiles[0] is not None
    assert profiles[1] is not None
    assert profiles[0].base_radius_mm == profiles[1].base_radius_mm
    wider = apply_edit(project, "place_block", ref=BlockRef("b", 0), start_deg=102.0).project
    assert fresh(wider, solution) == {"b"}  # A's move is the steeper one and still rules
    steeper = apply_edit(project, "set_levels", lane_id="a", levels={"closed": 0.0, "open": 12.0}).project
    assert fresh(steeper, solution) == {"a", "b"}
    again = solve(steeper).lanes["b"].profile
    kept = solve(steeper, solution).lanes["b"].profile
    assert again is not None
    assert kept is not None
    assert kept.base_radius_mm == again.base_radius_mm > profiles[1].base_radius_mm


def test_the_same_answer_with_and_without_a_solution_before() -> None:
    project = big()
    edited = apply_edit(project, "place_block", ref=BlockRef("gate-3", 1), start_deg=73.0).project
    reused, again = solve(edited, solve(project)), solve(edited)
    assert {key: one.states for key, one in reused.lanes.items()} == {
        key: one.states for key, one in again.lanes.items()
    }


def test_states_are_master_angles() -> None:
    fast = lane("B", ("open", 30, 60), ("closed", 120, 330), stack="fast")
    solved = solve(machine(fast, stacks=STACKS)).lanes["b"]
    starts = [interval.span.start for interval in solved.states["open"]]
    assert len(starts) == 3
    assert starts[1] - starts[0] == pytest.approx(120.0)
    assert [interval.blocks for interval in solved.states["open"]] == [(0,)] * 3
    assert solved.deg_per_s == 108.0


def test_ranges_are_found_when_asked_and_kept() -> None:
    solution = solve(machine(gate("A", 100, 120)))
    first, second = (solution.intervals(within("a", 5, 10)) for _ in range(2))
    assert first is second
    assert (first[0].span.start, first[0].span.length) == pytest.approx((88.0, 44.0))
    assert solution.intervals(at("a", "open")) is solution.lanes["a"].states["open"]


def test_only_chosen_lanes_are_solved() -> None:
    assert set(solve(big(), lanes=["gate-1", "gate-4"]).lanes) == {"gate-1", "gate-4"}


def test_a_lane_without_motion_has_no_states() -> None:
    project = machine(lane("A", block("open", 0, 50), block("closed", 40, 100)))
    solved = solve(project).lanes["a"]
    assert solved.no_motion is not None
    assert solved.intervals(at("a", "open")) == ()
    assert exclusive(at("a", "open"), at("a", "closed"))


def test_at_another_speed_only_what_falls_freely_moves_otherwise() -> None:
    """Everything moves by its angles; a free fall takes its own time, more of a turn the faster that is."""
    shared = Disc(base_radius_mm="auto", base_group="g")
    load = Load(moving_mass_g=60.0, spring_preload_n=2.0, spring_rate_n_per_mm=0.5)
    falls = (block("high", 0, 120), block("low", 160, 320, law="drop"))
    project = machine(
        gate("A", 60, 80, disc=shared),
        gate("B", 10, 90, 16.0, disc=shared),
        Lane(id="rider", name="Rider", kind="rider", disc_of="a", station_deg=-90.0),
        lane("F", *falls, levels={"low": 0.0, "high": 12.0}, load=load),
        Lane(id="late", name="Late", kind="rider", disc_of="f", station_deg=45.0),
        rpm=6.0,
    )
    before = solve(project)
    faster = apply_edit(project, "set_shaft", speed_rpm=240.0).project
    after, anew = solve(faster, before), solve(faster)
    theta = np.linspace(0.0, 360.0, 721)
    for key, one in after.lanes.items():
        same = anew.lanes[key]
        assert one.speed_rpm == same.speed_rpm == 240.0
        assert one.motion is not None
        assert same.motion is not None
        assert one.profile is not None
        assert same.profile is not None
        np.testing.assert_array_equal(one.motion.at(theta), same.motion.at(theta))
        assert one.profile.base_radius_mm == same.profile.base_radius_mm
        assert one.states == same.states
        assert (one.motion is before.lanes[key].motion) == (key not in ("f", "late"))
    assert len({after.lanes[key].profile.base_radius_mm for key in "ab"}) == 1  # type: ignore[union-attr]
    assert not np.array_equal(after.lanes["f"].motion.at(theta), before.lanes["f"].motion.at(theta))  # type: ignore[union-attr]
    back = solve(project, after)
    assert all(back.lanes[key].profile is before.lanes[key].profile for key in ("a", "b", "rider"))
