"""Pictures of a small machine: parts once and in order, marks that meet, labels apart, holes by name."""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from itertools import pairwise

import numpy as np
import pytest

from shaftscore.base.progress import Silent
from shaftscore.judge.report import QUICK, examine
from shaftscore.make.drawing.fonts import POINT_MM, width_mm
from shaftscore.make.drawing.pictures import (
    PicturedMachine,
    assembled_machine,
    coupon_picture,
    disc_outlines,
    exploded_shaft,
    follower_pages,
    frame_steps,
    plate_plan,
    shaft_steps,
)
from shaftscore.make.drawing.pictures.gear_marks import gear_marks, marked_wheels
from shaftscore.make.drawing.scene import Scene, Text
from shaftscore.make.exporting.gather import gather
from shaftscore.model import Hub, MachineFrame, MotorPlace, Project, Rod, Stack, replaced
from shaftscore.solution import Solution
from tests.core.make.exporting.machines import one_sided
from tests.core.make.solids.test_gears import stage, staged
from tests.follower_machine import lever_lane, slide_lane
from tests.machines import machine

MOTOR = MotorPlace(
    x_mm=-30.0, y_mm=-45.0, face="below", pilot_mm=8.5, screw_circle_mm=17.0, screws=2, screw_mm=3.0
)


@cache
def framed() -> PicturedMachine:
    """A slide and a lever with springs, on one shaft with a hub, in a frame with a motor."""
    project = machine(slide_lane(), lever_lane())
    stack = project.stacks[0]
    rod = Rod(across_mm=stack.bore.across_mm, below_mm=30.0, above_mm=40.0, clamp_n=300.0)
    made = replaced(stack, rod=rod, hub=Hub(kind="clamp", thickness_mm=10.0, bolt_mm=3.0), joints="lined-up")
    return pictured(replaced(project, stacks=(made,), frame=MachineFrame(motor=MOTOR)))


def pictured(project: Project) -> PicturedMachine:
    order = gather(examine(project, stage=QUICK), ("pdf",), Silent(), True)
    return PicturedMachine(order.report.solution, tuple(item.part for item in order.items), order.frame)


@cache
def tall() -> PicturedMachine:
    """One disc, 64 times over on one shaft, with codes and long names."""
    one = one_sided()
    stack = Stack(id="main", spacer_radius_mm=18.0)
    small = pictured(replaced(one, stacks=(stack,)))
    part, spacer = (next(p for p in small.parts if p.kind == kind) for kind in ("disc", "coupon"))
    lanes = [
        replaced(
            one.lanes[0],
            id=f"lane{n}",
            name=f"Lane of a very long name {n}",
            code=f"{'ABCDEFGH'[n // 8]}{n % 8 + 1}",
        )
        for n in range(64)
    ]
    project = replaced(one, lanes=tuple(lanes), stacks=(stack,))
    discs = [replace(part, code=lane.code, lane_id=lane.id, label=lane.label) for lane in lanes]
    return PicturedMachine(Solution(project, {}), (*discs, spacer))


def boxes(scene: Scene) -> list[tuple[float, float, float, float]]:
    """Return left, bottom, right and top of the level texts of a scene, mm."""
    return [box_of(text) for text in scene.texts if text.turned_deg == 0]


def box_of(text: Text) -> tuple[float, float, float, float]:
    wide = width_mm(text.text, text.size_pt, text.bold)
    left = text.at.real - {"start": 0.0, "middle": 0.5, "end": 1.0}[text.anchor] * wide
    return left, text.at.imag, left + wide, text.at.imag + 0.72 * text.size_pt * POINT_MM


def apart(scene: Scene) -> bool:
    found = boxes(scene)
    return not any(
        one[0] < two[2] - 0.01
        and two[0] < one[2] - 0.01
        and one[1] < two[3] - 0.01
        and two[1] < one[3] - 0.01
        for place, one in enumerate(found)
        for two in found[place + 1 :]
    )


def test_the_exploded_shaft_has_every_part_once_from_the_bottom_up_and_labels_apart() -> None:
    own = framed()
    scene = exploded_shaft(own, own.stacks[0], 120.0, 165.0)
    tops = [path for path in scene.paths if path.fill == "paper"]
    heights = {path.name: path.corners.imag.mean() for path in tops}
    assert set(heights) >= {"A1", "A2", "hub of main"}
    assert heights["hub of main"] < heights["A1"] < heights["A2"]
    assert [text.text for text in scene.texts].count("A1") == 1
    box = scene.bounds
    assert box.left >= -1e-6
    assert box.right <= 120.0
    assert box.top <= 165.0 + 1e-6
    assert apart(scene)


