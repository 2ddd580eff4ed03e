"""Three lanes of the tea blender put together from their files: they hold, and planted faults are named.

What the proof says of bodies in one another is held against plain geometry, and against the volume that they
share by a library for solids (manifold3d).
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace

import numpy as np
import pytest
from manifold3d import Error, Manifold, Mesh

from shaftscore.base.errors import Cancelled
from shaftscore.layout import Course, Placement, PlanPose, standing
from shaftscore.make.assembly.machine import MachineAssembly, machine_assembly
from shaftscore.make.assembly.meeting import MeetingPair
from shaftscore.make.assembly.others import OtherParts, PartGroup
from shaftscore.make.assembly.proof import AssemblyProof, prove_assembly
from shaftscore.make.files.order import MakeOrder, OrderedPart
from shaftscore.make.proof.reading.solid import SolidPart
from shaftscore.make.solids.part import PlainPart, plain_part
from shaftscore.model import replaced
from shaftscore.stack.paths import circle, polygon
from tests.core.make.assembly.reading import read_back
from tests.samples import direct, sample

STATION = np.exp(1j * np.radians(10.0))
"""Direction of the station of all followers of the tea blender but four; from its file."""


@dataclass(frozen=True)
class ReadBlender:
    """The parts of the tea blender as read back from its files."""

    order: MakeOrder
    solids: Mapping[str, SolidPart]

    def proved(
        self, solids: Mapping[str, SolidPart] | None = None, others: OtherParts | None = None
    ) -> AssemblyProof:
        machine = machine_assembly(self.order, {**self.solids, **(solids or {})}, others)
        return prove_assembly(machine, full=True)

    def changed(self, code: str, change: Callable[[np.ndarray], np.ndarray]) -> dict[str, SolidPart]:
        """A part whose corners, (n, 3) mm, are others in its file."""
        corners = change(self.solids[code].corners.reshape(-1, 3)).reshape(-1, 3, 3)
        return {code: SolidPart(corners, code)}


@pytest.fixture(scope="module")
def blender(tmp_path_factory: pytest.TempPathFactory) -> ReadBlender:
    folder = tmp_path_factory.mktemp("blender")
    whole = direct(sample("tea_blender"))
    stack = replaced(whole.stacks[0], order=("assam", "ceylon", "sencha"))
    project = replaced(whole, lanes=whole.lanes[:3], stacks=(stack,), rules=(), flow=None)
    return ReadBlender(*read_back(project, folder))


def turned(degrees: float) -> Callable[[np.ndarray], np.ndarray]:
    c, s = np.cos(np.radians(degrees)), np.sin(np.radians(degrees))
    return lambda corners: corners @ np.array([[c, s, 0], [-s, c, 0], [0, 0, 1]])


def test_the_machine_as_it_is_holds(blender: ReadBlender) -> None:
    found = blender.proved()
    assert found.holds, found.faults
    assert found.bodies == 3 + 2 + 1 + 3  # discs, spacers, the rod, rollers
    assert len(found.rollers) == 3
    assert abs(found.largest_gap_mm or 1.0) <= 0.003  # the chords of the discs lie within 0.002 mm
    assert all(roller.width_mm == pytest.approx(4.0, abs=1e-3) for roller in found.rollers)


def test_a_disc_1_mm_too_high_is_in_the_spacer_over_it_and_its_roller_off_its_middle(
    blender: ReadBlender,
) -> None:
    found = blender.proved(blender.changed("A2", lambda corners: corners + np.array([0, 0, 1.0])))
    assert [fault.what for fault in found.faults] == [
        "A2 disc goes into spacer 2 of Main shaft by 1.00 mm",
        "A2 roller touches A2 disc over 3.10 mm of its height; 4.00 mm required",
    ]


def test_a_disc_turned_by_5_degrees_has_the_rod_in_its_bore_and_its_roller_off(blender: ReadBlender) -> None:
    found = blender.proved(blender.changed("A3", turned(5.0)))
    assert {fault.parts for fault in found.faults} == {("A3", "rod"), ("A3 roller", "A3 disc")}
    bore, roller = found.faults
    # A corner of the hexagon, 5 mm / cos 30° from the axis, is at 30° - 5° from the flat at 5.1 mm: a
    # triangle of that height with angles of 5° and 55° at the flat, and the circle within it.
    height = 5 / np.cos(np.radians(30)) * np.cos(np.radians(25)) - 5.1
    cot = 1 / np.tan(np.radians([5, 55, 2.5, 27.5]))
    assert bore.by_mm == pytest.approx(2 * height * (cot[0] + cot[1]) / (cot[2] + cot[3]), abs=0.001)
    assert roller.worst_deg is not None
    assert roller.by_mm is not None
    assert roller.by_mm > 1.0


def test_a_roller_that_is_too_large_is_in_its_disc(blender: ReadBlender) -> None:
    machine = machine_assembly(blender.order, blender.solids)
    tasks = tuple(
        replace(task, radius_mm=6.3) if task.follower.name == "A3 roller" else task
        for task in machine.rollers
    )
    (fault,) = prove_assembly(replace(machine, rollers=tasks)).faults
    assert fault.what.startswith("A3 roller goes into A3 disc by 0.30 mm at ")
    assert fault.by_mm == pytest.approx(0.3, abs=0.003)


LENGTH, HALF, BOTTOM = 60.0, 4.0, 5.5
"""A lever of lane A1: from the middle of its roller outward, in the heights of the spacer over A1's disc."""


