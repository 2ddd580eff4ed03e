from __future__ import annotations

import cmath
import math

import numpy as np
import pytest
from PySide6.QtCore import Qt

from app.main_window import MainWindow
from app.views.disc_scene import contact_at, shape_of, turned
from core.model import Project
from core.model.loader import read_project
from core.report import examine
from tests.app.machines import as_bytes, gates, gates_file


def _project(turn: str, station: float, offset: float, turns: int) -> Project:
    file = gates_file(stacks=[{"id": "main", "turns": turns}])
    file["shaft"]["turn"] = turn
    for lane in file["lanes"]:
        lane["station_deg"] = station
        lane["follower"]["offset_mm"] = offset
    return read_project(as_bytes(file), "gates.shaft")


@pytest.mark.parametrize("turn", ["clockwise", "counterclockwise"])
@pytest.mark.parametrize(("station", "offset", "turns"), [(0.0, 0.0, 1), (120.0, 6.0, 1), (200.0, -6.0, 3)])
def test_the_roller_as_drawn_touches_the_disc_as_drawn(
    turn: str, station: float, offset: float, turns: int
) -> None:
    """An identity: the roller's centre stays one roller radius from the drawn outline at every angle."""
    project = _project(turn, station, offset, turns)
    solution = examine(project, late=False).solution.lanes["flap"]
    profile = solution.profile
    assert profile is not None
    shape = shape_of(project, "flap", profile)
    for own in np.linspace(0, 360, 37)[:-1]:
        contact = contact_at(profile, float(own))
        outline = shape.outline * turned(profile, float(own))
        assert _distance(contact.centre, outline) == pytest.approx(5.0, abs=0.05)
        assert _distance(contact.touch, outline) == pytest.approx(0.0, abs=0.05)


def _distance(point: complex, polygon: np.ndarray) -> float:
    """Least distance of a point from a closed polygon."""
    edge = np.roll(polygon, -1) - polygon
    along = np.clip(((point - polygon) * edge.conj()).real / np.abs(edge) ** 2, 0, 1)
    return float(np.min(np.abs(polygon + along * edge - point)))


@pytest.mark.parametrize(("turn", "direction"), [("clockwise", -1), ("counterclockwise", 1)])
def test_the_disc_turns_the_way_the_shaft_does_and_the_follower_stays_at_its_station(
    turn: str, direction: int
) -> None:
    project = _project(turn, 120.0, 0.0, 1)
    profile = examine(project, late=False).solution.lanes["flap"].profile
    assert profile is not None
    assert cmath.phase(turned(profile, 10.0)) == pytest.approx(direction * math.radians(10.0))
    assert turned(profile, 0.0) == pytest.approx(1 + 0j)  # at 0 the zero mark is on the reference line
    for own in (0.0, 77.0, 293.0):
        contact = contact_at(profile, own)
        assert math.degrees(cmath.phase(contact.centre)) == pytest.approx(120.0, abs=1e-6)
        lean = abs(math.degrees(cmath.phase(contact.normal / contact.travel)))
        assert lean == pytest.approx(abs(contact.pressure_deg), abs=1e-9)


def test_levels_are_circles_of_the_radii_at_which_they_are_held() -> None:
    """A radial follower on a dwell touches at base radius plus lift."""
    project = gates()
    profile = examine(project, late=False).solution.lanes["flap"].profile
    assert profile is not None
    levels = shape_of(project, "flap", profile).levels
    assert [level.name for level in levels] == ["shut", "cup", "tray"]
    base = profile.base_radius_mm
    assert [level.radius_mm for level in levels] == pytest.approx([base, base + 8.0, base + 16.0])
    assert contact_at(profile, 170.0).radius_mm == pytest.approx(base + 8.0)


def test_the_view_follows_the_selection_unless_it_is_pinned(qtbot, window: MainWindow) -> None:
    disc, document = window.disc, window.document
    document.select_lane("flap")
    assert disc.chooser.text() == "A3 Flap"
    qtbot.mouseClick(disc.pin, Qt.MouseButton.LeftButton)
    document.select_lane("left")
    assert (disc.lane_id, disc._pin_word.text()) == ("flap", "Pinned")
    qtbot.mouseClick(disc.pin, Qt.MouseButton.LeftButton)
    assert disc.lane_id == "left"


def test_a_pinned_lane_that_is_deleted_lets_go(qtbot, window: MainWindow) -> None:
    from core.edits import delete_lane

    window.disc.show_lane("flap", pinned=True)
    window.document.perform(delete_lane(window.document.committed, "flap"))
    assert window.disc.lane_id in window.document.project.lane_index


def test_figures_follow_the_cursor(window: MainWindow) -> None:
    window.document.select_lane("flap")
    profile = window.document.report.solution.lanes["flap"].profile
    assert profile is not None
    window.document.set_cursor(170.0)
    figures = {name: label.text() for name, label in window.disc._figures.items()}
    assert figures["Lift"] == "8.00 mm"
    assert figures["Radius"] == f"{profile.base_radius_mm + 8.0:.2f} mm"
    window.document.set_cursor(45.0)
    assert window.disc._figures["Lift"].text() != "8.00 mm"


def test_a_lane_without_a_disc_says_why(qtbot, window: MainWindow) -> None:
    from core.edits import place_block

    document = window.document
    from core.edits import BlockRef

    document.perform(place_block(document.committed, BlockRef("left", 0), 200.0, neighbours="stay"))
    document.select_lane("left")
    assert document.report.solution.lanes["left"].motion is None
    assert window.disc.canvas.contact is None
    assert window.disc._figures["Lift"].text() == "–"
    assert not window.disc.canvas.grab().isNull()


@pytest.mark.parametrize("choice", ["light", "dark"])
def test_the_drawing_has_disc_normal_and_finding(window: MainWindow, choice: str) -> None:
    window.theme.set_choice(choice)
    window.document.select_lane("flap")
    window.document.set_cursor(294.0)
    image = window.disc.canvas.grab().toImage()
    inks = {image.pixelColor(x, y).name() for x in range(image.width()) for y in range(image.height())}
    for token in ("material", "accent", "error", "panel"):
        assert window.theme.color(token).name() in inks, token
