"""off-edge and between-layers: heights, contact widths and tolerances by hand, and cures that cure.

Tolerance stack-up by hand (common practice, no source): n parts, each off by 0.05 mm in common and by 0.05 mm
of its own, are off by n 0.05 + sqrt(n) 0.05 mm; the follower's place comes on top.
"""

from __future__ import annotations

from math import sqrt
from typing import Any

import pytest

from shaftscore.edits import apply_edit, set_lane, set_stack
from shaftscore.judge.findings import Finding, Severity, words
from shaftscore.judge.heights.stacks import lane_heights
from shaftscore.judge.report import QUICK, examine, report_json
from shaftscore.model import (
    Disc,
    Exclusive,
    Lane,
    LaneGrid,
    LevelState,
    Print,
    Project,
    Stack,
    Tolerances,
    TranslatingFlat,
    TranslatingRoller,
    replaced,
)
from tests.machines import gate, machine

ROLLER: dict[str, Any] = {"kind": "translating-roller", "roller_radius_mm": 5.0}
GROOVE = TranslatingRoller(**ROLLER, closure="groove")


def tower(discs: int, *, stack: dict[str, Any] | None = None, **more: Any) -> Project:
    """Discs of 5 mm with spacers of 6 mm, followers a third of a turn apart."""
    own = {"follower": more.pop("follower", TranslatingRoller(**ROLLER))}
    disc = more.pop("disc", {})
    lanes = [
        gate(
            f"L{n}",
            100,
            130,
            50.0,
            station_deg=120.0 * (n % 3),
            disc=Disc(**{"base_radius_mm": 34.0, **disc}),
            **own,
        )
        for n in range(discs)
    ]
    return machine(*lanes, stacks=(Stack(**{"id": "s", "name": "Main", **(stack or {})}),), **more)


def of_rule(project: Project, rule: str, **how: Any) -> list[Finding]:
    return [finding for finding in examine(project, **how).findings if finding.rule == rule]


def figures(project: Project) -> Any:
    return report_json(examine(project))["heights"]


def test_heights_and_widths_by_hand() -> None:
    """The third disc: 2 discs and 2 spacers below; its rim goes from 0.4 to 4.6 of its 5 mm."""
    found = figures(tower(3))
    assert list(found) == ["l0", "l1", "l2"]
    assert found["l2"]["z_mm"] == pytest.approx(2 * 5 + 2 * 6 + 2.5)
    assert found["l2"]["overlap_mm"] == pytest.approx(4.2)
    tolerance = 4 * 0.05 + sqrt(4) * 0.05 + 0.5
    assert found["l2"]["worst_overlap_mm"] == pytest.approx(4.2 - (tolerance - 0.4))
    assert found["l0"]["worst_overlap_mm"] == pytest.approx(4.2 - (0.5 - 0.4))


def test_followers_set_on_the_built_stack_see_one_part_alone() -> None:
    found = figures(tower(9, stack={"followers_set": "built"}))
    tolerance = 0.05 + 0.05 + 0.3
    for lane in found.values():
        assert lane["worst_overlap_mm"] == pytest.approx(4.2 - max(tolerance - 0.4, 0))
    stated = replaced(
        tower(9, stack={"followers_set": "built"}),
        tolerances=Tolerances(thickness_mm=0.2, thickness_common_mm=0.1, follower_z_mm=0.4),
    )
    assert figures(stated)["l8"]["worst_overlap_mm"] == pytest.approx(4.2 - (0.2 + 0.1 + 0.4 - 0.4))


def test_the_larger_of_both_foot_chamfers_counts() -> None:
    """A foot chamfer of 1 mm leaves the rim from 1 to 4.6 mm."""
    project = replaced(tower(1), print=Print(foot_chamfer_mm=1.0))
    assert figures(project)["l0"]["overlap_mm"] == pytest.approx(3.6)


def test_widths_as_stated_by_a_bearing_and_of_a_flat_face() -> None:
    """A 625 is 5 mm wide, an MR63 2 mm: the narrower covers its whole width."""
    bearing = TranslatingRoller.model_validate({"kind": "translating-roller", "bearing": "MR63"})
    assert figures(tower(1, follower=bearing))["l0"]["overlap_mm"] == pytest.approx(2.0)
    stated = TranslatingRoller(**ROLLER, width_mm=3.0)
    assert figures(tower(1, follower=stated))["l0"]["overlap_mm"] == pytest.approx(3.0)
    flat = TranslatingFlat(kind="translating-flat", face_width_mm=60.0, width_mm=2.5)
    assert figures(tower(1, follower=flat))["l0"]["overlap_mm"] == pytest.approx(2.5)
    wide = TranslatingFlat(kind="translating-flat", face_width_mm=60.0)
    assert figures(tower(1, follower=wide))["l0"]["overlap_mm"] == pytest.approx(4.2)