def with_parts(
    blender: ReadBlender, lever: Course | None = None, bottom_mm: float = BOTTOM, pillar_at: complex = 200.0
) -> tuple[ReadBlender, OtherParts]:
    """The machine with a lever for A1, which its roller carries along, and a pillar."""
    project = blender.order.report.project
    bar = polygon((-6 - HALF * 1j, LENGTH - HALF * 1j, LENGTH + HALF * 1j, -6 + HALF * 1j))
    plain = [
        PlainPart("lever", "A1-L", "lever of Assam", 4.0, bar),
        PlainPart("pillar", "PILLAR", "pillar", 120.0, circle(4.0)),
    ]
    items = [OrderedPart(plain_part(project, one), None, ()) for one in plain]
    solids = {item.part.code: SolidPart(item.body.corners[item.body.triangles], "it") for item in items}
    course = lever or machine_assembly(blender.order, blender.solids).rollers[0].follower.course
    places = (
        Placement("A1-L", "A1 lever", "follower A1", bottom_mm, course),
        Placement("PILLAR", "pillar 1", "frame", -5.0, standing(pillar_at)),
    )
    order = replace(blender.order, items=(*blender.order.items, *items))
    others = OtherParts([PartGroup(places, follows="main", lane="assam")])
    return ReadBlender(order, {**blender.solids, **solids}), others


def test_a_lever_in_its_place_and_a_pillar_beyond_it_are_clear(blender: ReadBlender) -> None:
    machine, others = with_parts(blender)
    assert machine.proved(others=others).holds


def test_a_pillar_in_the_sweep_of_a_lever_is_found_at_the_first_angle(blender: ReadBlender) -> None:
    rollers = machine_assembly(blender.order, blender.solids).rollers
    out = np.abs(rollers[0].follower.course(np.arange(0.0, 360.0)).at)  # of A1's roller from the axis
    lift, gap = out - out.min(), 3.0
    at = (out.min() + LENGTH + gap + 4.0) * STATION  # gap from the lever's end at rest
    machine, others = with_parts(blender, pillar_at=at)
    (fault,) = machine.proved(others=others).faults
    deepest = lift.max() - gap
    assert fault.parts == ("A1-L", "PILLAR")
    assert fault.what.startswith(f"A1 lever goes into pillar 1 by {deepest:.2f} mm at ")
    assert fault.first_deg == int(np.argmax(lift - gap > 0.02))
    assert lift[int(fault.worst_deg or 0)] == pytest.approx(lift.max(), abs=0.003)


def test_a_lever_at_a_wrong_station_is_in_the_disc_at_its_height(blender: ReadBlender) -> None:
    """It lies at the height of A2's disc, its end well inside of the rim; held against shared volumes."""
    machine, others = with_parts(blender, bottom_mm=11.5)
    faults = {fault.parts: fault for fault in machine.proved(others=others).faults}
    fault = faults["A1-L", "A2"]
    assert fault.what.startswith("A1 lever goes into A2 disc by ")
    assert fault.lanes == ("assam", "ceylon")
    together = machine_assembly(machine.order, machine.solids, others)
    volume = SharedVolume(together, machine.solids)
    first, worst = (int(angle or 0) for angle in (fault.first_deg, fault.worst_deg))
    pair = [next(body for body in together.bodies if body.name == name) for name in ("A1 lever", "A2 disc")]
    seen = set()
    for angle in (first - 1, first, worst, *range(0, 360, 18)):
        found = MeetingPair(pair[0], pair[1], np.array([float(angle)])).penetration(0.02)
        shared = volume.at(angle)
        if found is None:  # what is left is a sliver of less than 0.02 mm x 8 mm x 4 mm
            assert shared < 0.7
        else:  # it holds a ball of that diameter
            assert shared > np.pi / 6 * found.depth_mm**3
        seen.add(found is None)
    assert seen == {True, False}


class SharedVolume:
    """The volume, mm³, that A1's lever and A2's disc share at an angle, by manifold3d."""

    def __init__(self, machine: MachineAssembly, solids: Mapping[str, SolidPart]) -> None:
        bodies = {body.name: body for body in machine.bodies}
        self.placed = [bodies[name] for name in ("A1 lever", "A2 disc")]
        self.meshes = [_manifold(solids[body.code]) for body in self.placed]

    def at(self, angle: float) -> float:
        first, second = (
            mesh.transform(_matrix(body.course(np.array([angle])), body.bottom_mm))
            for mesh, body in zip(self.meshes, self.placed, strict=True)
        )
        return float((first ^ second).volume())


def _manifold(part: SolidPart) -> Manifold:
    corners, places = np.unique(part.corners.reshape(-1, 3), axis=0, return_inverse=True)
    mesh = Mesh(corners.astype(np.float32), places.reshape(-1, 3).astype(np.uint32))
    made = Manifold(mesh)
    assert made.status() == Error.NoError
    return made


def _matrix(pose: PlanPose, bottom_mm: float) -> np.ndarray:
    at, turn = pose.at[0], pose.turn[0]
    return np.array(
        [
            [turn.real, -turn.imag, 0, at.real],
            [turn.imag, turn.real, 0, at.imag],
            [0, 0, 1, bottom_mm],
        ]
    )


def test_the_proof_can_be_cancelled(blender: ReadBlender) -> None:
    class Stops:
        def report(self, fraction: float, what: str) -> None:
            if fraction > 0.5:
                raise Cancelled("enough")

    with pytest.raises(Cancelled):
        prove_assembly(machine_assembly(blender.order, blender.solids), progress=Stops())
