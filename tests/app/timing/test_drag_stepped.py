"""Dragging a block of a stepped stack: what was taken stays under the pointer, by the stage's closed form."""

from __future__ import annotations

from math import atan2, cos, degrees, pi, radians, sin

import pytest

from shaftscore.edits import BlockRef
from shaftscore.make.drawing.timing.hits import Grip
from shaftscore_app.timing.drag import Drag, DragHabits, Pointer, Press
from tests.stage_machine import stage_machine

TENTH = 0.0501
"""Without a grid a block stands at whole tenths of a degree."""

FREE = DragHabits(snapping=False, zones=False)
START_DEG, ENGAGED_DEG = 100.0, 144.0  # of ten slots: 180 - 360 / 10


def wheel_deg(driver_deg: float) -> float:
    """Return how far a wheel of ten slots has turned: atan2(s sin t, 1 - s cos t), s = sin(pi / 10)."""
    share, t = sin(pi / 10), radians(driver_deg - START_DEG - ENGAGED_DEG / 2)
    return degrees(atan2(share * sin(t), 1 - share * cos(t))) + 18.0


def held(at_deg: float, to_deg: float, cycle: int) -> float:
    project = stage_machine()
    drag = Drag(project, Press(BlockRef("b", 0), Grip.WHOLE, at_deg, 0.0), FREE, cycle=cycle)
    found = drag.move(Pointer(to_deg, 0.0, 60.0, 2.0, free=True))
    assert found is not None
    return found.moved_deg


@pytest.mark.parametrize("cycle", [1, 3])
def test_a_block_moves_with_the_stage_in_its_step(cycle: int) -> None:
    assert held(150.0, 200.0, cycle) == pytest.approx(wheel_deg(200.0) - wheel_deg(150.0), abs=TENTH)
    assert held(200.0, 160.0, cycle) == pytest.approx(wheel_deg(160.0) - wheel_deg(200.0), abs=TENTH)


def test_a_block_stands_still_while_its_stage_holds_the_stack() -> None:
    assert held(20.0, 90.0, 2) == 0.0
    assert held(20.0, 120.0, 2) == pytest.approx(wheel_deg(120.0), abs=TENTH)
