"""Revisions: whatever changes the body of a part, or what is engraved in it, changes its hash.

What a body is comes from its mesh as a printer's file holds it, without the revision that is engraved in it.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterator, Mapping
from dataclasses import replace
from functools import cache
from itertools import product
from types import MappingProxyType
from typing import Any

import numpy as np
import pytest

from shaftscore.base.progress import Silent
from shaftscore.judge.report import QUICK, examine
from shaftscore.layout.frame import frame_plan
from shaftscore.layout.frame_plan import BOTH
from shaftscore.make.exporting.gather import gather
from shaftscore.make.solids import MadePart, part_mesh, printed
from shaftscore.make.solids.feet import with_feet
from shaftscore.make.solids.followers import follower_makers
from shaftscore.make.solids.gear import pinion_makers
from shaftscore.make.solids.hub import hub_part
from shaftscore.make.solids.knob import knob_part
from shaftscore.make.solids.marks import Marks, no_marks
from shaftscore.make.solids.outlines import box_path
from shaftscore.make.solids.part import PlainPart, plain_part
from shaftscore.make.solids.pillar import pillar_part
from shaftscore.make.solids.plate import plate_part
from shaftscore.make.solids.split import pieces_of
from shaftscore.make.solids.strokes import TextPlace
from shaftscore.model import Hub, Print, Project, replaced
from shaftscore.solution import solve
from shaftscore.stack.paths import circle
from tests.core.make.exporting.test_frame_files import MOTOR, framed
from tests.core.make.solids.test_feet import machine as dogged
from tests.core.make.solids.test_gears import geared_stacks, stage, staged
from tests.follower_machine import follower_machine

FOLLOWERS, FRAMED = follower_machine(), framed()
TRAIN = staged(stage(12, 24, module=1.0), stage(12, 72))
MACHINES = {"followers": FOLLOWERS, "frame": FRAMED, "train": TRAIN}
WHEELS = geared_stacks(Hub(kind="set-screw", teeth=75, module_mm=1.25), Hub(kind="clamp", teeth=25))


def made(project: Project) -> dict[str, MadePart]:
    """Make the parts beside discs, spacers and coupons, by their codes."""
    solution = solve(project)
    parts = [make() for make in (*follower_makers(solution), *pinion_makers(project))]
    parts += [hub_part(project, stack) for stack in project.stacks if stack.hub is not None]
    plan = frame_plan(solution) if project.frame is not None else None
    if plan is not None:
        parts += [plate_part(project, plan, side) for side in BOTH]
        parts += [pillar_part(project, plan), knob_part(project, project.stacks[0])]
    return {part.code: with_feet(part, project.print.foot_chamfer_mm) for part in parts}


def body(part: MadePart) -> str:
    """Return what tells one body from another."""
    groups = {name: strokes for name, strokes in part.marks.groups.items() if name != "revision"}
    mesh = part_mesh(printed(replace(part, marks=replace(part.marks, groups=MappingProxyType(groups)))))
    return hashlib.sha256(mesh.corners.tobytes() + mesh.triangles.tobytes()).hexdigest()


@cache
def before(name: str) -> Mapping[str, tuple[str, str]]:
    return {code: (body(part), part.hash) for code, part in made(MACHINES[name]).items()}


def different(name: str, after: Project) -> set[str]:
    """Return the codes of the parts whose bodies differ from those of a machine: all have other hashes."""
    old, new = before(name), made(after)
    assert old.keys() == new.keys()
    bodies = {code for code, part in new.items() if body(part) != old[code][0]}
    assert bodies <= {code for code, part in new.items() if part.hash != old[code][1]}
    return bodies


PRINTER = {"contour_mm": 0.1, "hole_mm": 0.1, "shrinkage_percent": 0.5, "foot_chamfer_mm": 0.15}
"""Fields of a printer, each with another value than the usual one."""

OFTEN = {("frame", "hole_mm"), ("train", "foot_chamfer_mm"), *(("followers", field) for field in PRINTER)}
"""Tried always: each field on one machine, and each machine with one. A long run tries all pairs."""


def pairs() -> Iterator[object]:
    """Yield each machine with each field of a printer."""
    for pair in product(MACHINES, PRINTER):
        yield pytest.param(*pair, id="-".join(pair), marks=() if pair in OFTEN else pytest.mark.long)


@pytest.mark.parametrize(("name", "field"), [*pairs()])
def test_what_a_printer_does_changes_every_part(name: str, field: str) -> None:
    project = MACHINES[name]
    changed = replaced(project, print=replaced(project.print, **{field: PRINTER[field]}))
    assert different(name, changed) == before(name).keys()


@pytest.mark.parametrize("name", ["followers", "frame", pytest.param("train", marks=pytest.mark.long)])
def test_a_wider_nozzle_changes_what_is_engraved(name: str) -> None:
    project = MACHINES[name]
    marked = {code for code, part in made(project).items() if part.marks.strokes}
    assert marked
    assert different(name, replaced(project, print=replaced(project.print, nozzle_mm=0.6))) >= marked


def with_parts(number: int, **fields: Any) -> Project:
    lanes = list(FOLLOWERS.lanes)
    lanes[number] = replaced(lanes[number], parts=replaced(lanes[number].parts, **fields))
    return replaced(FOLLOWERS, lanes=tuple(lanes))


def with_follower(number: int, **fields: Any) -> Project:
    lanes = list(FOLLOWERS.lanes)
    lanes[number] = replaced(lanes[number], follower=replaced(lanes[number].follower, **fields))
    return replaced(FOLLOWERS, lanes=tuple(lanes))


def with_frame(**fields: Any) -> Project:
    return replaced(FRAMED, frame=replaced(FRAMED.frame, **fields))


def with_hub(**fields: Any) -> Project:
    stack = TRAIN.stacks[0]
    return replaced(TRAIN, stacks=(replaced(stack, hub=replaced(stack.hub, **fields)),))


@pytest.mark.parametrize(
    ("name", "after", "codes"),
    [
        ("followers", with_parts(0, output_hole_mm=4.0), {"A1-S"}),
        ("followers", with_parts(0, thickness_mm=6.0), {"A1-S", "A1-K"}),
        ("followers", with_parts(1, spring_hook_mm=90.0), {"A2-L"}),
        ("followers", with_follower(0, guide_length_mm=31.0), {"A1-K"}),
        ("followers", with_follower(1, body_width_mm=13.0), {"A2-L"}),
        ("frame", with_frame(motor=replaced(MOTOR, pilot_mm=9.0)), {"PLATE-BOTTOM"}),
        ("frame", with_frame(plate_mm=9.0), {"PLATE-BOTTOM", "PLATE-TOP"}),
        ("frame", with_frame(pillar_mm=8.0), {"PLATE-BOTTOM", "PLATE-TOP", "PILLAR"}),
        ("train", with_hub(thickness_mm=11.0), {"HUB"}),
        ("train", with_hub(bolt_mm=2.5), {"HUB"}),
        ("train", staged(stage(12, 24, module=1.0, face_mm=9.0), stage(12, 72)), {"PINION1", "PINION2"}),
    ],
)
def test_what_changes_a_body_changes_its_hash(name: str, after: Project, codes: set[str]) -> None:
    assert different(name, after) >= codes


def test_a_gap_that_is_marked_elsewhere_changes_the_hub() -> None:
    """The second shaft goes where stations leave room: the wheel stays, the gap that is marked does not."""
    turned = tuple(replaced(lane, station_deg=lane.station_deg + 40.0) for lane in WHEELS.lanes)
    after = replaced(WHEELS, lanes=turned)
    one, other = (hub_part(project, project.stacks[0]) for project in (WHEELS, after))
    assert one.contour == other.contour
    assert body(one) != body(other)
    assert one.hash != other.hash


def test_a_coupon_with_other_feet_has_another_hash() -> None:
    """Its feet are the least of the discs': dogs nearer to the bore leave less room for them."""

    def coupon(radius_mm: float) -> MadePart:
        order = gather(examine(dogged(radius_mm=radius_mm), stage=QUICK), (), Silent(), True)
        return next(item.part for item in order.items if item.part.kind == "coupon")

    wide, near = coupon(12.0), coupon(7.0)
    assert (wide.foot_mm, wide.hash) != (near.foot_mm, near.hash)
    assert near.foot_mm < wide.foot_mm


