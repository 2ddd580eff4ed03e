"""Followers of every kind on discs read back from files: on them as they are, off them by what is planted."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from shaftscore.make.assembly.joints import assembly_joints
from shaftscore.make.assembly.machine import machine_assembly
from shaftscore.make.assembly.proof import prove_assembly
from shaftscore.make.proof.reading.solid import SolidPart
from shaftscore.model import (
    Disc,
    Dogs,
    Lane,
    Load,
    Print,
    Project,
    Stack,
    SwingingRoller,
    TranslatingFlat,
    TranslatingRoller,
    replaced,
)
from shaftscore.model.codes import with_codes
from tests.core.make.assembly.reading import read_back
from tests.core.make.exporting.machines import one_sided

ROLLER = TranslatingRoller(kind="translating-roller", roller_radius_mm=5.0, offset_mm=-3.0, width_mm=4.0)
ARM = SwingingRoller(
    kind="swinging-roller", roller_radius_mm=5.0, arm_mm=40.0, pivot_distance_mm=60.0, pivot_side="clockwise"
)
FLAT = TranslatingFlat(kind="translating-flat", face_width_mm=60.0)
GROOVED = TranslatingRoller(kind="translating-roller", roller_radius_mm=5.0, closure="groove")


def dropping() -> Project:
    """The lane falls freely, slower than the edge of its disc: for a while its roller is in the air."""
    project = one_sided(follower=ROLLER)
    lane = project.lanes[0]
    closed, opened = lane.blocks
    load = Load(moving_mass_g=400.0, spring_preload_n=2.0)
    closed = replaced(closed, law="drop", start_deg=235.0, end_deg=455.0)
    dropped = replaced(lane, blocks=(opened, closed), load=load)
    return replaced(project, lanes=(dropped,), shaft=replaced(project.shaft, speed_rpm=60.0))


def corrected() -> Project:
    """All that is between drawing and file: corrections, shrinkage, a measured turn, three turns."""
    printing = Print(hole_mm=0.15, contour_mm=-0.1, shrinkage_percent=1.5)
    project = one_sided("clockwise", turns=3, follower=ROLLER, printing=printing)
    return replaced(project, lanes=(replaced(project.lanes[0], offset_deg=2.0),))


MACHINES = {
    "corrected": corrected,
    "arm": lambda: one_sided("clockwise", follower=ARM),
    "flat face": lambda: one_sided(follower=FLAT, base_radius_mm=40.0),
    "groove": lambda: one_sided(follower=GROOVED, thickness_mm=8.0),
    "drop": dropping,
}


@pytest.mark.parametrize("name", MACHINES)
def test_a_follower_is_on_its_disc_and_off_a_larger_or_smaller_one(name: str, tmp_path: Path) -> None:
    order, solids = read_back(MACHINES[name](), tmp_path)
    found = prove_assembly(machine_assembly(order, solids))
    assert found.holds, found.faults
    (roller,) = found.rollers
    assert abs(roller.gap_mm) < 0.004
    assert roller.width_mm >= roller.needed_mm - 1e-3 > 0
    larger = {"A1": SolidPart(solids["A1"].corners * np.array([1.005, 1.005, 1]), "A1")}
    wrong = prove_assembly(machine_assembly(order, solids | larger))
    (off,) = wrong.rollers
    assert len(wrong.faults) == 1
    assert not off.touches
    assert 0.04 < abs(off.gap_mm) < 0.3  # 0.5 % of 20 to 45 mm, more on a slope
    assert off.gap_mm < 0 or name == "groove"


def test_a_roller_too_large_for_its_groove_and_one_in_its_floor(tmp_path: Path) -> None:
    order, solids = read_back(MACHINES["groove"](), tmp_path)
    machine = machine_assembly(order, solids)
    (task,) = machine.rollers
    tight = replace(machine, rollers=(replace(task, radius_mm=5.2),))
    (fault,) = prove_assembly(tight).faults
    assert fault.by_mm == pytest.approx(0.2, abs=0.005)
    low = replace(task.follower, bottom_mm=task.follower.bottom_mm - 1.0)
    bodies = tuple(low if body.name == low.name else body for body in machine.bodies)
    sunk = replace(machine, bodies=bodies, rollers=(replace(task, follower=low),))
    fault = prove_assembly(sunk).faults[0]
    assert fault.what.startswith("A1 roller goes into A1 disc by 0.70 mm")  # 1 mm less the gap of 0.3 mm


def chained(clearance_mm: float = 0.1) -> Project:
    """Three discs on a round shaft whose dogs enter one another, with spacers."""
    lane = one_sided(follower=ROLLER).lanes[0]
    lanes = [replaced(lane, id=f"lane_{n}", name=f"Lane {n}", station_deg=120.0 * n) for n in range(3)]
    dogs = Dogs(count=3, radius_mm=10.0, width_mm=4.0, height_mm=2.0, clearance_mm=clearance_mm)
    stack = Stack(id="main", dogs=dogs, keying="chain", spacer_radius_mm=15.0)
    project = one_sided(follower=ROLLER)
    disc = Disc(base_radius_mm=24.0)
    discs = tuple(replaced(one, disc=disc, code=None) for one in lanes)
    assert all(isinstance(one, Lane) for one in discs)
    return replaced(project, stacks=(stack,), lanes=with_codes(discs))


def test_pegs_of_one_file_are_fitted_into_the_pockets_of_the_next(tmp_path: Path) -> None:
    order, solids = read_back(chained(), tmp_path)
    joints = assembly_joints(order, solids, ())
    assert [joint.part for joint in joints] == ["SPACER", "A2", "SPACER", "A3"]
    # An outside value: a peg with 0.1 mm to each side on a circle of 10 mm turns by 0.1 / 10 rad.
    assert all(joint.play_deg == pytest.approx((0.573, 0.573), abs=0.02) for joint in joints)
    assert not any(joint.found for joint in joints)
    assert prove_assembly(machine_assembly(order, solids), joints).holds


def test_pegs_turned_in_one_file_do_not_go_into_the_next(tmp_path: Path) -> None:
    order, solids = read_back(chained(), tmp_path)
    corners = solids["A1"].corners.copy()
    pegs = corners[..., 2] > 5.0 - 1e-6
    radius = np.hypot(corners[..., 0], corners[..., 1])
    moved = pegs & (radius > 7.0) & (radius < 13.0)
    place = (corners[..., 0] + 1j * corners[..., 1]) * np.exp(1j * np.radians(2.0))
    corners[..., 0] = np.where(moved, place.real, corners[..., 0])
    corners[..., 1] = np.where(moved, place.imag, corners[..., 1])
    wrong = solids | {"A1": SolidPart(corners, "A1")}
    joints = assembly_joints(order, wrong, ())
    found = prove_assembly(machine_assembly(order, wrong), joints)
    said = [fault.what for fault in found.faults]
    # 2° at 10.2 mm, the ends of the long dog, are 0.36 mm; 0.1 mm of it is clearance.
    assert "A1 disc goes into spacer 1 of main by 0.26 mm" in said
    assert "SPACER: it does not fit on the dogs of its neighbour at its zero mark" in said
