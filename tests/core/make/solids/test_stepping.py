"""Driver and wheel of Geneva stages: nothing meets, the lock holds, and the assembly is proved."""

from __future__ import annotations

import cmath
import math
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import shapely
from shapely import affinity

from shaftscore.layout.stacks import spacer_count, step_placements
from shaftscore.layout.stepping import StepStage, step_stages
from shaftscore.make.assembly.layout import other_parts
from shaftscore.make.assembly.machine import machine_assembly
from shaftscore.make.assembly.proof import prove_assembly
from shaftscore.make.solids.stepping import driver_part, lock_path, wheel_path
from tests.core.make.assembly.reading import read_back
from tests.stage_machine import stage_machine

CHORD_MM = 1e-4


def _stage(slots: int, centre_mm: float) -> StepStage:
    return step_stages(stage_machine(slots=slots, centre_distance_mm=centre_mm))[0]


def _area(path: Any) -> Any:
    return shapely.Polygon(path.flattened(CHORD_MM))


def _at(wheel: Any, stage: StepStage, crank_rad: float, beyond_rad: float = 0.0) -> Any:
    """Return the wheel with the pin at an angle from the line of centres, the driver's axis at 0.

    Its slot is where the pin is, seen from its axis: by the figure, not by a formula of the program.
    """
    c, a = stage.shape.centre_mm, stage.shape.crank_mm
    half = stage.shape.half_moving_rad
    inside = min(max(crank_rad, -half), half)
    slot = cmath.phase(a * cmath.exp(1j * inside) - c)
    turned = affinity.rotate(wheel, slot - math.pi / stage.shape.slots + beyond_rad, (0, 0), use_radians=True)
    return affinity.translate(turned, c, 0.0)


@pytest.mark.parametrize(("slots", "centre_mm"), [(4, 60.0), (6, 60.0), (10, 72.0)])
def test_pin_and_locking_disc_never_meet_the_wheel_and_lock_it_between_steps(
    slots: int, centre_mm: float
) -> None:
    stage = _stage(slots, centre_mm)
    shape, wheel = stage.shape, _area(wheel_path(stage.shape))
    lock = _area(lock_path(stage, 0.0))
    pin = shapely.Point(shape.crank_mm, 0).buffer(shape.pin_mm / 2, quad_segs=400)
    gaps = []
    for crank in np.radians(np.arange(-180.0, 180.0, 3.0)):
        own = affinity.rotate(_at(wheel, stage, crank), -crank, (0, 0), use_radians=True)
        assert own.intersection(lock).area < 1e-3
        gaps.append((abs(crank) < shape.half_moving_rad, own.distance(pin)))
    in_slot = [gap for inside, gap in gaps if inside]
    assert min(in_slot) == pytest.approx(0.1, abs=2e-3)  # the clearance of the slot, by its record
    assert min(gap for _, gap in gaps) == pytest.approx(0.1, abs=2e-3)
    still = affinity.rotate(lock, math.pi, (0, 0), use_radians=True)
    play = math.radians(shape.locked_play_deg)
    for way in (1, -1):
        free, held = (_at(wheel, stage, -math.pi, way * share * play) for share in (0.9, 1.2))
        assert not free.intersects(still.buffer(-1e-3))
        assert held.intersects(still.buffer(-1e-3))


def test_marks_pin_and_arc_are_where_the_records_say() -> None:
    """At its start angle the pin is at the mouth of a slot; at 0° the crossed arc faces the driver."""
    project = stage_machine()
    (stage,) = step_stages(project)
    driver, wheel = step_placements(project, stage)
    part = driver_part(project, stage)
    hole = complex(np.mean(part.holes[-1].flattened(0.01) @ np.array([1, 1j])))
    pose = driver.course(np.array([100.0]))
    at = complex(pose.points(hole)[0])
    assert abs(at) == pytest.approx(stage.shape.crank_mm, abs=1e-6)
    assert abs(at - stage.offset) == pytest.approx(stage.shape.wheel_mm, abs=1e-6)
    turned = wheel.course(np.array([0.0, 100.0, 172.0, 244.0, 460.0])).turn
    steps = np.degrees(np.angle(turned))
    assert steps == pytest.approx([0.0, 0.0, 18.0, 36.0, 36.0], abs=1e-9)  # against the clockwise driver


def test_the_stage_is_beyond_the_levers_and_both_parts_are_level() -> None:
    """Levers over discs of 5 mm reach 10 mm: a spacer of 6 mm lifts the driver, a collar the wheel."""
    project = stage_machine()
    (stage,) = step_stages(project)
    assert (stage.spacers, stage.driver_mm) == (1, 11.0)
    assert stage.wheel_mm == stage.driver_mm + stage.driver_high_mm
    assert spacer_count(project, project.stacks[0]) == 1


@pytest.mark.parametrize("end", ["top", "bottom"])
def test_the_assembly_of_a_stage_is_proved_through_a_step_and_a_turned_pin_is_found(
    end: str, tmp_path: Path
) -> None:
    project = stage_machine(end=end)
    order, solids = read_back(project, tmp_path)
    put = machine_assembly(order, solids, other_parts(order))
    found = prove_assembly(put, full=True)
    assert found.holds, found.faults
    assert {"DRIVER", "GENEVA"} <= {body.code for body in put.bodies}
    (tmp_path / "late").mkdir()
    late = other_parts(read_back(stage_machine(end=end, start_deg=110), tmp_path / "late")[0])
    said = prove_assembly(machine_assembly(order, solids, late)).faults
    assert any({"DRIVER", "GENEVA"} & set(fault.parts) for fault in said), said
