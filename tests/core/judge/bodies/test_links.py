"""Links of straight-line levers, feet and hubs as bodies: where they are, and what comes too near to them."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from shapely import LineString, Point

from shaftscore.judge.bodies import parts_of
from shaftscore.judge.bodies.made import MovingLink
from shaftscore.judge.findings import Finding, words
from shaftscore.judge.report import examine
from shaftscore.model import Hub, Project, Stack, replaced
from shaftscore.model.guided import lane_guidance
from shaftscore.solution import solve
from tests.follower_machine import lever_lane, straight_lane
from tests.machines import gate, machine


def beside(station_deg: float, **lever: Any) -> Project:
    """A straight-line lever at 240° and a lever with its pivot 100 mm from the axis, on discs 16 mm apart."""
    lane = lever_lane()
    assert lane.parts is not None
    follower = replaced(lane.follower, pivot_distance_mm=100.0, arm_mm=84.0, **lever)
    parts = replaced(lane.parts, arm_mm=84.0, spring_hook_mm=None)
    moved = replaced(lane, station_deg=station_deg, follower=follower, parts=parts)
    return machine(straight_lane(), moved, stacks=(Stack(id="s", spacer_mm=16.0),))


def met(project: Project) -> list[Finding]:
    return [one for one in examine(project).findings if one.rule == "interference"]


def towards(angle_deg: float) -> complex:
    return complex(np.exp(1j * np.radians(angle_deg)))


def coupler_by_hand(project: Project) -> LineString:
    """The coupler at rest: base radius 40 and bearing 624 (13 mm), pivot at 76 mm, arm 60 mm, output 120 mm.

    Clockwise of the station line seen from the top, so the roller is to the other side of the pivot's line.
    """
    guide = lane_guidance(project.lane("straight"))
    assert guide is not None
    out = (46.5**2 + 76.0**2 - 60.0**2) / (2 * 46.5 * 76.0)
    roller, aside = 46.5 * towards(240.0), np.degrees(np.arccos(out))
    pivots = [76.0 * towards(240.0 + sign * aside) for sign in (1, -1)]
    layout_pivot = next(part for part in bodies(project) if part.kind == "post" and part.lane == "straight")
    pivot = min(pivots, key=lambda at: abs(at - layout_pivot.body.at(np.zeros(1))[0].centre[0]))  # type: ignore[union-attr]
    joint = pivot + 120.0 * (roller - pivot) / abs(roller - pivot)
    held = next(part for part in bodies(project) if part.kind == "guide post")
    at = complex(held.body.at(np.zeros(1))[0].centre[0])  # type: ignore[union-attr]
    along = (guide.coupler_mm**2 + abs(at - joint) ** 2 - guide.guide_mm**2) / (2 * abs(at - joint))
    high = np.sqrt(guide.coupler_mm**2 - along**2)
    ends = [joint + (along + sign * 1j * high) * (at - joint) / abs(at - joint) for sign in (1, -1)]
    link = next(part for part in bodies(project) if part.kind == "coupler")
    far = min(ends, key=lambda end: abs(end - link.body.at(np.zeros(1))[2].centre[0]))  # type: ignore[union-attr]
    return LineString([(joint.real, joint.imag), (far.real, far.imag)])


def bodies(project: Project) -> tuple[Any, ...]:
    return parts_of(solve(project), project.stacks[0])


def test_a_coupler_that_meets_anothers_rod_is_said_with_a_cure() -> None:
    project = beside(334.0)
    said = {words(one, project).what: one for one in met(project)}
    text = next(what for what in said if what.startswith("Straight's coupler overlaps Lever's pivot rod"))
    finding = said[text]
    assert finding.cure is not None
    assert finding.cure.sentence.startswith("Station ")
    rod = next(part for part in bodies(project) if part.kind == "rod" and part.lane == "lever")
    at = complex(rod.body.at(np.zeros(1))[0].centre[0])
    # at rest, where it is nearest: a joint of 3.2 mm with 2.4 mm of material, a rod of 4 mm
    by_hand = coupler_by_hand(project).distance(Point(at.real, at.imag)) - 4.0 - 2.0
    assert finding.value == pytest.approx(by_hand, abs=0.02)
    assert met(beside(40.0)) == []


@pytest.mark.parametrize("kind", ["coupler", "guide link"])
def test_no_point_of_a_link_moves_farther_than_its_bound(kind: str) -> None:
    project = machine(straight_lane())
    part = next(one for one in bodies(project) if one.kind == kind)
    body = part.body
    assert isinstance(body, MovingLink)
    theta = np.linspace(0.0, 360.0, 1441)
    strip, start, end = body.at(theta)
    lift = body.lift_mm(theta)
    corners = np.array([*strip.corners, start.centre, end.centre])  # type: ignore[union-attr]
    moved = np.abs(np.diff(corners, axis=1))
    bound = body.factor * np.abs(np.diff(lift)) + 1e-9
    assert np.all(moved <= bound)
    assert np.max(moved) > 0.5 * np.max(bound)  # the bound is not idle
    (whole,) = body.envelope
    assert np.all(np.abs(corners - whole.centre[0]) <= whole.radius_mm)  # type: ignore[union-attr]


def test_a_follower_that_meets_a_hub_is_said() -> None:
    """A flange about bolts on a circle of 90 mm reaches the rollers, which pass below their own thin disc."""
    stack = Stack(id="s", name="Main shaft", hub=Hub(kind="bolted", thickness_mm=8.0, bolt_circle_mm=90.0))
    project = machine(gate("Ginger", 100, 130, 50.0), stacks=(replaced(stack, follower_height_mm=24.0),))
    said = [words(one, project).what for one in met(project)]
    assert any("the flange of Main shaft" in one for one in said)
