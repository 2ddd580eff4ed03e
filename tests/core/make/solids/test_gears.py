"""Hubs and pinions as they are made and placed: they roll on one another, and their marks meet at 0°."""

from __future__ import annotations

from dataclasses import dataclass
from math import pi

import numpy as np
import pytest
import shapely

from shaftscore.layout.axes import stack_axes
from shaftscore.layout.coupled import hub_wheels
from shaftscore.layout.frame_plan import FrameError
from shaftscore.layout.train import hub_placement, train_placements
from shaftscore.make.solids import SolidError, part_mesh
from shaftscore.make.solids.gear import pinion_makers
from shaftscore.make.solids.hub import hub_part
from shaftscore.make.solids.part import MadePart
from shaftscore.model import (
    Dogs,
    Drive,
    Hub,
    MachineFrame,
    Pins,
    Project,
    Rod,
    Stack,
    Stage,
    replaced,
)
from shaftscore.model.base import Record
from shaftscore.solution import solve
from tests.samples import direct, sample

BLENDER = direct(sample("tea_blender"))
DOGS = Dogs(count=3, radius_mm=9.0, width_mm=3.0, height_mm=2.0)
HUB = Hub(kind="set-screw")


def staged(*stages: Stage, hub: Hub | None = HUB, **stack: object) -> Project:
    """Return the tea blender with a train of these stages and a hub."""
    assert BLENDER.drive is not None
    drive = Drive(source=BLENDER.drive.source, stages=stages)
    own = replaced(BLENDER.stacks[0], hub=hub, **stack)
    return replaced(BLENDER, drive=drive, stacks=(own,))


def stage(driver: int, driven: int, kind: str = "external", module: float = 1.5, **fields: object) -> Stage:
    made = {"driver_teeth": driver, "driven_teeth": driven, "kind": kind, "module_mm": module, "face_mm": 8.0}
    return Stage.model_validate({**made, **fields})


@dataclass(frozen=True)
class PlacedPart:
    """A made part and how it is placed."""

    part: MadePart
    bottom_mm: float
    upside_down: bool
    course: object

    def section(self, z: float, master_deg: float, more_deg: float = 0.0) -> shapely.Geometry:
        """Cut it at a height of the machine, with the machine at an angle and the part turned on by more."""
        part = self.part
        own = self.bottom_mm - z if self.upside_down else z - self.bottom_mm
        area = shapely.Polygon()
        if 0 < own < part.thickness_mm:
            area = shapely.Polygon(part.outline)
        for body in part.raised:
            if body.bottom_mm < own < body.top_mm:
                area = area.union(shapely.Polygon(body.path.flattened(0.001)))
        for body in part.sunk:
            if body.bottom_mm < own < body.top_mm:
                area = area.difference(shapely.Polygon(body.path.flattened(0.001)))
        for hole in part.holes:
            area = area.difference(shapely.Polygon(hole.flattened(0.001)))
        pose = self.course(np.array([master_deg]))  # type: ignore[operator]
        at, turn = complex(pose.at[0]), complex(pose.turn[0]) * complex(np.exp(1j * np.radians(more_deg)))

        def moved(points: np.ndarray) -> np.ndarray:
            own = points[:, 0] + 1j * points[:, 1]
            seen = at + turn * (np.conj(own) if self.upside_down else own)
            return np.column_stack([seen.real, seen.imag])

        return shapely.transform(area, moved)


def placed(project: Project) -> dict[str, PlacedPart]:
    """Make the hub and the pinions, and put them where they are."""
    pinions = [make() for make in pinion_makers(project)]
    made = {part.code: part for part in (*pinions, hub_part(project, project.stacks[0]))}
    return {
        one.code: PlacedPart(made[one.code], one.bottom_mm, one.upside_down, one.course)
        for one in train_placements(project)
    }


MESHES = {
    "external": staged(stage(12, 72)),
    "no shift": staged(stage(20, 60, face_mm=6.0), fit_clearance_mm=0.15),
    "at a given distance": staged(stage(12, 40, module=2.0, centre_mm=53.0)),
    "closer than the teeth": staged(stage(20, 60, centre_mm=59.5)),
    "internal": staged(stage(15, 72, "internal")),
    "internal at a given distance": staged(stage(15, 60, "internal", centre_mm=34.2)),
    "driven at the top": staged(stage(11, 50), driven_end="top", dogs=DOGS),
    "two stages": staged(stage(12, 24, module=1.0), stage(12, 72)),
}


