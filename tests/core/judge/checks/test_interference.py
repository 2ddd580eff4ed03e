"""interference: what is said, and that every cure offered takes its finding away."""

from __future__ import annotations

from typing import Any

import pytest

from shaftscore.edits import apply_edit, set_lane
from shaftscore.judge.findings import Finding, words
from shaftscore.judge.report import QUICK, Report, examine, examine_as_drawn
from shaftscore.model import Disc, Lane, Project, Stack, SwingingRoller, TranslatingRoller
from tests.machines import gate, machine


def named(name: str, start: float, **more: Any) -> Lane:
    return gate(name, start, start + 30, 50.0, disc=Disc(base_radius_mm=34.0), **more)


def two(stack: Stack, **second: Any) -> Project:
    return machine(named("Ginger", 100), named("Rose", 220, **second), stacks=(stack,))


def met(project: Project, **how: Any) -> list[Finding]:
    return [finding for finding in examine(project, **how).findings if finding.rule == "interference"]


def test_two_followers_at_one_station_are_told_with_both_cures() -> None:
    project = two(Stack(id="s", follower_height_mm=12.0))
    (finding,) = met(project)
    said = words(finding, project)
    assert said.what == "Ginger's follower overlaps Rose's follower by 10.0 mm at 0.0°."
    assert said.cure == "Spacer 1.5 mm thicker, or station 20° on."
    assert finding.lanes == ("ginger", "rose")
    assert finding.span is not None
    assert finding.span.is_full
    assert not met(set_lane(project, "ginger", station_deg=20.0).project)


def test_a_follower_at_a_high_place_of_the_next_disc_is_told_where_it_is() -> None:
    # Seen from station 0, a disc that turns clockwise is high where its own gate is open.
    project = two(Stack(id="s", follower_height_mm=18.0), station_deg=90.0)
    finding = next(f for f in met(project) if f.facts["second"] == "Rose's disc")
    assert finding.facts["first"] == "Ginger's follower"
    assert finding.value == pytest.approx(-10.0, abs=0.02)
    # It is high at Rose's own station from 220 to 250, and comes to Ginger's, a quarter on, after 90 more.
    assert 309.9 <= float(finding.facts["at_deg"]) <= 340.1
    assert finding.span is not None
    assert finding.span.contains(325.0)
    assert not finding.span.contains(150.0)


CURED = {
    "followers": two(Stack(id="s", follower_height_mm=12.0)),
    "discs": two(Stack(id="s", follower_height_mm=18.0), station_deg=90.0),
    "spacers": two(Stack(id="s", follower_height_mm=8.0, spacer_radius_mm=36.0), station_deg=90.0),
    "a follower in a groove": machine(
        named(
            "Ginger",
            100,
            follower=TranslatingRoller(kind="translating-roller", roller_radius_mm=5.0, closure="groove"),
        ),
        named("Rose", 220),
        stacks=(Stack(id="s", follower_height_mm=8.0),),
    ),
    "a rod in a disc": two(
        Stack(id="s"),
        station_deg=0.0,
        follower=SwingingRoller(
            kind="swinging-roller",
            roller_radius_mm=5.0,
            arm_mm=40.0,
            pivot_distance_mm=44.0,
            pivot_side="counterclockwise",
        ),
    ),
}


@pytest.mark.parametrize("name", CURED)
def test_a_cure_takes_its_finding_away_and_brings_no_other(name: str) -> None:
    project = CURED[name]
    before = met(project)
    assert before
    for finding in before:
        if finding.cure is None:
            continue
        assert finding.cure.edit is not None
        after = met(apply_edit(project, finding.cure.edit, **finding.cure.arguments).project)
        assert {other.key for other in after} < {other.key for other in before}


