"""Where the axes of the drive are, by the triangle of their centre distances."""

from __future__ import annotations

import pytest

from shaftscore.layout.drive import PlacedStage, placed_stages
from shaftscore.layout.frame import machine_frame
from shaftscore.layout.frame_plan import FrameError
from shaftscore.model import Drive, MachineFrame, MotorPlace, Project, Stage, replaced
from shaftscore.solution import solve
from tests.samples import bare, sample

MOTOR = MotorPlace(
    x_mm=0.0, y_mm=0.0, face="below", pilot_mm=8.5, screw_circle_mm=17.0, screws=2, screw_mm=3.0
)
STAGE = Stage(driver_teeth=20, driven_teeth=40, kind="external", module_mm=1.0, face_mm=8.0, centre_mm=30.2)


def driven_from(x_mm: float, y_mm: float, *stages: Stage) -> Project:
    """Return the tea blender with a motor at a place, mm."""
    project = bare(sample("tea_blender"))
    assert project.drive is not None
    motor = replaced(MOTOR, x_mm=x_mm, y_mm=y_mm)
    drive = Drive(source=project.drive.source, stages=stages)
    return replaced(project, drive=drive, frame=MachineFrame(motor=motor))


def check_links(stages: tuple[PlacedStage, ...], motor: complex) -> None:
    assert stages[0].driven_at == 0
    assert stages[1].driven_at == stages[0].driver_at
    assert stages[1].driver_at == pytest.approx(motor)
    assert [abs(one.driver_at - one.driven_at) for one in stages] == pytest.approx([30.2, 30.2])


def test_two_stages_reach_the_motor() -> None:
    check_links(placed_stages(driven_from(12.0, -40.0, STAGE, STAGE)), 12 - 40j)


def test_two_equal_stages_lead_back_to_the_shaft() -> None:
    """A motor on the shaft's own axis: any direction does for the axle. The holes then meet."""
    project = driven_from(0.0, 0.0, STAGE, STAGE)
    check_links(placed_stages(project), 0j)
    with pytest.raises(FrameError, match=r"holes S .* and M .* run into one another"):
        machine_frame(solve(project))


def test_a_motor_out_of_reach_is_refused() -> None:
    with pytest.raises(ValueError, match=r"is 61\.0 mm from an axis; two stages reach 0\.0 to 60\.4 mm"):
        placed_stages(driven_from(0.0, 61.0, STAGE, STAGE))
