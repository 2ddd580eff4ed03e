"""A new project from wishes, and from a table."""

from __future__ import annotations

from dataclasses import replace

import pytest

from shaftscore.base.errors import EditError
from shaftscore.edits import add_lane
from shaftscore.edits.first_draft import (
    LaneWish,
    Wishes,
    draft_with_states,
    first_draft,
    read_levels,
    spaced,
    wishes_of_table,
)
from shaftscore.edits.level_sets import level_sets
from shaftscore.edits.state_table import filled, read_states, split_text, with_cells, write_states
from shaftscore.judge.report import examine
from shaftscore.model import Stack, SwingingRoller
from shaftscore.model.loader import read_project
from shaftscore.model.saved import saved_form

WISHES = Wishes(
    name="Bell",
    turn="counterclockwise",
    speed_rpm=4.0,
    steps=4,
    step_names=("Wait", "Ring"),
    lanes=(
        LaneWish("Hammer", "Bell", {"rest": 0.0, "strike": 6.0}),
        LaneWish("Flag", "", spaced(["in", "out"])),
    ),
)


def test_wishes_become_a_project_that_is_saved_and_read() -> None:
    project = first_draft(WISHES)
    assert read_project(saved_form(project), "bell") == project
    assert (project.name, project.shaft.turn, project.shaft.speed_rpm) == ("Bell", "counterclockwise", 4.0)
    assert [(lane.id, lane.code, dict(lane.levels)) for lane in project.lanes] == [
        ("hammer", "A1", {"rest": 0.0, "strike": 6.0}),
        ("flag", "B1", {"in": 0.0, "out": 10.0}),
    ]


def test_parts_hold_for_every_lane() -> None:
    arm = SwingingRoller(
        kind="swinging-roller",
        roller_radius_mm=4.0,
        arm_mm=60.0,
        pivot_distance_mm=90.0,
        pivot_side="clockwise",
    )
    project = first_draft(
        replace(WISHES, follower=arm, thickness_mm=6.0, stack=Stack(id="main", spacer_mm=4.0))
    )
    assert {lane.follower for lane in project.lanes} == {arm}
    assert {lane.disc.thickness_mm for lane in project.lanes} == {6.0}
    assert project.stacks[0].spacer_mm == 4.0


def test_what_was_written_is_kept_while_its_lane_stays_the_same() -> None:
    project = first_draft(WISHES)
    column = ("rest", "strike", "rest", "rest")
    written = write_states(project, {"hammer": column}).project
    other = replace(WISHES, lanes=(*WISHES.lanes[1:], WISHES.lanes[0]), speed_rpm=5.0)
    again = first_draft(other, written)
    assert filled(read_states(again, again.lane("hammer")).column) == column


def test_states_follow_their_levels_by_name_and_what_is_lost_is_said() -> None:
    written = write_states(first_draft(WISHES), {"hammer": ("rest", "strike", "rest", "strike")}).project

    def hammer(levels: dict[str, float], steps: int = 4, name: str = "Hammer") -> tuple[object, ...]:
        lanes = (LaneWish(name, "Bell", levels), WISHES.lanes[1])
        carried = draft_with_states(replace(WISHES, lanes=lanes, steps=steps), written)
        lane = carried.project.lanes[0]
        return filled(read_states(carried.project, lane).column), carried.lost

    kept = ("rest", "strike", "rest", "strike")
    assert hammer({"rest": 0.0, "strike": 7.0, "lift": 20.0}) == (kept, ())
    assert hammer({"strike": 0.0, "rest": 7.0}) == (kept, ())
    assert hammer({"rest": 0.0, "hit": 6.0}) == (("rest", "hit", "rest", "hit"), ())
    assert hammer({"rest": 0.0, "strike": 6.0}, name="Beater") == (kept, ())
    assert hammer({"rest": 0.0, "strike": 6.0}, steps=6) == ((*kept, "strike", "strike"), ())
    assert hammer({"rest": 0.0, "strike": 6.0}, steps=3) == (kept[:3], ("Hammer: strike in step 4",))
    lost = ("Hammer: strike in steps 2 and 4",)
    assert hammer({"rest": 0.0}) == (("rest",) * 4, lost)
    gone = draft_with_states(replace(WISHES, lanes=(WISHES.lanes[1],)), written)
    assert gone.lost == ("Hammer goes with its states",)


