"""How a lane is moved: what is kept, what both records share, what copies differ in."""

from __future__ import annotations

import pytest

from shaftscore.base.errors import EditError
from shaftscore.edits import copy_parts, move_by, remove_parts, set_follower, set_parts
from shaftscore.edits.drafts import LanePart
from shaftscore.edits.followers import MoveKind, copy_differs
from shaftscore.edits.lanes_part import LanesPart
from shaftscore.kinematics.followers import base_range_mm
from shaftscore.layout.followers import follower_layout
from shaftscore.make.solids.followers import follower_makers
from shaftscore.model import Disc, Lane, Project, SwingingRoller, TranslatingRoller, replaced
from shaftscore.solution import solve
from tests.follower_machine import LEVELS, lever_lane, straight_lane
from tests.machines import lane, machine


def plain(follower: object, **more: object) -> Lane:
    blocks = (("low", 0, 60), ("middle", 100, 150), ("high", 200, 260))
    return lane(
        "Flap", *blocks, levels=LEVELS, follower=follower, code="B1", disc=Disc(base_radius_mm=40.0), **more
    )


TRANSLATING = TranslatingRoller(kind="translating-roller", bearing="624", material="POM")
SWINGING = SwingingRoller(
    kind="swinging-roller",
    bearing="MR63",
    arm_mm=50.0,
    pivot_distance_mm=70.0,
    pivot_side="counterclockwise",
    output_arm_mm=75.0,
    closure="spring",
    arm_thickness_mm=6.0,
)


@pytest.mark.parametrize("follower", [TRANSLATING, SWINGING], ids=["translating", "swinging"])
@pytest.mark.parametrize("kind", ["slide", "lever", "straight-line"])
def test_every_choice_can_be_laid_out_and_made(follower: object, kind: MoveKind) -> None:
    """Whatever moved the lane before, each choice gives parts that reach and can be printed."""
    project = move_by(machine(plain(follower)), "flap", kind, 40.0).project
    solution = solve(project)
    layout = follower_layout(project, solution.lanes["flap"])
    assert layout is not None
    assert layout.parts.kind == kind
    assert all(make().contour.area > 50 for make in follower_makers(solution))


def test_what_the_follower_was_is_kept() -> None:
    made = move_by(machine(plain(TRANSLATING)), "flap", "lever", 40.0).project.lanes[0]
    assert isinstance(made.follower, SwingingRoller)
    assert (made.follower.bearing, made.follower.material) == ("624", "POM")
    assert (made.follower.arm_mm, made.follower.output_arm_mm) == (60.0, 120.0)
    # Square to the travel in its middle: 40 + 6.5 + 16 / 2 / 2 = 50.5 along, 60 across.
    assert made.follower.pivot_distance_mm == pytest.approx((50.5**2 + 60**2) ** 0.5, abs=0.05)
    low, high = base_range_mm(made.follower)
    assert low < 40 < high
    kept = move_by(machine(plain(SWINGING)), "flap", "straight-line").project.lanes[0]
    assert kept.parts is not None
    assert (kept.parts.arm_mm, kept.parts.output_arm_mm, kept.parts.thickness_mm) == (50.0, 75.0, 6.0)
    assert isinstance(kept.follower, SwingingRoller)
    assert (kept.follower.pivot_side, kept.follower.output_arm_mm) == ("counterclockwise", None)


def both(project: Project) -> tuple[SwingingRoller, object]:
    made = project.lanes[0]
    assert isinstance(made.follower, SwingingRoller)
    assert made.parts is not None
    return made.follower, made.parts


def test_lengths_are_changed_in_both_records() -> None:
    project = set_parts(
        machine(lever_lane()), "lever", arm_mm=55.0, output_arm_mm=90.0, pivot_rod_mm=5.0
    ).project
    follower, parts = both(project)
    assert (follower.arm_mm, follower.output_arm_mm, follower.pivot_rod_mm) == (55.0, 90.0, 5.0)
    assert (parts.arm_mm, parts.output_arm_mm, parts.pivot_rod_mm) == (55.0, 90.0, 5.0)  # type: ignore[attr-defined]
    follower, parts = both(set_follower(project, "lever", arm_mm=58.0, arm_thickness_mm=7.0).project)
    assert (follower.arm_mm, parts.arm_mm, parts.thickness_mm) == (58.0, 58.0, 7.0)  # type: ignore[attr-defined]
    follower, parts = both(set_parts(machine(straight_lane()), "straight", output_arm_mm=100.0).project)
    assert (follower.output_arm_mm, parts.output_arm_mm) == (None, 100.0)  # type: ignore[attr-defined]
    with pytest.raises(EditError, match="not described as parts"):
        set_parts(machine(plain(TRANSLATING)), "flap", arm_mm=3.0)
    with pytest.raises(EditError, match="a travel of 16 mm is too far for a lever of 8 mm"):
        set_parts(machine(straight_lane()), "straight", output_arm_mm=8.0)


