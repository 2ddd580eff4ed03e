"""Parts of followers, train and frame in their places: whole machines hold, planted faults are named."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from shaftscore.make.assembly.layout import other_parts
from shaftscore.make.assembly.machine import copy_name, machine_assembly
from shaftscore.make.assembly.proof import AssemblyProof, prove_assembly
from shaftscore.make.files.order import MakeOrder
from shaftscore.make.proof.reading.solid import SolidPart
from shaftscore.model import Lane, MachineFrame, Project, Rod, replaced
from tests.core.make.assembly.reading import read_back
from tests.core.make.solids.test_gears import stage, staged
from tests.follower_machine import lever_lane, slide_lane, straight_lane
from tests.machines import machine


def framed(lane: Lane) -> Project:
    project = machine(lane)
    stack = project.stacks[0]
    rod = Rod(across_mm=stack.bore.across_mm, below_mm=25.0, above_mm=40.0)
    return replaced(project, stacks=(replaced(stack, rod=rod),), frame=MachineFrame())


def proved(order: MakeOrder, solids: dict[str, SolidPart]) -> AssemblyProof:
    return prove_assembly(machine_assembly(order, solids, other_parts(order)))


@pytest.mark.parametrize("lane", [slide_lane, straight_lane])
def test_a_follower_in_its_frame_holds_and_longer_pillars_are_in_its_plate(lane, tmp_path: Path) -> None:
    order, solids = read_back(framed(lane()), tmp_path)
    put = machine_assembly(order, solids, other_parts(order))
    found = prove_assembly(put, full=True)
    assert found.holds, found.faults
    counts = {item.part.code: item.part.count for item in order.items if item.part.kind != "coupon"}
    assert counts == {code: sum(body.code == code for body in put.bodies) for code in counts}
    assert len({body.name for body in put.bodies}) == len(put.bodies)
    made = {item.part.kind for item in order.items}
    assert made >= {"disc", "bracket", "plate", "pillar", "knob"}
    long = solids["PILLAR"].corners * np.array([1, 1, 1.01])
    by = 0.01 * long[..., 2].max() / 1.01
    said = [fault.what for fault in proved(order, solids | {"PILLAR": SolidPart(long, "it")}).faults]
    assert len(said) == 4  # each pillar is in the top plate, or in one piece of it
    assert all(line.startswith("top plate") and f" by {by:.2f} mm" in line for line in said), said


def test_a_small_roller_without_a_bearing_turns_on_a_thin_pin(tmp_path: Path) -> None:
    """A roller of radius 3 mm turns on a pin of 3 mm, for which its lever has the hole."""
    lane = lever_lane()
    small = replaced(lane.follower, bearing=None, roller_radius_mm=3.0)
    order, solids = read_back(machine(replaced(lane, follower=small)), tmp_path)
    assert "A2-L" in solids
    found = proved(order, solids)
    assert found.holds, found.faults


def test_teeth_that_mesh_hold_and_half_a_tooth_further_they_do_not(tmp_path: Path) -> None:
    project = replaced(staged(stage(12, 72)), lanes=staged(stage(12, 72)).lanes[:1])
    project = replaced(project, rules=(), flow=None, stacks=(replaced(project.stacks[0], order=()),))
    order, solids = read_back(project, tmp_path)
    found = proved(order, solids)
    assert found.holds, found.faults
    turn = np.exp(1j * np.pi / 12)
    corners = solids["PINION"].corners.copy()
    place = (corners[..., 0] + 1j * corners[..., 1]) * turn
    corners[..., 0], corners[..., 1] = place.real, place.imag
    (fault,) = proved(order, solids | {"PINION": SolidPart(corners, "it")}).faults
    assert fault.what.startswith("pinion of stage 1 goes into hub of Main shaft by ")
    # Tips on tips: both wheels' addenda, 1.5 mm each, over one another, no deeper than the tooth is wide.
    assert fault.by_mm is not None
    assert 0.5 < fault.by_mm < 3.0


@pytest.mark.parametrize(
    ("instance", "kind", "name"),
    [
        ("A1", "disc", "A1 disc"),
        ("B2-L", "lever", "B2 lever"),
        ("B2-L 2", "lever", "B2 lever 2"),
        ("B2-K 1", "bracket", "B2 bracket 1"),
        ("B2-G-1", "lever", "B2-G-1 lever"),
        ("hub of Main shaft", "hub", "hub of Main shaft"),
    ],
)
def test_names_of_copies(instance: str, kind: str, name: str) -> None:
    assert copy_name(instance, kind) == name
