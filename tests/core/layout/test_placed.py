"""Parts in the machine: heights by hand, and each disc under its roller by the machine's own convention."""

from __future__ import annotations

import numpy as np
import pytest
import shapely

from shaftscore.base.samples import sample_folder
from shaftscore.layout import stack_placements, standing, turning
from shaftscore.model import load_project
from shaftscore.solution import solve
from shaftscore.stack import stack_plan
from shaftscore.stack.followers import follower_heights, follower_outlines


def test_standing_and_turning() -> None:
    """A quarter turn of the master at two turns against the clock: half a turn; by hand."""
    angles = np.array([0.0, 90.0])
    assert standing(3 + 4j, 90.0)(angles).points(2 + 0j) == pytest.approx([3 + 6j] * 2)
    assert turning(-2, 1 + 0j, 10.0)(angles).turn == pytest.approx(np.exp(1j * np.radians([10, -170])))


def test_placed_discs_touch_their_rollers() -> None:
    """The tea blender's contours, put where they are placed, touch the rollers that the stack view shows."""
    project = load_project(sample_folder() / "tea_blender.shaft")
    solution = solve(project)
    stack = project.stacks[0]
    placed = {one.code: one for one in stack_placements(project, stack)}
    plan = stack_plan(project, stack)
    for lane in project.discs_of(stack):
        solved, layer = solution.lanes[lane.id], plan.disc(lane.id)
        assert solved.profile is not None
        heights = follower_heights(project, stack, lane, layer)
        contour = solved.profile.outline(0.002) @ np.array([1, 1j])
        assert placed[lane.code].bottom_mm == layer.bottom_mm
        for angle in (0.0, 77.0, 215.5):
            pose = placed[lane.code].course(np.array([angle]))
            here = pose.at[0] + pose.turn[0] * contour
            disc = shapely.Polygon(np.column_stack([here.real, here.imag]))
            roller = next(
                ring for kind, ring, *_ in follower_outlines(solved, angle, heights) if kind == "roller"
            )
            body = shapely.Polygon(np.column_stack([roller.real, roller.imag]))
            assert disc.distance(body) < 0.06
            assert disc.intersection(body).area < 0.1
