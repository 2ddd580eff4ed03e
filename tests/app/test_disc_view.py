from __future__ import annotations

import cmath
import math

import numpy as np
import pytest
from PySide6.QtCore import Qt
from PySide6.QtGui import QGuiApplication

from shaftscore.judge.report import QUICK, examine
from shaftscore.model import Project
from shaftscore.model.loader import read_project
from shaftscore_app.frame.main_window import MainWindow
from shaftscore_app.views.disc import DiscView
from shaftscore_app.views.disc_lean import steep_stretches
from shaftscore_app.views.disc_scene import contact_at, shape_of, turned
from tests.app.machines import as_bytes, gates, gates_file


def _project(turn: str, station: float, offset: float, turns: int, base: float | str = "auto") -> Project:
    file = gates_file(stacks=[{"id": "main", "turns": turns}])
    file["shaft"]["turn"] = turn
    for lane in file["lanes"]:
        lane["station_deg"] = station
        lane["follower"]["offset_mm"] = offset
        lane["disc"] = {"base_radius_mm": base}
    return read_project(as_bytes(file), "gates.shaft")


@pytest.mark.parametrize("turn", ["clockwise", "counterclockwise"])
@pytest.mark.parametrize(("station", "offset", "turns"), [(0.0, 0.0, 1), (120.0, 6.0, 1), (200.0, -6.0, 3)])
def test_the_roller_as_drawn_touches_the_disc_as_drawn(
    turn: str, station: float, offset: float, turns: int
) -> None:
    """An identity: the roller's centre stays one roller radius from the drawn outline at every angle."""
    project = _project(turn, station, offset, turns)
    solution = examine(project, stage=QUICK).solution.lanes["flap"]
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
    profile = examine(project, stage=QUICK).solution.lanes["flap"].profile
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
    profile = examine(project, stage=QUICK).solution.lanes["flap"].profile
    assert profile is not None
    levels = shape_of(project, "flap", profile).levels
    assert [level.name for level in levels] == ["shut", "cup", "tray"]
    base = profile.base_radius_mm
    assert [level.radius_mm for level in levels] == pytest.approx([base, base + 8.0, base + 16.0])
    assert contact_at(profile, 170.0).radius_mm == pytest.approx(base + 8.0)


def test_the_view_follows_the_selection_unless_it_is_pinned(qtbot, window: MainWindow) -> None:
    disc, document = window.docks.view(DiscView), window.document
    document.select_lane("flap")
    assert disc.chooser.text() == "A3 Flap"
    qtbot.mouseClick(disc.pin, Qt.MouseButton.LeftButton)
    document.select_lane("left")
    assert (disc.lane_id, disc._pin_word.text()) == ("flap", "Pinned")
    qtbot.mouseClick(disc.pin, Qt.MouseButton.LeftButton)
    assert disc.lane_id == "left"


def test_a_pinned_lane_that_is_deleted_lets_go(qtbot, window: MainWindow) -> None:
    from shaftscore.edits import delete_lane

    window.docks.view(DiscView).show_lane("flap", pinned=True)
    window.document.perform(delete_lane(window.document.committed, "flap"))
    assert window.docks.view(DiscView).lane_id in window.document.project.lane_index


def test_figures_follow_the_cursor(window: MainWindow) -> None:
    window.document.select_lane("flap")
    profile = window.document.report.solution.lanes["flap"].profile
    assert profile is not None
    window.document.set_cursor(170.0)
    figures = {name: label.text() for name, label in window.docks.view(DiscView)._figures.items()}
    assert figures["Lift"] == "8.00 mm"
    assert figures["Radius"] == f"{profile.base_radius_mm + 8.0:.2f} mm"
    window.document.set_cursor(45.0)
    assert window.docks.view(DiscView)._figures["Lift"].text() != "8.00 mm"


def test_a_lane_without_a_disc_says_why(qtbot, window: MainWindow) -> None:
    from shaftscore.edits import place_block

    document = window.document
    from shaftscore.edits import BlockRef

    document.perform(place_block(document.committed, BlockRef("left", 0), 200.0, neighbours="stay"))
    document.select_lane("left")
    assert document.report.solution.lanes["left"].motion is None
    assert window.docks.view(DiscView).canvas.contact is None
    assert window.docks.view(DiscView)._figures["Lift"].text() == "–"
    assert not window.docks.view(DiscView).canvas.grab().isNull()


@pytest.mark.parametrize("choice", ["light", "dark"])
def test_the_drawing_has_disc_normal_and_finding(window: MainWindow, choice: str) -> None:
    window.theme.set_choice(choice)
    window.document.select_lane("flap")
    window.document.set_cursor(294.0)
    image = window.docks.view(DiscView).canvas.grab().toImage()
    inks = {image.pixelColor(x, y).name() for x in range(image.width()) for y in range(image.height())}
    for token in ("material", "accent", "error", "panel"):
        assert window.theme.color(token).name() in inks, token