def test_another_place_in_the_stack_is_offered_and_cures() -> None:
    """Two and two followers stand at one station; those of neighbours meet, the others do not."""
    stations = {"Ginger": 0.0, "Rose": 0.0, "Sage": 180.0, "Mint": 180.0}
    lanes = [named(name, 100, station_deg=station) for name, station in stations.items()]
    project = machine(*lanes, stacks=(Stack(id="s", follower_height_mm=12.0),))
    before = met(project)
    assert [finding.lanes for finding in before] == [("ginger", "rose"), ("sage", "mint")]
    assert words(before[0], project).cure.endswith(", or Ginger’s disc above Sage’s.")
    order = ("rose", "sage", "ginger", "mint")
    assert met(apply_edit(project, "set_stack", stack_id="s", order=order).project) == []


def test_each_of_many_has_its_cure() -> None:
    lanes = [named(f"L{number}", 20 * number) for number in range(9)]
    project = machine(*lanes, stacks=(Stack(id="s", follower_height_mm=34.0),))
    found = met(project)
    assert len(found) > 24
    assert all(finding.cure is not None for finding in found)


def test_most_of_these_have_a_cure() -> None:
    for name, project in CURED.items():
        assert any(finding.cure for finding in met(project)) or name == "a rod in a disc"


def test_a_stack_that_turns_three_times_is_told_in_the_cycle_s_angles() -> None:
    once = two(Stack(id="s", follower_height_mm=18.0), station_deg=90.0)
    thrice = two(Stack(id="s", follower_height_mm=18.0, turns=3), station_deg=90.0)
    for first, second in zip(met(once), met(thrice), strict=True):
        assert float(second.facts["at_deg"]) == pytest.approx(float(first.facts["at_deg"]) / 3, abs=1e-6)
        assert first.span is not None
        assert second.span is not None
        assert second.span.length == pytest.approx(first.span.length / 3, abs=1e-6)


def test_while_a_block_is_held_the_last_word_stands_and_then_all_is_judged_again() -> None:
    project = two(Stack(id="s", follower_height_mm=18.0), station_deg=90.0)
    first = examine(project)
    moved = set_lane(project, "ginger", station_deg=45.0).project
    held = examine(moved, first, stage=QUICK)
    then = examine(moved, held)
    fresh = examine(moved)
    assert [f.key for f in held.findings] == [f.key for f in first.findings]
    assert then.findings == fresh.findings


def test_a_search_judges_what_each_machine_s_bodies_do() -> None:
    """Examined as drawn after a similar machine, it has its own interference, not that of the one before."""
    project = two(Stack(id="s", follower_height_mm=18.0), station_deg=90.0)
    apart = set_lane(project, "ginger", station_deg=270.0).project
    shifted = apply_edit(project, "shift_lanes", lane_ids=["rose"], by_deg=100.0).project
    first = examine_as_drawn(project)
    machines = (project, apart, shifted)
    found = [meeting(examine_as_drawn(one, first)) for one in machines]
    assert found == [meeting(examine(one)) for one in machines]
    assert found[0] not in found[1:]


def meeting(report: Report) -> list[tuple[object, object]]:
    return [(one.key, one.value) for one in report.findings if one.rule == "interference"]


def test_riders_on_one_disc_meet_one_another() -> None:
    host = named("Ginger", 100)
    rider = Lane(
        id="echo", name="Echo", kind="rider", disc_of="ginger", station_deg=10.0, follower=host.follower
    )
    project = machine(host, rider, stacks=(Stack(id="s"),))
    (finding,) = met(project)
    assert words(finding, project).what.startswith("Ginger's follower overlaps Echo's follower by ")
    assert finding.cure is None
    assert not met(set_lane(project, "echo", station_deg=90.0).project)


def test_a_lane_turned_for_what_was_measured_keeps_its_findings() -> None:
    project = two(Stack(id="s", follower_height_mm=18.0), station_deg=90.0)
    turned = set_lane(project, "rose", offset_deg=7.0).project
    for first, second in zip(met(project), met(turned), strict=True):
        assert first.value == pytest.approx(second.value, abs=0.02)
        assert first.key == second.key