def test_64_discs_fold_into_columns_each_disc_and_code_once_no_label_over_another() -> None:
    own = tall()
    scene = exploded_shaft(own, own.project.stacks[0], 180.0, 165.0)
    codes = [text.text for text in scene.texts if text.bold]
    wanted = [lane.code for lane in own.project.lanes]
    assert sorted(codes) == sorted(wanted)
    faces = [path.name for path in scene.paths if path.fill == "paper"]
    assert sorted(name for name in faces if name in wanted) == sorted(wanted)
    assert apart(scene)
    assert scene.bounds.right <= 180.0
    assert scene.bounds.top <= 165.0
    lefts = {round(text.at.real) for text in scene.texts if text.bold}
    assert len(lefts) > 1, "it has columns"


def test_steps_add_each_part_of_the_stack_once_and_are_numbered_without_gaps() -> None:
    for own in (framed(), tall()):
        stack = own.project.stacks[0]
        steps = shaft_steps(own, stack, 88.0, 72.0, first=3)
        assert steps[0].number == 3
        assert all(after.number == before.last_number + 1 for before, after in pairwise(steps))
        added = [code for step in steps for code in (*step.codes, *(one.code for one in step.repeats))]
        discs = [part.code for part in own.parts if part.kind == "disc"]
        assert [code for code in added if code in discs] == discs
        assert set(discs) <= {path.name for path in steps[-1].scene.paths}, "all of them are built in the end"
        for step in steps:
            assert step.scene is not None
            assert step.scene.bounds.right <= 88.0 + 1e-6
            assert apart(step.scene)


def test_a_new_zero_mark_is_joined_to_the_one_below_it() -> None:
    own = framed()
    for step in shaft_steps(own, own.stacks[0], 88.0, 72.0):
        if not step.title.startswith(("Disc", "Spacer, then")):
            continue
        (join,) = [path for path in step.scene.paths if path.stroke and path.stroke.dash == "dashed"]
        marks = [path for path in step.scene.paths if path.name == "zero mark"]
        new = [path for path in marks if path.stroke.tone == "new"]
        assert len(new) == 1
        assert distance(join.corners[0], new[0].corners) < 0.01
        assert min(distance(join.corners[1], path.corners) for path in marks if path not in new) < 0.01
        assert join.corners[0].real == pytest.approx(join.corners[1].real)
        assert join.corners[0].imag > join.corners[1].imag
        tinted = {path.name for path in step.scene.paths if path.fill in ("new-face", "new-shade")}
        assert tinted >= {code for code in step.codes if not code.startswith("SPACER")}


def distance(point: complex, line: np.ndarray) -> float:
    """Return the distance of a point from a line of corners, mm."""
    start, end = line[:-1], line[1:]
    share = np.clip(((point - start) * np.conj(end - start)).real / np.abs(end - start) ** 2, 0, 1)
    return float(np.abs(point - start - share * (end - start)).min())


def test_the_step_that_sets_the_joints_is_the_one_that_the_stack_asks_for() -> None:
    own = framed()
    lined = next(s for s in shaft_steps(own, own.stacks[0], 88.0, 72.0) if s.title.startswith("Line up"))
    assert "straight edge" in {path.name for path in lined.scene.paths}
    assert "Lay a straight edge along the stack" in lined.text
    assert "Clamp the stack with 300 N" in lined.text
    stack = replaced(own.stacks[0], joints="one-way")
    other = replace(own, solution=Solution(replaced(own.project, stacks=(stack,)), own.solution.lanes))
    turned = next(s for s in shaft_steps(other, stack, 88.0, 72.0) if s.title.startswith("Turn all"))
    assert "turning arrow" in {path.name for path in turned.scene.paths}


def test_the_frame_is_built_in_an_order_in_which_every_part_can_be_reached() -> None:
    own = framed()
    steps = frame_steps(own, 88.0, 72.0)
    titles = [step.title for step in steps]
    place = {word: next(n for n, title in enumerate(titles) if title.startswith(word)) for word in ORDER}
    assert list(place.values()) == sorted(place.values())
    added = [code for step in steps for code in step.codes]
    for code in ("A1-S", "A1-K", "A2-L", "A2-K", "PILLAR", "PLATE-TOP", "KNOB", "HUB", "A1", "A2"):
        assert added.count(code) == 1
    lever = next(step for step in steps if "A2-L" in step.codes)
    holes = [hole.name for hole in own.frame.holes if "A2-K" in hole.purpose]
    assert all(name in lever.text for name in holes)


ORDER = (
    "Bottom plate",
    "Pillars",
    "Motor",
    "Shaft of",
    "Follower of",
    "Top plate",
    "Knob",
    "Springs",
    "First turn",
)


