"""Where all lanes are looked at together: angles of the test cards at which every dwell is looked at once."""

from __future__ import annotations

from pathlib import Path

import pytest

from shaftscore.bringup.angles import card_angles, card_lanes, check_angles, dwells
from shaftscore.bringup.stops import bench_stop, is_resting
from shaftscore.model.loader import load_project
from shaftscore.solution import solve

SAMPLES = Path(__file__).parents[3] / "sample_projects"


@pytest.mark.parametrize("name", ["tea_blender", "paper_theatre", "seedling_sower"])
def test_every_dwell_of_a_card_is_looked_at_and_no_stop_is_spare(name: str) -> None:
    solution = solve(load_project(SAMPLES / f"{name}.shaft"))
    project, stops = solution.project, check_angles(solution)
    of_cards = [angle for _, lanes in card_lanes(solution) for angle in card_angles(project, lanes)]
    assert set(stops) <= set(of_cards)
    spans = [span for _, lanes in card_lanes(solution) for one in lanes for _, span in dwells(project, one)]
    looked = [[span.contains(angle) for angle in stops] for span in spans]
    due = [any(span.contains(angle) for angle in of_cards) for span in spans]
    assert [any(row) for row in looked] == due
    for column in range(len(stops)):
        assert any(row[column] and sum(row) == 1 for row in looked), stops[column]


def test_a_stop_knows_its_step_and_who_rests_there() -> None:
    solution = solve(load_project(SAMPLES / "tea_blender.shaft"))
    stop = bench_stop(solution.project, 75.0)
    assert (stop.step, stop.step_name) == (3, "Assam")
    assert is_resting(solution.project, solution.lanes["assam"], 75.0)
    assert not is_resting(solution.project, solution.lanes["assam"], 59.0)
