"""Levers, screws and washers are bodies where they lie; without a thickness all is as in version 1.

Heights by hand: a disc from 0 to 5 mm, a roller of 4 mm about its middle from 0.5 to 4.5, a washer of 1 mm
and a lever of 3 mm. The head of an M5 button-head screw is 0.55 * 5 = 2.75 mm high (ISO 7380-1, from memory).
"""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from shaftscore.judge.bodies import BodyPair, parts_of
from shaftscore.judge.findings import Finding
from shaftscore.judge.report import examine
from shaftscore.model import Disc, Lane, Project, Stack, SwingingRoller, TranslatingFlat, TranslatingRoller
from shaftscore.solution import solve
from tests.machines import gate, machine

ROLLER: dict[str, Any] = {"kind": "translating-roller", "roller_radius_mm": 5.0, "width_mm": 4.0}
ARM: dict[str, Any] = {
    "kind": "swinging-roller",
    "roller_radius_mm": 5.0,
    "arm_mm": 40.0,
    "pivot_distance_mm": 60.0,
    "pivot_side": "clockwise",
}
LEVER: dict[str, Any] = {"arm_thickness_mm": 3.0, "washer_mm": 1.0}


def one(name: str, follower: Any, station: float = 0.0) -> Lane:
    return gate(name, 100, 130, 50.0, follower=follower, station_deg=station, disc=Disc(base_radius_mm=34.0))


def bands(project: Project) -> dict[str, tuple[float, float]]:
    parts = parts_of(solve(project), project.stacks[0])
    return {part.kind: (part.bottom_mm, part.top_mm) for part in parts}


def met(project: Project) -> list[Finding]:
    return [finding for finding in examine(project).findings if finding.rule == "interference"]


def close(found: tuple[float, float], low: float, high: float) -> bool:
    return found == pytest.approx((low, high))


def test_a_lever_lies_above_below_or_on_both_sides_of_the_roller() -> None:
    above = bands(machine(one("A", TranslatingRoller(**ROLLER, **LEVER))))
    assert close(above["roller"], 0.5, 4.5)
    assert close(above["lever"], 5.5, 8.5)
    assert close(above["screw"], 0.5, 8.5)
    below = bands(machine(one("A", TranslatingRoller(**ROLLER, **LEVER, arm_side="below"))))
    assert close(below["lever"], -3.5, -0.5)
    assert close(below["screw"], -3.5, 4.5)
    both = bands(machine(one("A", SwingingRoller(**ARM, width_mm=4.0, **LEVER, arm_side="both"))))
    assert close(both["lever"], -3.5, -0.5)
    assert close(both["second lever"], 5.5, 8.5)
    assert close(both["screw"], -3.5, 8.5)


def test_a_lever_lies_above_a_groove_whatever_its_side() -> None:
    """Floor at 2 mm, the roller from 2.3 to 6.3, higher than the disc; its lever a washer above it."""
    groove = TranslatingRoller(**ROLLER, **LEVER, closure="groove", arm_side="below")
    found = bands(machine(one("A", groove)))
    assert close(found["roller"], 2.3, 6.3)
    assert close(found["lever"], 7.3, 10.3)


def test_a_bearing_gives_width_and_screw() -> None:
    """A 625: 16 mm wide outside, 5 mm thick, with an M5 screw whose head is 2.75 mm high."""
    follower = TranslatingRoller.model_validate({"kind": "translating-roller", "bearing": "625", **LEVER})
    found = bands(machine(one("A", follower)))
    assert close(found["roller"], 0.0, 5.0)
    assert close(found["screw"], -1 - 2.75, 8.0 + 1.0)
    under = {"kind": "translating-roller", "bearing": "625", **LEVER, "arm_side": "below"}
    found = bands(machine(one("A", TranslatingRoller.model_validate(under))))
    assert close(found["screw"], -4.0, 5.0 + 1 + 2.75)


def test_the_bar_of_a_flat_face_is_in_line_and_a_knife_edge_has_no_screw() -> None:
    flat = TranslatingFlat(kind="translating-flat", face_width_mm=50.0, arm_thickness_mm=3.0)
    found = bands(machine(one("A", flat)))
    assert close(found["roller"], 0.0, 5.0)
    assert close(found["follower"], 1.0, 4.0)  # the bar behind its face
    assert "screw" not in found
    knife = TranslatingRoller(kind="translating-roller", roller_radius_mm=0.0, **LEVER)
    assert "screw" not in bands(machine(one("A", knife)))


def test_without_a_thickness_the_follower_is_one_body() -> None:
    project = machine(one("A", TranslatingRoller(**ROLLER)), stacks=(Stack(id="s", follower_height_mm=12.0),))
    found = bands(project)
    assert set(found) == {"disc", "follower"}
    assert close(found["follower"], -3.5, 8.5)