@pytest.mark.parametrize("turn", ["clockwise", "counterclockwise"])
@pytest.mark.parametrize("offset", [0.0, 6.0, -6.0])
def test_the_wedge_is_the_moves_limit_and_is_passed_where_the_finding_says(turn: str, offset: float) -> None:
    project = _project(turn, 120.0, offset, 1, base=12.0)
    report = examine(project, stage=QUICK)
    profile = report.solution.lanes["flap"].profile
    assert profile is not None
    assert profile.limits.rise_deg != profile.limits.fall_deg
    found = [f for f in report.findings if f.rule == "pressure-angle" and f.lanes == ("flap",)]
    assert found
    for finding in found:
        assert finding.span is not None
        start, length = finding.span.start, finding.span.length
        for share in (0.02, 0.5, 0.98):
            lean = contact_at(profile, start + share * length).lean
            assert lean is not None
            assert lean.is_over
            assert lean.clockwise == lean.counterclockwise == lean.limit_deg == finding.limit
        before = contact_at(profile, start - 0.1).lean
        assert before is not None
        assert not before.is_over


@pytest.mark.parametrize(("turn", "sides"), [("clockwise", (30.0, 45.0)), ("counterclockwise", (45.0, 30.0))])
def test_at_rest_each_side_has_the_limit_of_the_move_that_leans_there(
    turn: str, sides: tuple[float, float]
) -> None:
    profile = examine(_project(turn, 0.0, 0.0, 1), stage=QUICK).solution.lanes["flap"].profile
    assert profile is not None
    lean = contact_at(profile, 170.0).lean
    assert lean is not None
    assert (lean.clockwise, lean.counterclockwise) == sides
    rise = contact_at(profile, 45.0)
    assert rise.pressure_deg > 0
    assert cmath.phase(rise.normal / rise.travel) * (1 if turn == "counterclockwise" else -1) > 0


def test_steep_stretches_are_those_of_dense_samples() -> None:
    """Against 36,000 samples of the turn: the same share of it is over the limit, in as many stretches."""
    profile = examine(_project("clockwise", 0.0, 6.0, 1, 12.0), stage=QUICK).solution.lanes["flap"].profile
    assert profile is not None
    theta = np.arange(0.0, 360.0, 0.01)
    at = profile.at(theta)
    limit = np.where(at.lift[1] > 0, profile.limits.rise_deg, profile.limits.fall_deg)
    above = (np.abs(at.pressure_deg) > limit) & (at.lift[1] != 0)
    assert np.any(above)
    starts = int(np.sum(above & ~np.roll(above, 1)))
    stretches = steep_stretches(profile)
    assert len(stretches) == starts
    length = sum(float(np.sum(np.abs(np.diff(points)))) for points in stretches)
    steps = np.abs(np.diff(at.profile, append=at.profile[:1]))
    assert length == pytest.approx(float(np.sum(steps[above])), rel=2e-3)


def test_a_gentle_disc_and_a_flat_face_pass_no_limit() -> None:
    file = gates_file()
    for lane in file["lanes"]:
        lane["follower"] = {"kind": "translating-flat", "face_width_mm": 30.0}
    profile = examine(read_project(as_bytes(file), "x"), stage=QUICK).solution.lanes["flap"].profile
    assert profile is not None
    assert contact_at(profile, 45.0).lean is None
    assert steep_stretches(profile) == ()


def test_copy_gives_the_lanes_table(window: MainWindow) -> None:
    window.document.select_lane("flap")
    window.docks.view(DiscView).copy()
    head, *rows = QGuiApplication.clipboard().text().splitlines()
    assert head.split("\t")[:2] == ["theta_deg", "s_mm"]
    assert len(rows) == 360
    assert rows[170].split("\t")[:2] == ["170", "8"]


def test_what_an_offset_does_is_said(make_window) -> None:
    window = make_window(_project("clockwise", 0.0, -6.0, 1))
    window.document.select_lane("flap")
    assert window.docks.view(DiscView).accessibleDescription().endswith(", the offset helps the rise")
    other = make_window(_project("clockwise", 0.0, 6.0, 1))
    assert (
        other.docks.view(DiscView)
        .accessibleDescription()
        .endswith(", the offset helps the fall, not the rise")
    )


def test_the_disc_is_said_in_one_line(window: MainWindow) -> None:
    window.document.select_lane("flap")
    said = window.docks.view(DiscView).accessibleDescription()
    assert said.startswith("Disc of Flap: base radius ")
    assert " of its stack, tightest radius " in said