@pytest.mark.parametrize("side", ["bottom", "top"])
def test_every_hole_of_the_table_is_in_the_plan_under_its_name_and_at_its_place(side) -> None:
    own = framed()
    plan = plate_plan(own, side, 185.0, 165.0)
    outline = next(path for path in plan.scene.paths if path.name == plan.name)
    low = outline.corners[0]
    scale = np.ptp(outline.corners.real) / own.frame.size_mm[0]
    assert plan.scale_text == f"1:{1 / scale:g}"
    assert [row[0] for row in plan.rows] == [hole.name for hole in own.frame.of_plate(side)]
    names = [text.text for text in plan.scene.texts]
    for name, x, y, across, _ in plan.rows:
        (drawn,) = [path for path in plan.scene.paths if path.name == f"hole {name}"]
        there = complex(*(float(value.replace("\u2212", "-")) for value in (x, y)))
        at = (drawn.corners.mean() - low) / scale + own.frame.low
        assert abs(at - there) < 0.08  # the table has tenths
        assert np.abs(drawn.corners - drawn.corners.mean()).mean() == pytest.approx(scale * float(across) / 2)
        assert names.count(name) == 1
    assert apart(plan.scene)


def test_the_coupon_shows_the_hole_of_the_project_and_its_true_size() -> None:
    own = framed()
    stack = own.stacks[0]
    picture = coupon_picture(own, stack, 110.0, 90.0)
    (hole,) = [path for path in picture.scene.paths if path.name == "hole of the project"]
    flats = np.ptp(hole.corners.real) / picture.scale  # a side faces the zero mark, +x
    assert flats == pytest.approx(stack.bore.across_mm + 2 * stack.fit_clearance_mm, abs=0.02)
    odd = replaced(stack, fit_clearance_mm=0.17)
    assert coupon_picture(own, odd, 110.0, 90.0).hole is None


def test_outlines_name_every_disc_with_heights_and_revision() -> None:
    own = tall()
    rows = disc_outlines(own, own.project.stacks[0], 185.0)
    assert [code for row in rows for code in row.codes] == [lane.code for lane in own.project.lanes]
    assert len({row.scale for row in rows}) == 1
    assert all(apart(row.scene) for row in rows)


def test_a_page_of_a_follower_has_all_its_parts_and_holes() -> None:
    own = framed()
    pages = follower_pages(own, 185.0, 110.0, 70.0)
    assert [page.lanes for page in pages] == [("A1",), ("A2",)]
    made = {part.code for part in own.parts if part.kind in ("lever", "slide", "bracket")}
    assert {row[0] for page in pages for row in page.parts} == made
    for page in pages:
        assert page.refused == ()
        assert any(text.startswith("Put") or "Slide" in text for text in page.steps)
        assert apart(page.top)
        assert apart(page.side)
    holes = {name for page in pages for row in page.places for name in row[4].split(", ")}
    assert holes == {hole.name for hole in own.frame.holes if hole.purpose.startswith("bracket")}


def test_the_assembled_machine_shows_every_part_and_fits_its_room() -> None:
    scene = assembled_machine(framed(), 80.0, 60.0)
    names = {path.name for path in scene.paths}
    assert names >= {
        "A1",
        "A2",
        "A1-S",
        "A2-L",
        "A2-K",
        "PLATE-BOTTOM",
        "PLATE-TOP",
        "knob",
        "motor",
        "pillar F4",
    }
    box = scene.bounds
    assert box.wide <= 80.0 + 1e-6
    assert box.high <= 60.0 + 1e-6


def test_the_marks_of_gears_meet_on_the_line_of_centres() -> None:
    project = staged(stage(12, 72))
    stack = replaced(project.stacks[0], order=())
    own = pictured(replaced(project, lanes=project.lanes[:1], rules=(), flow=None, stacks=(stack,)))
    hub, pinion = marked_wheels(own)
    ends = []
    for wheel in (hub, pinion):
        middle = complex(wheel.outline.real.min() + np.ptp(wheel.outline.real) / 2) + 1j * (
            wheel.outline.imag.min() + np.ptp(wheel.outline.imag) / 2
        )
        mark = next(line for name, line in wheel.marks if name == "phase mark")
        ends.append((middle, mark[np.argmax(np.abs(mark - middle))]))
    (hub_at, gap), (pinion_at, tooth) = ends
    way = (pinion_at - hub_at) / abs(pinion_at - hub_at)
    for at in (gap, tooth):
        assert abs(((at - hub_at) * np.conj(way)).imag) < 0.2, "on the line of centres"
    assert abs(gap - hub_at) < abs(tooth - hub_at) < abs(pinion_at - hub_at)
    drawn = gear_marks(own, 88.0, 72.0)
    assert apart(drawn)
    assert drawn.bounds.right < 88.0