PLAIN = PlainPart(
    kind="plate",
    code="PLATE-TOP",
    label="top plate",
    thickness_mm=6.0,
    contour=circle(30.0),
    holes=(circle(3.0),),
    raised=(("boss", circle(5.0, 12.0), (6.0, 9.0)),),
    sunk=(("seat", circle(5.0, -12.0), (3.0, 6.0)),),
    marks=Marks(MappingProxyType({"name": (np.array([8j, 12j]),)}), 0.8, 0.4),
    revision_at=TextPlace(-18j, 5.0),
)


def edited(name: str, **fields: Any) -> PlainPart:
    return replace(PLAIN, **{name: replace(getattr(PLAIN, name), **fields)})


OTHERS: dict[str, PlainPart] = {
    "code": replace(PLAIN, code="PLATE-BOTTOM"),
    "kind": replace(PLAIN, kind="knob"),
    "thickness": replace(PLAIN, thickness_mm=6.1),
    "contour": replace(PLAIN, contour=circle(30.1)),
    "place of a hole": replace(PLAIN, holes=(circle(3.0, 0.1),)),
    "another hole": replace(PLAIN, holes=(circle(3.0), circle(1.0, 20.0))),
    "outline of a raised body": replace(PLAIN, raised=(("boss", circle(5.1, 12.0), (6.0, 9.0)),)),
    "height of a raised body": replace(PLAIN, raised=(("boss", circle(5.0, 12.0), (6.0, 9.1)),)),
    "outline of a sunk body": replace(PLAIN, sunk=(("seat", circle(5.1, -12.0), (3.0, 6.0)),)),
    "depth of a sunk body": replace(PLAIN, sunk=(("seat", circle(5.0, -12.0), (3.1, 6.0)),)),
    "sunk, not raised": replace(PLAIN, raised=(), sunk=(*PLAIN.raised, *PLAIN.sunk)),
    "place of a mark": edited("marks", groups=MappingProxyType({"name": (np.array([8j, 12.1j]),)})),
    "width of marks": edited("marks", width_mm=0.9),
    "depth of marks": edited("marks", depth_mm=0.5),
    "no marks": replace(PLAIN, marks=no_marks()),
}


