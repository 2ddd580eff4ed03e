"""Gears with counted teeth as parts: nothing meets, teeth and notch carry the wheel through each step."""

from __future__ import annotations

import math
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import shapely
from shapely import affinity

from shaftscore.layout.stepping import CountedStepStage, StepStage, step_stages
from shaftscore.make.assembly.layout import other_parts
from shaftscore.make.assembly.machine import machine_assembly
from shaftscore.make.assembly.proof import prove_assembly
from shaftscore.make.solids.counted import lock_path, plate_path, teeth_path, wheel_teeth_path
from tests.core.make.assembly.reading import read_back
from tests.stage_machine import counted_machine

CHORD_MM = 1e-3
TOUCHING_MM2 = 0.02
SIZES: list[dict[str, object]] = [
    {},
    {"teeth": 24, "counted": 8, "driven_teeth": 16, "module_mm": 3.6},
    {"teeth": 20, "counted": 3, "driven_teeth": 60, "module_mm": 1.8},
]


def _stage(steps: dict[str, object]) -> CountedStepStage:
    (stage,) = step_stages(counted_machine(**steps))
    assert isinstance(stage, CountedStepStage)
    return stage


def _area(path: Any) -> Any:
    return shapely.Polygon(path.flattened(CHORD_MM))


def _turned(area: Any, degrees: float) -> Any:
    return affinity.rotate(area, degrees, (0, 0))


class _Meeting:
    """Driver and wheel at angles of the driver from the beginning of a step: by the counts of teeth alone."""

    def __init__(self, stage: StepStage) -> None:
        steps, shape = stage.steps, stage.shape
        assert steps.kind == "counted-gear"
        self.engaged = 360.0 * steps.counted / steps.teeth
        self.step = 360.0 * steps.counted / steps.driven_teeth
        self.centre = steps.module_mm * (steps.teeth + steps.driven_teeth) / 2
        layers = (teeth_path, wheel_teeth_path), (lock_path, plate_path)
        self.layers = [(_area(own(shape)), _area(mate(shape))) for own, mate in layers]

    def overlap(self, driver_deg: float, beyond_deg: float = 0.0) -> float:
        """Return the area that both share; the wheel is turned on beyond its place."""
        share = min(max(driver_deg / self.engaged, 0.0), 1.0)
        found = 0.0
        for own, mate in self.layers:
            wheel = affinity.translate(_turned(mate, -share * self.step - beyond_deg), self.centre)
            found += _turned(own, driver_deg).intersection(wheel).area
        return found

    def free(self, driver_deg: float, way: int) -> float:
        """Return how far the wheel turns on, or back, until it meets the driver, degrees; 8 at most."""
        tries = np.arange(0.25, 8.0, 0.25)
        return next((float(by) for by in tries if self.overlap(driver_deg, way * by) > 4 * TOUCHING_MM2), 8.0)


@pytest.mark.parametrize("steps", SIZES)
def test_driver_and_wheel_never_meet_and_the_wheel_is_carried_through_the_step(
    steps: dict[str, object],
) -> None:
    """A wheel that could turn back by half a pitch of its teeth would be left behind in its step."""
    stage = _stage(steps)
    meeting = _Meeting(stage)
    assert abs(stage.offset) == pytest.approx(meeting.centre)
    for angle in np.arange(-90.0, meeting.engaged + 90.0, 3.0):
        assert meeting.overlap(float(angle)) < TOUCHING_MM2, angle
    half_pitch = 180.0 / stage.steps.driven_teeth
    for share in np.linspace(0.0, 1.0, 9):
        for way in (1, -1):
            assert meeting.free(share * meeting.engaged, way) < half_pitch, (share, way)


def test_the_locked_wheel_has_the_play_of_its_corners() -> None:
    """Half a turn from the step: clearance 0.15 mm over c sin(beta), both by the figure of the plate."""
    stage = _stage({})
    meeting, shape = _Meeting(stage), stage.shape
    plate = meeting.layers[1][1]
    corners = np.asarray(plate.exterior.coords)
    tips = corners[np.hypot(*corners.T) > shape.plate_tip_mm - 1e-4]
    side = min(abs(y) for x, y in tips if x < 0)  # of the arc that faces the driver, from the line of centres
    play = math.degrees(0.15 / side * shape.arc_mm / meeting.centre)
    assert shape.locked_play_deg == pytest.approx(play, rel=1e-3)
    for way in (1, -1):
        assert meeting.overlap(198.0, way * 0.9 * play) < 1e-3
        assert meeting.overlap(198.0, way * 1.3 * play) > 1e-3


@pytest.mark.parametrize(("end", "turn"), [("top", "clockwise"), ("bottom", "counterclockwise")])
def test_the_assembly_is_proved_through_a_step_and_a_turned_driver_is_found(
    end: str, turn: str, tmp_path: Path
) -> None:
    order, solids = read_back(counted_machine(end=end, turn=turn), tmp_path)
    put = machine_assembly(order, solids, other_parts(order))
    found = prove_assembly(put, full=True)
    assert found.holds, found.faults
    assert {"DRIVER", "STEPPED"} <= {body.code for body in put.bodies}
    (tmp_path / "late").mkdir()
    turned = counted_machine(end=end, turn=turn, start_deg=105)
    late = other_parts(read_back(turned, tmp_path / "late")[0])
    said = prove_assembly(machine_assembly(order, solids, late)).faults
    assert any({"DRIVER", "STEPPED"} == set(fault.parts) for fault in said), said