def test_a_roller_in_a_groove_covers_its_flanks() -> None:
    """A groove 3 mm deep in a disc of 6 mm: flanks from 3 to 5.6 mm, the roller from 3.3 mm to the top."""
    found = figures(tower(1, follower=GROOVE, disc={"thickness_mm": 6.0}))
    assert found["l0"]["overlap_mm"] == pytest.approx(5.6 - 3.3)


def test_a_rider_runs_on_its_host_s_disc() -> None:
    """A rider has no disc of its own: neither its thickness nor its heights are those of its record."""
    project = tower(2)
    host = project.lanes[1]
    rider = Lane(
        id="echo", kind="rider", disc_of="l1", station_deg=host.station_deg + 90, follower=host.follower
    )
    found = figures(replaced(project, lanes=(*project.lanes, rider)))
    assert found["echo"] == found["l1"]


def test_a_tall_stack_leaves_its_upper_rollers_and_three_ways_bring_them_back() -> None:
    """20 discs: the last has 38 parts below, 38 0.05 + sqrt(38) 0.05 + 0.5 = 2.708 mm; 2.5 mm are allowed."""
    project = tower(20, stack={"fit_clearance_mm": 0.1})
    found = of_rule(project, "off-edge")
    least = 34  # 34 parts are off by 2.49 mm, 36 by 2.6 mm
    assert [f.lanes for f in found] == [(f"l{n}",) for n in range(20) if 2 * n > least]
    assert all(f.severity is Severity.WARNING for f in found)
    last = found[-1]
    tolerance = 38 * 0.05 + sqrt(38) * 0.05 + 0.5
    assert last.value == pytest.approx(4.6 - tolerance)
    assert last.limit == pytest.approx(2.1)
    said = words(last, project)
    assert said.what == (
        "Roller keeps 1.9 mm of contact in the worst case (± 2.7 mm along the shaft); 2.1 mm required."
    )
    assert said.cure == (
        "Set the followers on the built stack, or use a roller 5.5 mm wide, or make the disc 5.6 mm thick."
    )
    assert last.cure is not None
    assert last.cure.edit == "set_stack"
    assert of_rule(apply_edit(project, last.cure.edit, **last.cure.arguments).project, "off-edge") == []


def test_cures_are_the_same_where_other_records_name_lanes_of_other_stacks() -> None:
    """Orders, a grid and rules that name lanes elsewhere neither stop a cure nor change it."""
    alone = tower(20, stack={"fit_clearance_mm": 0.1})
    lanes = [
        replaced(gate(f"M{n}", 100, 130, 50.0, disc=Disc(base_radius_mm=34.0)), stack="t") for n in (0, 1)
    ]
    other = Stack(id="t", order=("m1", "m0"))
    own = replaced(alone.stacks[0], order=tuple(lane.id for lane in alone.lanes))
    rule = Exclusive(
        kind="exclusive", states=(LevelState(lane="l19", level="open"), LevelState(lane="m0", level="open"))
    )
    project = replaced(
        alone,
        lanes=(*alone.lanes, *lanes),
        stacks=(own, other),
        grid=LaneGrid(rows=1, columns=2, cells=(("l19", "m1"),)),
        rules=(rule,),
    )
    assert [f.cure for f in of_rule(project, "off-edge")] == [f.cure for f in of_rule(alone, "off-edge")]


@pytest.mark.parametrize(
    ("edit", "arguments"),
    [
        ("set_follower", {"lane_id": "l19", "width_mm": 5.5}),
        ("set_disc", {"lane_id": "l19", "thickness_mm": 5.6}),
    ],
)
def test_each_way_that_is_named_cures_by_itself(edit: str, arguments: dict[str, Any]) -> None:
    project = tower(20, stack={"fit_clearance_mm": 0.1})
    before = {f.lanes for f in of_rule(project, "off-edge")}
    after = {f.lanes for f in of_rule(apply_edit(project, edit, **arguments).project, "off-edge")}
    assert after == before - {("l19",)}


def test_a_bearing_cannot_be_made_wider() -> None:
    bearing = TranslatingRoller.model_validate({"kind": "translating-roller", "bearing": "625"})
    project = tower(20, follower=bearing)
    for finding in of_rule(project, "off-edge"):
        assert finding.cure is not None
        assert "wide" not in finding.cure.sentence


def test_a_foot_chamfer_leaves_a_rim_to_run_on() -> None:
    """By hand: of 4 mm a foot chamfer takes 1.5 mm as wanted, or 40 %, 1.6 mm; the edge chamfer 0.4 mm."""
    for wanted, bottom in ((0.2, 0.4), (1.5, 1.5), (4.5, 1.6)):
        project = replaced(tower(1, disc={"thickness_mm": 4.0}), print=Print(foot_chamfer_mm=wanted))
        rim = lane_heights(project, project.lanes[0]).rim
        assert (rim.bottom_mm, rim.top_mm) == pytest.approx((bottom, 3.6))


