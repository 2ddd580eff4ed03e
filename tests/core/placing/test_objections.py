"""What a search learns from what the real solver has against its answers."""

from __future__ import annotations

import pytest

from shaftscore.base.angles import wrap
from shaftscore.base.samples import sample_folder
from shaftscore.model.loader import load_project
from shaftscore.placing.model import arranging
from shaftscore.placing.objections import Objections
from shaftscore.placing.shortest import Shortest
from shaftscore.solution import solve


def test_a_lane_that_strains_the_machine_keeps_its_moves_as_long_as_drawn_and_that_is_learnt_once() -> None:
    solution = solve(load_project(sample_folder() / "tea_blender.shaft"))
    shortest = Shortest(solution.project)
    arranging(solution, shortest)
    lane = next(one for one in solution.project.lanes if one.load is not None and len(one.blocks) > 1)
    drawn = [
        wrap(block.start_deg - lane.blocks[index - 1].end_deg) for index, block in enumerate(lane.blocks)
    ]
    assert any(shortest.known(lane.id, index) < length - 1 for index, length in enumerate(drawn))
    objections = Objections(strained=frozenset((lane.id,)))
    assert objections.teach(shortest)
    arranging(solution, shortest)
    for index, length in enumerate(drawn):
        assert shortest.known(lane.id, index) >= length - 1e-6
        assert shortest.known(lane.id, index) == pytest.approx(length, abs=0.1)
    assert not objections.teach(shortest)