@pytest.mark.parametrize("name", MESHES)
def test_made_wheels_roll_on_one_another(name: str) -> None:
    """Over one pitch: nothing overlaps by more than 0.02 mm, and the backlash is as asked within 0.02 mm.

    Asked is twice the fit clearance; the pinion can turn by half of it to each side of the middle.
    """
    project = MESHES[name]
    parts = placed(project)
    drive = project.drive
    assert drive is not None
    last = drive.stages[-1]
    code = "PINION" if len(drive.stages) == 1 else f"PINION{len(drive.stages)}"
    hub, pinion = parts["HUB"], parts[code]
    half = project.stacks[0].fit_clearance_mm
    radius = last.centre_mm or abs(complex(pinion.course(np.zeros(1)).at[0]))  # type: ignore[operator]
    side = -1 if last.kind == "internal" else 1
    radius *= last.driver_teeth / (last.driven_teeth + side * last.driver_teeth)
    z = hub.bottom_mm + (-4.0 if hub.upside_down else 4.0)
    free, more = (np.degrees((half + by) / radius) for by in (-0.01, 0.01))
    for share in (0.0, 0.3, 0.6, 1.0):
        master = share * 360 / last.driven_teeth
        wheel = hub.section(z, master)
        assert wheel.intersection(pinion.section(z, master).buffer(-0.01)).area == 0
        for way in (1, -1):
            assert wheel.intersection(pinion.section(z, master, way * free)).area < 1e-9
            assert wheel.intersection(pinion.section(z, master, way * more)).area > 0


def tip_of(part: MadePart, name: str) -> complex:
    """Return the outer end of a mark."""
    return complex(max(part.marks.groups[name][0], key=abs))


@pytest.mark.parametrize("name", ["external", "driven at the top"])
def test_marks_of_tooth_and_gap_meet_on_the_line_of_centres(name: str) -> None:
    parts = placed(MESHES[name])
    seen = {}
    for code in ("HUB", "PINION"):
        one = parts[code]
        own = tip_of(one.part, "phase mark")
        pose = one.course(np.zeros(1))  # type: ignore[operator]
        seen[code] = complex(pose.points(own.conjugate() if one.upside_down else own)[0])
    centre = complex(parts["PINION"].course(np.zeros(1)).at[0])  # type: ignore[operator]
    assert np.angle(seen["HUB"]) == pytest.approx(np.angle(centre))
    assert np.angle((seen["PINION"] - centre) / -centre) == pytest.approx(0.0, abs=1e-9)
    zero = tip_of(parts["HUB"].part, "zero mark")
    assert zero.imag == 0
    assert zero.real > 0


@pytest.mark.parametrize(
    ("hub", "stack"),
    [
        (Hub(kind="clamp"), {}),
        (Hub(kind="clamp"), {"dogs": DOGS}),
        (Hub(kind="set-screw", bolt_mm=4.0, thickness_mm=12.0), {"dogs": DOGS, "driven_end": "top"}),
        (Hub(kind="set-screw"), {"pins": Pins(count=2, radius_mm=12.0, across_mm=4.0)}),
        (Hub(kind="bolted", bolt_circle_mm=50.0, bolts=4, gear=False), {}),
        (Hub(kind="clamp", gear=False), {}),
    ],
)
def test_every_hub_is_one_closed_body_that_mates(hub: Hub, stack: dict[str, Record]) -> None:
    """Pegs and pockets are where the discs have theirs; volume under that of the full outline."""
    project = staged(stage(12, 72), hub=hub, **stack)
    made = hub_part(project, project.stacks[0])
    mesh = part_mesh(made)
    assert mesh.volume < np.abs(made.outline).max() ** 2 * pi * made.top_mm
    mating = [body for body in (*made.raised, *made.sunk) if body.name in ("peg", "pocket")]
    assert len(mating) == (3 if "dogs" in stack else 0)
    if mating:
        middle = sum(mating[0].path.vertices) / 4
        assert middle == pytest.approx(9.0)
        assert mating[0].name == ("pocket" if project.stacks[0].driven_end == "top" else "peg")


@pytest.mark.parametrize(
    ("stages", "hub", "reason"),
    [
        ((stage(8, 72, module=0.8),), HUB, "required for a shaft of 3 mm"),
        ((stage(5, 72),), HUB, "a wheel of 5 teeth is not made"),
        ((stage(12, 72, centre_mm=40.0),), HUB, "base circles overlap"),
        ((stage(12, 14, module=1.0),), HUB, "wall between its bore and its teeth"),
        ((stage(12, 72),), Hub(kind="clamp", thickness_mm=5.0), "its screw needs at least"),
        ((stage(12, 72),), Hub(kind="set-screw", bolt_mm=3.3), "no screw of 3.3 mm is known"),
        ((stage(12, 60), stage(12, 48)), HUB, "meets the shaft of the next"),
        ((stage(30, 36, "internal"),), HUB, "their teeth must differ by more"),
    ],
)
def test_what_cannot_be_made_is_refused(stages: tuple[Stage, ...], hub: Hub, reason: str) -> None:
    with pytest.raises(SolidError, match=reason):
        placed(staged(*stages, hub=hub))