def test_parts_are_removed_and_the_follower_stays() -> None:
    made = remove_parts(machine(straight_lane()), "straight").project.lanes[0]
    assert made.parts is None
    assert isinstance(made.follower, SwingingRoller)
    assert made.follower.output_arm_mm == 120.0
    assert made.blocks == straight_lane().blocks


def test_copies_take_all_and_say_in_what_lanes_differ() -> None:
    other = replaced(plain(TRANSLATING), levels={"low": 0.0, "middle": 8.0, "high": 18.0}, disc=Disc())
    project = machine(lever_lane(), other)
    assert copy_differs(project, "lever", "flap") == ("highest level", "base radius")
    assert copy_differs(project, "lever", "lever") == ()
    edited = copy_parts(project, "lever", ["flap"])
    assert edited.name == "Copy the parts of Lever to 1 lane"
    first, second = edited.project.lanes
    assert (first.parts, first.follower) == (second.parts, second.follower)
    far = replaced(plain(TRANSLATING), disc=Disc(base_radius_mm=140.0))
    with pytest.raises(EditError, match=r"Flap: .*from the axis at output 0"):
        copy_parts(machine(lever_lane(), far), "lever", ["flap"])


def test_a_copy_that_the_project_forbids_names_the_lane() -> None:
    """A linkage's table up to 16 mm does not reach the 18 mm of the second of two others."""
    table = ({"roller_mm": 0.0, "output_mm": 0.0}, {"roller_mm": 8.0, "output_mm": 16.0})
    linked = TranslatingRoller.model_validate(
        {"kind": "translating-roller", "roller_radius_mm": 5.0, "link": table}
    )
    far = replaced(plain(TRANSLATING), id="far", name="Far", code="B2", levels={**LEVELS, "high": 18.0})
    near = replaced(plain(TRANSLATING), id="near", name="Near", code="B3")
    project = machine(plain(linked), near, far)
    with pytest.raises(EditError, match=r"Far: .*18"):
        copy_parts(project, "flap", ["near", "far"])
    assert copy_parts(project, "flap", ["near"]).project.lanes[1].follower == linked


def test_a_lift_beyond_all_guides_is_refused_in_words() -> None:
    """A lift of 2 m is allowed for a level; a guide that begins behind it is not."""
    project = machine(lane("A", ("in", 0, 100), ("out", 150, 250), levels={"in": 0.0, "out": 2000.0}))
    with pytest.raises(EditError, match="guide_start_mm: must be at most 2000"):
        move_by(project, "a", "slide", 500.0)


def test_a_form_of_a_follower_changes_its_parts_with_it() -> None:
    """The lengths that both records hold stay the same in both, for one lane and for several."""
    lanes = (lever_lane(), lever_lane().model_copy(update={"id": "other", "name": "Other", "code": "B9"}))
    project = machine(*lanes)
    ids = tuple(own.id for own in project.lanes)
    for part in (LanePart(ids[0], "follower"), LanesPart(ids, "follower")):
        draft = {**part.draft(project), "arm_mm": 61.0, "output_arm_mm": 97.0, "pivot_rod_mm": 5.0}
        assert part.faults(project, draft) == []
        made = part.edited(project, draft).project.lanes[0]
        assert isinstance(made.follower, SwingingRoller)
        assert (made.follower.arm_mm, made.follower.output_arm_mm, made.follower.pivot_rod_mm) == (61, 97, 5)
        assert made.parts is not None
        assert (made.parts.arm_mm, made.parts.output_mm, made.parts.pivot_rod_mm) == (61, 97, 5)


def test_a_form_says_what_to_do_with_parts_of_another_kind_of_follower() -> None:
    project = machine(lever_lane())
    part = LanePart(project.lanes[0].id, "follower")
    (fault,) = part.faults(project, {"kind": "translating-roller", "roller_radius_mm": 5.0})
    assert str(fault) == (
        f"{project.lanes[0].label} has a swinging lever for its parts; choose other parts or remove them in "
        "Lane > Follower parts first"
    )
