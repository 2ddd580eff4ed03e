"""Riders in the timing diagram: scaled, named and read out by the levels of their disc's lane."""

from __future__ import annotations

import pytest

from shaftscore.judge.report import examine
from shaftscore.make.drawing.timing.axis import Axis
from shaftscore.make.drawing.timing.frame import Frame
from shaftscore.make.drawing.timing.rows import Shown, lay_out
from shaftscore.model import Lane, Project
from shaftscore_app.document.selection import Selection
from shaftscore_app.timing.layers.headers import header_of
from shaftscore_app.timing.layers.readouts import readout_of
from shaftscore_app.timing.scene import DiagramScene
from shaftscore_app.timing.tags import spoken_lane
from tests.machines import gate, machine

SHEET_WIDTH = 1120.0
"""Over the least width at which headers name the levels."""


def ridden() -> Project:
    """A gate open from 100 to 120, and a rider on its disc, a quarter turn later: open from 190 to 210."""
    rider = Lane(id="rider", name="Rider", kind="rider", disc_of="a", station_deg=-90.0)
    return machine(gate("A", 100, 120), rider)


def seen(project: Project, cursor_deg: float) -> DiagramScene:
    """The whole turn on a wide sheet, the cursor at an angle."""
    rows = lay_out(project, Shown({}, frozenset(), frozenset()))
    frame = Frame(SHEET_WIDTH, 600.0, Axis.whole(200.0, SHEET_WIDTH - 400.0), rows, 0.0, 1.0)
    return DiagramScene(frame, project, examine(project), Selection(), cursor_deg)


@pytest.mark.parametrize(
    ("cursor_deg", "read"),
    [
        (200.0, ("10.0 mm", "open")),
        (110.0, ("0.0 mm", "closed")),
        (178.0, ("5.0 mm", "\u2197 open")),
        (222.0, ("5.0 mm", "\u2198 closed")),
    ],
)
def test_a_rider_is_read_out_by_its_disc_s_levels_later(cursor_deg: float, read: tuple[str, str]) -> None:
    readout = readout_of(seen(ridden(), cursor_deg), "rider")
    assert (readout.output, readout.state) == read


def test_a_rider_s_strip_is_that_of_its_disc_s_lane() -> None:
    scene = seen(ridden(), 0.0)
    strips = [scene.strip(name) for name in ("a", "rider")]
    assert [strip.highest_mm for strip in strips if strip is not None] == [10.0, 10.0]
    assert len({strip.height for strip in strips if strip is not None}) == 1


def test_a_rider_s_header_and_spoken_text_name_its_levels() -> None:
    project = ridden()
    assert [level.name for level in header_of(seen(project, 0.0), "rider").levels] == ["closed", "open"]
    assert "closed 0 millimetres, open 10 millimetres" in spoken_lane(examine(project), "rider")