def geared_stacks(
    first: Hub, second: Hub, *stages: Stage, turns: int = 3, turn: str = "counterclockwise"
) -> Project:
    """Return the tea blender with its last five discs on a second shaft, which hubs gear to the first."""
    one = staged(*stages, hub=first)
    main = one.stacks[0]
    other = Stack(id="second", name="Second shaft", turns=turns, turn=turn, hub=second, fit_clearance_mm=0.1)  # type: ignore[arg-type]
    lanes = tuple(
        replaced(lane, stack="second") if number > 4 else lane for number, lane in enumerate(one.lanes)
    )
    return replaced(one, stacks=(main, other), lanes=lanes, rules=(), flow=None)


GEARED = {
    "beside a motor": ((HUB, Hub(kind="set-screw", teeth=24)), (stage(12, 72),)),
    "without stages": ((Hub(kind="set-screw", teeth=75, module_mm=1.25), Hub(kind="clamp", teeth=25)), ()),
}


@pytest.mark.parametrize("name", GEARED)
def test_two_geared_stacks_roll_on_one_another(name: str) -> None:
    """The second shaft turns three times, the other way; its wheel is where its teeth put it."""
    (first, second), stages = GEARED[name]
    project = geared_stacks(first, second, *stages)
    hubs = [hub_part(project, stack) for stack in project.stacks]
    wheels = hub_wheels(project)
    places = [hub_placement(project, stack, wheels[stack.id].at) for stack in project.stacks]
    driver, driven = (
        PlacedPart(part, at.bottom_mm, at.upside_down, at.course)
        for part, at in zip(hubs, places, strict=True)
    )
    teeth = wheels["second"].wheel.teeth
    radius = abs(wheels["second"].at) * teeth / (4 * teeth)
    free, more = (np.degrees((0.1 + by) / radius) for by in (-0.01, 0.01))
    for share in (0.0, 0.4, 0.9):
        master = share * 120 / teeth
        other = driver.section(driver.bottom_mm + 4.0, master)
        for way in (1, -1):
            assert other.intersection(driven.section(driver.bottom_mm + 4.0, master, way * free)).area < 1e-9
            assert other.intersection(driven.section(driver.bottom_mm + 4.0, master, way * more)).area > 0


@pytest.mark.parametrize(
    ("second", "stack", "reason"),
    [
        (Hub(kind="clamp", teeth=25), {}, "25 teeth do not give its turns; 24 on Main shaft do"),
        (Hub(kind="clamp", teeth=24), {"turn": "clockwise"}, "turns the other way, as meshing wheels do"),
        (Hub(kind="clamp", teeth=24, module_mm=2.0), {}, "its module is not the 1.5 mm of Main shaft"),
        (
            Hub(kind="clamp", teeth=24, thickness_mm=14.0),
            {},
            "its wheel is 4.0 mm lower than that of Main shaft",
        ),
    ],
)
def test_stacks_that_cannot_be_geared(second: Hub, stack: dict[str, str], reason: str) -> None:
    project = geared_stacks(HUB, second, stage(12, 72), **stack)  # type: ignore[arg-type]
    with pytest.raises(SolidError, match=reason):
        hub_part(project, project.stacks[1])


def test_a_frame_puts_a_geared_stack_where_its_wheel_says() -> None:
    """Module 3, 72 and 24 teeth: 144 mm, and what the backlash of 0.2 mm opens; module 1.5 is too near."""
    second = Hub(kind="set-screw", teeth=24)
    wide = solve(geared_stacks(HUB, second, stage(12, 72, module=3.0)))
    axes = stack_axes(wide, wide.project.stacks)
    assert 144.2 < abs(axes["second"]) < 144.45
    near = solve(geared_stacks(HUB, second, stage(12, 72)))
    with pytest.raises(FrameError, match=r"Second shaft is .* mm too near where its wheel puts it"):
        stack_axes(near, near.project.stacks)
    frame = MachineFrame()
    uneven = replaced(near.project, frame=frame)
    rods = [Rod(across_mm=8.0, below_mm=below, above_mm=12.0) for below in (30.0, 33.0)]
    stacks = [replaced(one, rod=rod) for one, rod in zip(uneven.stacks, rods, strict=True)]
    with pytest.raises(SolidError, match=r"its wheel is 3\.0 mm higher than that of Main shaft"):
        hub_part(replaced(uneven, stacks=tuple(stacks)), stacks[1])