def test_plan_views_are_those_of_roller_strip_and_screw() -> None:
    """At 100 mm along the travel the lever is there, roller and screw are not; its end is round."""
    project = machine(one("A", TranslatingRoller(**ROLLER, **LEVER, body_width_mm=8.0)))
    solution = solve(project)
    by_kind = {part.kind: part.body for part in parts_of(solution, project.stacks[0])}
    at = np.zeros(1)
    reach = {kind: len(by_kind[kind].at(at)) for kind in ("roller", "lever", "screw")}  # type: ignore[union-attr]
    assert reach == {"roller": 1, "lever": 2, "screw": 1}
    (screw,) = by_kind["screw"].at(at)  # type: ignore[union-attr]
    assert screw.radius_mm == pytest.approx(1.9 * 3 / 2)
    strip, end = by_kind["lever"].at(at)  # type: ignore[union-attr]
    assert strip.half_mm == end.radius_mm == 4.0


def test_levers_meet_where_they_lie_and_not_where_they_do_not() -> None:
    """Two discs 3 mm apart, followers at one station: a lever above runs into the roller of the next disc."""
    stack = Stack(id="s", spacer_mm=3.0)
    up = TranslatingRoller(**ROLLER, **LEVER)
    down = TranslatingRoller(**ROLLER, **LEVER, arm_side="below")
    found = met(machine(one("A", up), one("B", up), stacks=(stack,)))
    assert {(f.facts["first"], f.facts["second"]) for f in found} >= {("A's lever", "B's roller")}
    apart = met(machine(one("A", down), one("B", up, 180.0), stacks=(stack,)))
    assert not [f for f in apart if "lever" in f"{f.facts['first']} {f.facts['second']}"]


def test_a_lever_under_the_next_disc_meets_its_high_places() -> None:
    """The lever ends 0.5 mm above where the next disc begins."""
    up = TranslatingRoller(**ROLLER, **LEVER, body_width_mm=4.0)
    project = machine(one("A", up), one("B", up, 180.0), stacks=(Stack(id="s", spacer_mm=3.0),))
    (finding,) = [
        f for f in met(project) if f.facts["second"] == "B's disc" and "lever" in str(f.facts["first"])
    ]
    assert finding.facts["first"] == "A's lever"
    clear = machine(one("A", up), one("B", up, 180.0), stacks=(Stack(id="s", spacer_mm=4.5),))
    assert not [f for f in met(clear) if "lever" in str(f.facts["first"])]


def test_a_lever_meets_its_own_disc_where_the_roller_is_too_narrow() -> None:
    """A roller of 2 mm in a disc of 5 mm: its lever lies beside the rim, from 4 to 7 mm."""
    narrow = {**ARM, "width_mm": 2.0, "pivot_side": "clockwise"}
    thin = SwingingRoller(**narrow, arm_thickness_mm=3.0, washer_mm=0.5)
    found = met(machine(one("A", thin)))
    assert [(f.facts["first"], f.facts["second"]) for f in found] == [("A's lever", "A's disc")]
    wide = SwingingRoller(**{**narrow, "width_mm": 5.0}, arm_thickness_mm=3.0, washer_mm=0.5)
    assert met(machine(one("A", wide))) == []


def test_the_bodies_are_within_their_bounds() -> None:
    """No clearance between two angles is under what the bound says, for levers and screws too."""
    arms = [SwingingRoller(**ARM, width_mm=4.0, **LEVER, arm_side=side) for side in ("above", "both")]
    project = machine(one("A", arms[0]), one("B", arms[1], 40.0), stacks=(Stack(id="s", spacer_mm=3.0),))
    parts = parts_of(solve(project), project.stacks[0])
    fine = np.linspace(0.05, 359.95, 1999)
    kinds = {"lever", "screw", "second lever"}
    pairs = [
        BodyPair(first, second)
        for first in parts
        for second in parts
        if first.kind in kinds and first.lane == "a" and second.lane == "b" and second.kind != "spacer"
    ]
    assert len(pairs) > 6
    for pair in pairs:
        starts = pair.start_deg
        bounds = pair.bounds(starts, pair.at(starts), pair.ways(starts))
        inside = fine[(fine > starts[0]) & (fine < starts[-1])]
        assert np.all(pair.at(inside) >= bounds[np.searchsorted(starts, inside) - 1] - pair.tol_mm)


def test_an_axle_as_wide_as_its_roller_is_no_finding() -> None:
    """The roller of 2 mm touches its disc, and so does an axle of 2.85 mm that is cut to its radius."""
    thin = TranslatingRoller(kind="translating-roller", roller_radius_mm=2.0, body_width_mm=3.0, **LEVER)
    assert met(machine(one("A", thin))) == []
