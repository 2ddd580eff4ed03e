"""Twelve selectors in three banks over one chute: no worse than what a person does by hand."""

from __future__ import annotations

from functools import cache

import pytest

from shaftscore.base.angles import turn_to, wrap
from shaftscore.judge.report import Report, examine
from shaftscore.judge.spread.slacks import rule_slacks
from shaftscore.placing import Arrangement, arrange
from tests.core.placing.banks import BANKS, BY_HAND, DWELL, REST, one_chute


@cache
def by_hand() -> Report:
    return examine(one_chute(BY_HAND), cures=False)


@cache
def arranged() -> Arrangement:
    found = arrange(one_chute())
    assert isinstance(found, Arrangement)
    return found


def radii(report: Report) -> set[float]:
    lanes = report.solution.lanes.values()
    return {round(lane.profile.base_radius_mm, 2) for lane in lanes if lane.profile is not None}


def test_the_machine_is_the_one_of_the_case() -> None:
    """As a person shifts it: 2.4 degrees left in the chute, radii of 37.7 mm, 99.9 % of machines work."""
    typed = examine(one_chute(), cures=False)
    assert {finding.rule for finding in typed.findings} == {"collision"}
    least = min(one.slack_deg for one in rule_slacks(by_hand().solution) if one.kind == "headway")
    # Every 15 degrees a seed; 0.1 s of spread and a headway of 0.95 s at 12 degrees a second.
    assert least == pytest.approx(15.0 - 1.05 * 12.0, abs=1e-6)
    assert radii(by_hand()) == {37.7}
    assert by_hand().spread is not None
    assert by_hand().spread.chance == pytest.approx(0.999, abs=0.001)


def test_arrange_shifts_whole_banks_and_is_no_worse_than_the_hand() -> None:
    found = arranged()
    assert found.by == "groups"
    shifts: dict[str, set[float]] = {lane: set() for lane in found.project.lane_index}
    for one in found.moved:
        shifts[one.ref.lane_id].add(round(turn_to(one.from_deg[0], one.to_deg[0]), 6))
    for bank in BANKS:
        assert len({frozenset(by) for lane, by in shifts.items() if lane[0].upper() == bank}) == 1
    report = examine(found.project, cures=False)
    assert not [finding.rule for finding in report.findings if finding.severity.name == "ERROR"]
    assert report.spread is not None
    assert by_hand().spread is not None
    assert report.spread.chance >= by_hand().spread.chance - 0.0005
    assert radii(report) == {37.7}
    blocks = [block for lane in found.project.lanes for block in lane.blocks]
    assert {round(block.length_deg, 3) for block in blocks if block.level == "shut"} == {REST}


def test_the_comparison_says_what_changed() -> None:
    before, after = arranged().before, arranged().after
    assert (before.errors > 0, after.errors) == (True, 0)
    assert before.chance == 0.0
    assert after.chance == pytest.approx(0.999, abs=0.001)
    assert after.margin_deg == pytest.approx(2.4, abs=0.05)
    assert after.place.startswith("channel, Selector ")
    assert (before.shortest_dwell_deg, after.shortest_dwell_deg) == (DWELL, DWELL)
    assert after.largest_disc_mm == pytest.approx(before.largest_disc_mm, abs=0.05)


def test_nothing_better_than_the_hand_means_it_stays_as_drawn() -> None:
    found = arrange(one_chute(BY_HAND))
    assert isinstance(found, Arrangement)
    assert found.moved == ()
    assert found.by is None
    assert found.project == one_chute(BY_HAND)


def test_dwells_stay_in_their_steps() -> None:
    for moved in arranged().moved:
        if moved.level != "shut":
            middles = [wrap((start + end) / 2) for start, end in (moved.from_deg, moved.to_deg)]
            assert len({int(middle // 45.0) for middle in middles}) == 1