@pytest.mark.parametrize("name", OTHERS)
def test_each_input_of_a_part_is_in_its_hash(name: str) -> None:
    assert plain_part(FRAMED, OTHERS[name]).hash != plain_part(FRAMED, PLAIN).hash


def test_names_and_counts_are_not() -> None:
    same = replace(PLAIN, label="plate", notes=("a note",), count=2, raised=(("cone", *PLAIN.raised[0][1:]),))
    assert plain_part(FRAMED, same).hash == plain_part(FRAMED, PLAIN).hash


def test_the_engraved_revision_is_that_of_the_hash() -> None:
    part = plain_part(FRAMED, PLAIN)
    assert PLAIN.revision_at is not None
    wanted = PLAIN.revision_at.strokes(part.revision)
    for one, other in zip(part.marks.groups["revision"], wanted, strict=True):
        assert np.array_equal(one, other)


def test_a_piece_changes_with_what_is_on_it_alone() -> None:
    """A plate of 400 mm in two pieces: a hole on the right changes the right one."""
    project = replaced(FRAMED, print=Print(bed_x_mm=220.0, bed_y_mm=220.0))
    plate = PlainPart("plate", "PLATE-TOP", "top plate", 6.0, box_path(-200 - 90j, 200 + 90j))
    with_hole = replace(plate, holes=(circle(3.0, 150.0),))
    one, other = (pieces_of(project, plain_part(project, plain)) for plain in (plate, with_hole))
    assert len(one) == len(other) == 2
    for first, second in zip(one, other, strict=True):
        assert (first.hash == second.hash) == (body(first) == body(second))
    assert sorted(first.hash == second.hash for first, second in zip(one, other, strict=True)) == [
        False,
        True,
    ]
