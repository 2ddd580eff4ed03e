"""What turns beside the discs in the Stack view: hub, driver and wheel of a stage, at angles of a counter."""

from __future__ import annotations

import numpy as np
import pytest

from shaftscore.layout.stepping import step_stages
from shaftscore.model import Hub, replaced
from shaftscore.solution import solve
from shaftscore_app.views.stack_scene import scene_of
from tests.app.test_stack_view import is_closed
from tests.stage_machine import counted_machine, stage_machine


def test_driver_wheel_and_pin_of_a_stage_stand_on_their_stacks_and_mesh_as_they_turn() -> None:
    """Amid its step the pin of the driver is in a slot of the wheel: both drawn, at angles of a counter."""
    project = stage_machine()
    solution = solve(project)
    ones, tens = project.stacks
    stage = step_stages(project)[0]
    shown = scene_of(project, solution, ones)
    own = [body for body in shown.turning if body.kind == "drive"]
    assert len(own) == 4  # a spacer under the driver, its plate, its locking disc, its pin
    assert all(is_closed(body) for body in own)
    mate = [one for one, _ in shown.mates]
    assert mate
    assert {one.stack_id for _, one in shown.mates} == {"tens"}
    middle = stage.steps.start_deg + 72.0  # half of the 144 degrees of ten slots
    (pin,) = (body for body in own if np.ptp(body.triangles[..., 0]) < 5.0)
    ring = pin.lines[:, 0]
    at = np.exp(1j * np.radians(shown.turn_deg(middle))) * np.mean(ring[:, 0] + 1j * ring[:, 1])
    wheel = shown.meshing({"tens": 18.0})[0]
    flat = wheel.lines[:, 0, 0] + 1j * wheel.lines[:, 0, 1]
    assert abs(at - stage.offset) == pytest.approx(stage.shape.end_mm, abs=0.1)
    assert np.abs(flat - at).min() == pytest.approx(2.1, abs=0.1)  # half the pin and the clearance
    driven = scene_of(project, solution, tens)
    assert {one.stack_id for _, one in driven.mates} == {"ones"}
    again = scene_of(project, solution, ones, shown)
    assert again.drive is shown.drive


def test_the_hub_is_below_its_stack() -> None:
    plain = stage_machine()
    ones = replaced(plain.stacks[0], hub=Hub(kind="clamp"))
    project = replaced(plain, stacks=(ones, *plain.stacks[1:]))
    shown = scene_of(project, solve(project), ones)
    hub = [body for body in shown.turning if body.kind == "drive" and body.layer == -1]
    assert hub
    assert max(body.triangles[..., 2].max() for body in hub) == pytest.approx(0.0, abs=2.5)


def test_counted_teeth_and_their_wheel_are_shown() -> None:
    project = counted_machine()
    shown = scene_of(project, solve(project), project.stacks[1])
    assert max(np.ptp(body.triangles[..., 0]) for body, _ in shown.mates) > 60.0  # the locking disc
    assert any(body.kind == "drive" and len(body.lines) > 200 for body in shown.turning)  # the teeth
