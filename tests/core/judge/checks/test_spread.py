"""Followers spread over stations or tiers: the fewest at which nothing comes too near, found by hand.

Discs are 5 mm thick with 6 mm between them, so a follower 12 mm high meets that of the next disc (11 mm on)
and no other. Pivot rods pass all heights, so that two of them can never be at one place.
"""

from __future__ import annotations

from typing import Any

import pytest

from shaftscore.base.errors import EditError
from shaftscore.edits import apply_edit, spread_followers
from shaftscore.judge.bodies import BodyPair, parts_of
from shaftscore.judge.checks.spread import (
    StationSpread,
    collisions,
    movable,
    spread_over_stations,
    tier_spacer_mm,
)
from shaftscore.judge.findings import Finding, words
from shaftscore.judge.report import examine
from shaftscore.model import Disc, Lane, Project, Stack, SwingingRoller
from shaftscore.solution import solve
from tests.machines import gate, machine

HIGH = Stack(id="s", follower_height_mm=12.0)


def named(name: str, start: float, **more: Any) -> Lane:
    return gate(name, start, start + 30, 50.0, disc=Disc(base_radius_mm=34.0), **more)


def swinging(name: str, start: float, pivot_mm: float) -> Lane:
    arm = SwingingRoller(
        kind="swinging-roller",
        roller_radius_mm=5.0,
        arm_mm=45.0,
        pivot_distance_mm=pivot_mm,
        pivot_side="clockwise",
        width_mm=4.0,
        arm_thickness_mm=3.0,
        body_width_mm=6.0,
    )
    return named(name, start, follower=arm)


def found_in(project: Project) -> tuple[StationSpread | None, float | None, tuple[BodyPair, ...]]:
    """What is found for the first stack: stations, spacers, what collides."""
    solution, stack = solve(project), project.stacks[0]
    parts = parts_of(solution, stack)
    colliding = collisions(parts, stack)
    spread = spread_over_stations(solution, stack, parts, colliding)
    return spread, tier_spacer_mm(solution, stack, colliding), colliding


def met(project: Project) -> list[Finding]:
    return [finding for finding in examine(project).findings if finding.rule == "interference"]


def test_levers_on_rods_through_all_heights_get_a_station_each() -> None:
    """Rods of 3 mm whose middles are 1 and 2 mm apart."""
    names = (("Ginger", 62.0), ("Rose", 63.0), ("Sage", 64.0))
    project = machine(*(swinging(name, 40.0 + 100 * k, at) for k, (name, at) in enumerate(names)))
    spread, spacer, _ = found_in(project)
    assert spread is not None
    assert spread.stations == {"ginger": 0.0, "rose": 120.0, "sage": 240.0}
    assert spread.angles_text == "0°, 120°, 240°"
    assert spacer is None  # a rod passes every tier
    assert met(project)
    edited = spread_followers(project, spread.stations)
    assert edited.name == "Spread followers over 3 stations"
    assert met(edited.project) == []


def test_levers_on_one_rod_may_stay_together() -> None:
    names = (("Ginger", 62.0), ("Rose", 62.0), ("Sage", 64.0))
    project = machine(*(swinging(name, 40.0 + 100 * k, at) for k, (name, at) in enumerate(names)))
    spread, _, _ = found_in(project)
    assert spread is not None
    assert spread.stations == {"ginger": 0.0, "rose": 0.0, "sage": 180.0}
    assert met(spread_followers(project, spread.stations).project) == []


def test_neighbours_that_alone_collide_alternate_and_all_findings_go_at_once() -> None:
    names = ("Ginger", "Rose", "Sage", "Mint", "Assam")
    project = machine(*(named(name, 60.0 * k) for k, name in enumerate(names)), stacks=(HIGH,))
    before = met(project)
    assert len(before) == 4
    for finding in before:
        assert words(finding, project).cure.startswith(
            "Stations 0°, 180° for the 5 lanes whose followers collide, or spacer 1.5 mm thicker"
        )
        assert finding.cure is not None
        assert finding.cure.edit == "spread_followers"
    cure = before[0].cure
    assert cure is not None
    after = apply_edit(project, str(cure.edit), **cure.arguments).project
    assert [lane.station_deg for lane in after.lanes] == [0.0, 180.0, 0.0, 180.0, 0.0]
    assert [lane.blocks for lane in after.lanes] == [lane.blocks for lane in project.lanes]
    assert met(after) == []


def test_who_does_not_collide_stays_and_is_kept_clear_of() -> None:
    """Opposite the first, the second would meet the third, which collides with none: so a third of a turn."""
    lanes = [named("Ginger", 0), named("Rose", 60), named("Sage", 120, station_deg=180.0)]
    spread, spacer, colliding = found_in(machine(*lanes, stacks=(HIGH,)))
    assert {part.lane for pair in colliding for part in (pair.first, pair.second)} == {"ginger", "rose"}
    assert spread is not None
    assert spread.stations == {"ginger": 0.0, "rose": 120.0}
    # 12 - 11 mm overlap and 0.5 mm required: 7.5 mm at least, and layers of 0.2 mm
    assert spacer == pytest.approx(7.6)


def test_a_follower_that_reaches_the_next_disc_everywhere_is_not_cured_by_stations() -> None:
    lanes = [named(name, 60.0 * k) for k, name in enumerate(("Ginger", "Rose", "Sage"))]
    spread, spacer, _ = found_in(machine(*lanes, stacks=(Stack(id="s", follower_height_mm=20.0),)))
    assert spread is None
    assert spacer == pytest.approx(15.6)  # 20 + 0.5 - 5 mm, and whole layers


def test_lanes_that_share_a_disc_stay() -> None:
    host = named("Ginger", 100)
    rider = Lane(
        id="echo", name="Echo", kind="rider", disc_of="ginger", station_deg=10.0, follower=host.follower
    )
    project = machine(host, rider, named("Rose", 200), stacks=(HIGH,))
    spread, _, colliding = found_in(project)
    assert movable(project, project.stacks[0], colliding) == ("rose",)
    assert spread is None  # Rose is the lowest that may move: it keeps its station, where both meet it
    for lane_id, label in (("ginger", "Ginger"), ("echo", "Echo")):
        with pytest.raises(EditError, match=f"{label} shares its disc with another lane"):
            spread_followers(project, {lane_id: 90.0})