def test_lanes_with_the_same_words_have_the_same_levels_in_the_same_order() -> None:
    """Selectors that begin at different levels, one that never goes right, and a gate of other words."""
    text = "Step A1 A2 Gate A3\n1 rest Left open rest\n2 left rest shut left\n3 right right - -\n"
    grid = split_text(text.replace(" ", "\t").replace("-", ""))
    assert [(one.lanes, one.words) for one in level_sets(grid)] == [
        (("A1", "A2", "A3"), ("rest", "left", "right")),
        (("Gate",), ("open", "shut")),
    ]
    asked = ({"left": 0.0, "rest": 8.0, "right": 16.0}, {"shut": 0.0, "open": 5.0})
    wishes, project = wishes_of_table(grid, Wishes(), asked)
    assert [[*wish.levels.items()] for wish in wishes.lanes] == [
        [*asked[0].items()],
        [*asked[0].items()],
        [*asked[1].items()],
        [*asked[0].items()],
    ]
    assert filled(read_states(project, project.lanes[1]).column) == ("left", "rest", "right")
    with pytest.raises(EditError, match='"right" is not one of A1'):
        wishes_of_table(grid, Wishes(), ({"left": 0.0, "rest": 8.0}, asked[1]))


@pytest.mark.parametrize(
    ("text", "levels"),
    [
        ("closed, open", {"closed": 0, "open": 10}),
        ("tray; shut; cup", {"tray": 0, "shut": 8, "cup": 16}),
        ("tray 0, shut 7.5 mm, cup: 16", {"tray": 0, "shut": 7.5, "cup": 16}),
        ("half way, all the way up", {"half way": 0, "all the way up": 10}),
        (" closed ,, open ", {"closed": 0, "open": 10}),
    ],
)
def test_levels_are_read_as_a_maker_says_them(text: str, levels: dict[str, float]) -> None:
    assert read_levels(text, "Mint") == levels


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", "Mint: a lane has at least one level"),
        ("open, open", "Mint: a level is there twice"),
        ("closed 0, open", "Mint: give every level a height, or none"),
        ("closed 0, open 1.2.3", "Mint: "),
    ],
)
def test_levels_that_cannot_be_are_refused(text: str, said: str) -> None:
    with pytest.raises(EditError, match=said):
        read_levels(text, "Mint")


def test_a_project_that_cannot_be_is_refused() -> None:
    with pytest.raises(EditError, match="speed_rpm"):
        first_draft(replace(WISHES, speed_rpm=-1.0))
    with pytest.raises(EditError, match="step_names"):
        first_draft(replace(WISHES, step_names=("a",) * 5))


def test_a_table_is_a_beginning() -> None:
    text = "Step\tHammer\tFlag\t\n1 Wait\trest\tin\n2. Ring\tstrike\t\n3\trest\tout\n"
    wishes, project = wishes_of_table(split_text(text), Wishes(name="Bell"))
    assert [dict(wish.levels) for wish in wishes.lanes] == [{"rest": 0, "strike": 10}, {"in": 0, "out": 10}]
    assert (wishes.steps, wishes.step_names) == (3, ("Wait", "Ring", ""))
    columns = [filled(read_states(project, lane).column) for lane in project.lanes]
    assert columns == [("rest", "strike", "rest"), ("in", "in", "out")]
    with pytest.raises(EditError, match="A table has a row of lanes"):
        wishes_of_table([["a"]], Wishes())


def test_the_machine_of_the_guides_first_page_has_no_finding() -> None:
    """docs/guide/first_machine.md, up to the state table: usual parts and moves suit it."""
    gate = {"closed": 0.0, "open": 10.0}
    lanes = (
        LaneWish("Assam", "", gate),
        LaneWish("Mint", "", gate),
        LaneWish("Lift", "", {"down": 0.0, "up": 18.0}),
    )
    project = first_draft(Wishes(name="Kiosk", steps=8, lanes=lanes))
    ups = {"assam": {2: "open"}, "mint": {4: "open"}, "lift": dict.fromkeys(range(1, 6), "up")}
    columns = {
        lane_id: with_cells(project.lane(lane_id), read_states(project, project.lane(lane_id)), cells)
        for lane_id, cells in ups.items()
    }
    assert examine(write_states(project, columns).project).findings == ()


def test_new_machines_begin_with_what_the_built_machine_needs() -> None:
    """By the format: new stacks one-way with 0.1 mm by the coupon, new followers with 4 mm levers."""
    project = first_draft(Wishes(lanes=(LaneWish("Mint", "", {"closed": 0.0, "open": 10.0}),)))
    (stack,), (lane,) = project.stacks, project.lanes
    assert (stack.joints, stack.fit_clearance_mm) == ("one-way", 0.1)
    assert lane.follower.arm_thickness_mm == 4.0
    added = add_lane(project, "Rose", "", {"closed": 0.0, "open": 10.0}).project
    assert added.lanes[1].follower.arm_thickness_mm == 4.0