# A follower that touches a neighbour in the worst case only


def near(gap_mm: float, **stack: Any) -> Project:
    """Two discs a little more than a roller's overhang apart; the upper disc's follower is above the lower.

    The lower roller, 9 mm wide on a disc of 5 mm, ends 2 mm above it; the next disc begins gap_mm higher.
    """
    wide = TranslatingRoller(**ROLLER, width_mm=9.0, arm_thickness_mm=1.0, washer_mm=0.0, arm_side="both")
    project = tower(2, stack={"spacer_mm": 3.0 + gap_mm, "spacer_radius_mm": 12.0, **stack}, follower=wide)
    return set_lane(project, "l1", station_deg=180.0).project


def test_a_lever_that_reaches_the_next_disc_in_the_worst_case_is_told_and_kept_off() -> None:
    """The lower lever of the upper follower ends 3 mm under its disc, 0.4 mm above the disc below.

    Two parts below: 2 0.05 + sqrt(2) 0.05 + 0.5 = 0.671 mm.
    """
    project = near(0.6, body_clearance_mm=0.2)
    found = of_rule(project, "off-edge")
    last = next(f for f in found if f.lanes == ("l1",))
    assert last.severity is Severity.WARNING
    assert last.value == pytest.approx(0.6 - (0.1 + sqrt(2) * 0.05 + 0.5))
    assert words(last, project).what == (
        "L1's lower lever can touch L0's disc: in the worst case (± 0.7 mm along the shaft) they overlap by "
        "0.1 mm."
    )
    assert last.cure is not None
    assert last.cure.sentence.startswith("Set the followers on the built stack, or make spacers ")
    cured = apply_edit(project, last.cure.edit or "", **last.cure.arguments).project
    assert not [f for f in of_rule(cured, "off-edge") if f.lanes == ("l1",)]
    thicker = set_stack(project, "s", spacer_mm=3.8).project
    assert not [f for f in of_rule(thicker, "off-edge") if f.lanes == ("l1",)]


def test_what_stays_apart_in_plan_view_never_touches() -> None:
    """The lower disc is far smaller than where the upper follower runs."""
    project = near(0.6, body_clearance_mm=0.2)
    small = set_lane(project, "l0", disc=Disc(base_radius_mm=16.0)).project
    assert not [f for f in of_rule(small, "off-edge") if f.lanes == ("l1",)]


def test_in_a_hurry_the_last_word_stands() -> None:
    project = near(0.6, body_clearance_mm=0.2)
    first = examine(project)
    moved = set_lane(project, "l0", station_deg=30.0).project
    held = examine(moved, first, stage=QUICK)
    assert [f.key for f in held.findings] == [f.key for f in first.findings]
    assert examine(moved, held).findings == examine(moved).findings


def test_heights_are_kept_while_nothing_that_they_read_changes() -> None:
    project = tower(3)
    first = examine(project)
    turned = set_lane(project, "l1", station_deg=30.0).project
    assert examine(turned, first).heights[0] is first.heights[0]
    thicker = set_lane(project, "l1", disc=Disc(base_radius_mm=34.0, thickness_mm=6.0)).project
    assert examine(thicker, first).heights[0] is not first.heights[0]


# Layers


def test_thicknesses_between_layers_are_told_once_each_with_what_can_be_printed() -> None:
    project = replaced(
        tower(3, disc={"thickness_mm": 5.1}, stack={"spacer_mm": 6.15}),
        print=Print(layer_mm=0.2, first_layer_mm=0.3),
    )
    found = of_rule(project, "between-layers")
    assert [f.severity for f in found] == [Severity.NOTE]
    spacer = found[0]
    assert words(spacer, project).what == (
        "Main: spacer thickness 6.15 mm is no whole number of layers; 6.1 mm and 6.3 mm can be printed."
    )
    plain = replaced(project, print=Print(layer_mm=0.2, first_layer_mm=0.2))
    disc = next(f for f in of_rule(plain, "between-layers") if f.lanes)
    assert disc.lanes == ("l0", "l1", "l2")
    assert words(disc, plain).cure == "Make it 5.2 mm or 5 mm thick."
    assert disc.cure is not None
    cured = apply_edit(plain, disc.cure.edit or "", **disc.cure.arguments).project
    assert [lane.disc.thickness_mm for lane in cured.lanes] == [5.2, 5.2, 5.2]
    assert not [f for f in of_rule(cured, "between-layers") if f.lanes]


def test_a_stack_without_spacers_has_none_between_layers() -> None:
    assert of_rule(tower(1, stack={"spacer_mm": 6.15}), "between-layers") == []
    assert of_rule(tower(2, stack={"spacer_mm": 0.0}), "between-layers") == []
