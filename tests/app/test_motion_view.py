from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from PySide6.QtGui import QFontMetricsF, QGuiApplication
from PySide6.QtWidgets import QApplication

from shaftscore.judge.loads import LaneLoads
from shaftscore.judge.report import QUICK, examine
from shaftscore.kinematics.motion.lane_motion import LaneMotion
from shaftscore.model.loader import read_project
from shaftscore_app.frame.main_window import MainWindow
from shaftscore_app.views.motion import MotionView
from shaftscore_app.views.motion_curves import UNITS, curves_of, release_of
from shaftscore_app.views.motion_plots import WORDS_PX, MotionPlots, _ranges, one_turn, ticks
from tests.app.machines import as_bytes, gates, gates_file


@pytest.mark.parametrize("turns", [1, 3])
def test_velocity_acceleration_and_jerk_are_derivatives_in_time(turns: int) -> None:
    """An identity: the central difference of each curve in time is the one below it.

    Output and derivatives are read from the motion a little before and after each node; nodes at the
    ends of pieces, where the jerk steps, are left out.
    """
    file = gates_file(stacks=[{"id": "main", "turns": turns}])
    solution = examine(read_project(as_bytes(file), "x"), stage=QUICK).solution.lanes["flap"]
    curves, motion = curves_of(solution), solution.motion
    assert curves is not None
    assert motion is not None
    step_s, deg_per_s = 1e-4, 36.0
    inner = (curves.theta_deg > 0) & (curves.theta_deg < 360)
    theta = np.array([deg for deg in curves.theta_deg[inner] if _is_smooth(motion, deg * turns)])
    assert len(theta) > 100
    nodes = np.searchsorted(curves.theta_deg, theta)
    sides = [motion.at((theta + way * step_s * deg_per_s) * turns) for way in (1, -1)]
    for order in range(3):
        scale = np.radians(deg_per_s * turns) ** order
        slope = (sides[0][order] - sides[1][order]) * scale / (2 * step_s)
        peak = np.max(np.abs(curves.values[order + 1]))
        assert np.max(np.abs(slope - curves.values[order + 1][nodes])) < 1e-3 * peak


def _is_smooth(motion: LaneMotion, deg: float) -> bool:
    """Whether the jerk does not step near an angle."""
    near = motion.at(np.array([deg - 0.02, deg, deg + 0.02]))[3]
    return bool(np.ptp(near) < 0.05 * max(1.0, np.max(np.abs(near))))


@pytest.mark.parametrize("turns", [1, 3])
def test_curves_cover_the_cycle_and_repeat_with_the_stack(turns: int) -> None:
    file = gates_file(stacks=[{"id": "main", "turns": turns}])
    curves = curves_of(examine(read_project(as_bytes(file), "x"), stage=QUICK).solution.lanes["flap"])
    assert curves is not None
    theta = curves.theta_deg
    assert np.all(np.diff(theta) >= 0)
    assert theta[0] <= 0.0
    assert theta[-1] >= 360.0
    at = np.linspace(1.0, 300.0 / turns, 50)
    for turn in range(turns):
        again = np.interp(at + 360.0 * turn / turns, theta, curves.values[0])
        assert again == pytest.approx(np.interp(at, theta, curves.values[0]), abs=1e-6)


def test_peaks_are_the_largest_values_with_their_sign() -> None:
    curves = curves_of(examine(gates(), stage=QUICK).solution.lanes["flap"])
    assert curves is not None
    for (deg, value), values in zip(curves.peaks, curves.values[1:], strict=True):
        assert abs(value) == pytest.approx(np.max(np.abs(values)), rel=1e-3)
        near = np.abs(curves.theta_deg - deg) < 1.0
        assert np.min(np.abs(values[near] - value)) < 0.02 * abs(value)


@pytest.fixture
def window(qtbot, window: MainWindow) -> MainWindow:
    """Bring the view to the front."""
    window.docks.show("motion")
    qtbot.waitUntil(lambda: bool(window.docks.view(MotionView).shown))
    return window


def test_the_view_shows_the_selected_lane_and_its_cursor(window: MainWindow) -> None:
    document, motion = window.document, window.docks.view(MotionView)
    document.select_lane("flap")
    assert motion.chooser.text() == "A3 Flap"
    shown = curves_of(document.report.solution.lanes["flap"])
    assert shown is not None
    (lane,) = motion.shown
    assert np.array_equal(lane.curves.values, shown.values)
    document.set_cursor(123.0)
    assert motion._plots.shown() == 123.0
    motion._plots.moved.emit(45.0)
    assert document.cursor_deg == 45.0
    assert motion.accessibleDescription().startswith("A3 Flap: peak velocity ")


def test_a_lane_without_motion_says_why(qtbot, window: MainWindow) -> None:
    from shaftscore.edits import BlockRef, place_block

    document = window.document
    document.perform(place_block(document.committed, BlockRef("left", 0), 200.0, neighbours="stay"))
    document.select_lane("left")
    assert window.docks.view(MotionView).shown == ()
    assert window.docks.view(MotionView).empty.text().startswith("No motion: ")
    document.undo()
    assert len(window.docks.view(MotionView).shown) == 1


def test_what_is_held_follows(qtbot, window: MainWindow) -> None:
    from shaftscore.edits import BlockRef, place_block

    document = window.document
    document.select_lane("right")
    before = window.docks.view(MotionView).shown[0].curves
    document.preview(place_block(document.committed, BlockRef("right", 0), 200.0))
    qtbot.waitUntil(lambda: window.docks.view(MotionView).shown[0].curves is not before)
    document.preview(None)


def test_copy_gives_a_table(window: MainWindow) -> None:
    window.document.select_lane("flap")
    window.docks.view(MotionView).copy()
    head, *rows = QGuiApplication.clipboard().text().splitlines()
    assert head.split("\t") == ["theta_deg", "s_mm", "v_mm_s", "a_mm_s2", "j_mm_s3"]
    table = np.array([[float(cell) for cell in row.split("\t")] for row in rows])
    assert table[:, 0].min() >= 0.0
    assert table[:, 0].max() <= 360.0
    assert table[:, 1].max() == pytest.approx(16.0)


def test_lanes_of_the_selection_are_shown_together(window: MainWindow) -> None:
    from shaftscore.edits import BlockRef

    document, motion = window.document, window.docks.view(MotionView)
    document.select_blocks(BlockRef("flap", 1), BlockRef("left", 0))
    assert [lane.lane_id for lane in motion.shown] == ["left", "flap"]
    assert motion.chooser.text() == "2 lanes"
    assert motion.legend.accessibleName() == "A1 Left, A3 Flap"
    plots = motion._plots
    drawn = [[item.isVisible() for item in items] for items in plots._lines]
    assert drawn == [[True, True, False, False, False, False]] * 4
    for lane, item in zip(motion.shown, plots._lines[1], strict=False):
        assert np.array_equal(item.getData()[1], one_turn(lane.curves.theta_deg, lane.curves.values[1])[1])
    peaks = [lane.curves.peaks[0] for lane in motion.shown]
    assert list(zip(*plots._marks[0].getData(), strict=True)) == peaks
    low, high = plots._plots[0].viewRange()[1]
    assert low < 0.0
    assert high > 16.0  # the flap's highest level, above both gates' 10 mm
    motion.copy()
    head, *rows = QGuiApplication.clipboard().text().splitlines()
    assert head.split("\t")[:2] == ["lane", "theta_deg"]
    assert list(dict.fromkeys(row.split("\t")[0] for row in rows)) == ["A1 Left", "A3 Flap"]


def test_chosen_lanes_stay_whatever_is_selected(window: MainWindow) -> None:
    document, motion = window.document, window.docks.view(MotionView)
    document.select_lane("flap")
    menu = motion.menu()
    follow, *lanes = [action for action in menu.actions() if not action.isSeparator()]
    assert [action.isChecked() for action in (follow, *lanes)] == [True, False, False, True]
    lanes[0].trigger()
    document.select_lane("right")
    assert [lane.lane_id for lane in motion.shown] == ["left", "flap"]
    follow.trigger()
    assert [lane.lane_id for lane in motion.shown] == ["right"]


def _loaded_file(at: str = "roller", **follower: object) -> dict[str, Any]:
    file = gates_file()
    lane = file["lanes"][2]
    lane["load"] = {
        "moving_mass_g": 400.0,
        "spring_preload_n": 0.5,
        "spring_rate_n_per_mm": 0.02,
        "friction_n": 0.1,
        "at": at,
    }
    lane["follower"] |= follower
    return file


@pytest.mark.parametrize(
    ("at", "follower"),
    [
        ("roller", {}),
        ("roller", {"output_ratio": 2.0}),
        ("output", {"output_ratio": 2.0}),
        ("roller", {"link": [{"roller_mm": r, "output_mm": o} for r, o in ((0, 0), (5, 7), (12, 20))]}),
    ],
)
def test_at_the_speed_of_float_the_acceleration_just_reaches_where_contact_is_lost(
    at: str, follower: dict[str, Any]
) -> None:
    """An identity between two ways to say the same: speed squared by force, and acceleration by force."""
    file = _loaded_file(at, **follower)
    limit = _flap_loads(file).float_speed
    assert limit is not None
    file["shaft"]["speed_rpm"] = limit.value
    release = release_of(_flap_loads(file))
    assert release is not None
    deg, own, lost = release.slack
    assert own == pytest.approx(lost, rel=1e-3)
    assert deg == pytest.approx(limit.theta_deg, abs=0.5)
    assert np.min(release.limit) < 0


def _flap_loads(file: dict[str, Any]) -> LaneLoads:
    loads = examine(read_project(as_bytes(file), "x"), stage=QUICK).loads
    assert loads is not None
    return loads.lanes["flap"]


def test_a_groove_never_loses_contact() -> None:
    assert release_of(_flap_loads(_loaded_file(closure="groove"))) is None


@pytest.mark.parametrize(("rpm", "is_drawn"), [(6.0, False), (120.0, True)])
def test_where_contact_is_lost_is_drawn_once_it_is_within_reach(
    qtbot, make_window, rpm: float, is_drawn: bool
) -> None:
    file = _loaded_file()
    file["shaft"]["speed_rpm"] = rpm
    window = make_window(read_project(as_bytes(file), "x"))
    window.docks.show("motion")
    qtbot.waitUntil(lambda: bool(window.docks.view(MotionView).shown))
    window.document.select_lane("flap")
    limit = window.docks.view(MotionView)._plots._limits[0]
    assert limit.isVisible() is is_drawn
    assert ("Contact lost" in window.docks.view(MotionView).legend.accessibleName()) is is_drawn
    assert "contact is lost under \N{MINUS SIGN}" in window.docks.view(MotionView).accessibleDescription()


@pytest.mark.parametrize(
    ("low", "high", "wanted"),
    [
        (0.0, 16.0, (0.0, 10.0)),
        (-26.0, 26.0, (-20.0, 0.0, 20.0)),
        (-500.0, 2400.0, (0.0, 2000.0)),
        (0.0, 0.0, (0.0,)),
    ],
)
def test_ticks_are_round_and_never_crowd(low: float, high: float, wanted: tuple[float, ...]) -> None:
    assert ticks(low, high, 0.3) == wanted


@pytest.mark.parametrize("lanes", [("flap",), ("left", "flap")])
def test_every_figure_has_its_unit(qtbot, make_window, lanes: tuple[str, ...]) -> None:
    window = make_window(read_project(as_bytes(_loaded_file()), "x"))
    window.docks.show("motion")
    qtbot.waitUntil(lambda: bool(window.docks.view(MotionView).shown))
    window.docks.view(MotionView).choose(lanes)
    plots = window.docks.view(MotionView)._plots
    for row, (unit, word) in enumerate(zip(UNITS, plots._words, strict=True)):
        outputs = [lane.curves.values[0] for lane in plots._shown]
        lines = plots._peak_lines(row) if row else _ranges(outputs)
        figures = [text for _, text in lines if not text.startswith("at ")]
        assert len(figures) >= len(lanes)
        assert all(f" {unit}" in text for text in figures)
        assert word.itemRect().width() <= plots._theme.px(WORDS_PX)


def test_both_ends_of_the_turn_are_written_and_nothing_is_drawn_beside_it(qtbot, window: MainWindow) -> None:
    window.docks.show("motion")
    plots = window.docks.view(MotionView)._plots
    qtbot.waitUntil(lambda: plots._plots[-1].vb.width() > 100)
    axis, box = plots._plots[-1].getAxis("bottom"), plots._plots[-1].vb
    low, high = box.viewRange()[0]
    px = box.width() / (high - low)
    half = QFontMetricsF(window.theme.font(11)).horizontalAdvance("360°") / 2
    assert -low * px >= half
    assert (high - 360.0) * px >= half
    assert [text for _, text in axis._tickLevels[0]][:: len(axis._tickLevels[0]) - 1] == ["0°", "360°"]
    theta, values = one_turn(np.array([-30.0, 10.0, 350.0, 390.0]), np.array([0.0, 4.0, 8.0, 12.0]))
    assert theta.tolist() == [0.0, 10.0, 350.0, 360.0]
    assert values.tolist() == [3.0, 4.0, 8.0, 9.0]


@pytest.mark.parametrize("scale", [1.0, 2.0])
def test_words_give_way_to_the_curves_again_when_the_view_gets_lower(
    qtbot, make_window, scale: float
) -> None:
    window = make_window(read_project(as_bytes(_loaded_file()), "x"))
    window.docks.show("motion")
    qtbot.waitUntil(lambda: bool(window.docks.view(MotionView).shown))
    window.docks.view(MotionView).choose(("flap",))
    window.theme.set_scale(scale)
    plots = MotionPlots(window.theme)
    qtbot.addWidget(plots)
    plots.show_lanes(window.docks.view(MotionView)._plots._shown)
    plots.show()
    written = []
    for height in (120, 440, 120):
        plots.resize(window.theme.px(640), window.theme.px(height))
        qtbot.waitUntil(lambda: plots._view.height() == plots.height())
        QApplication.processEvents()
        tops = [word.mapRectToScene(word.itemRect()).top() for word in plots._words]
        bottoms = [word.mapRectToScene(word.itemRect()).bottom() for word in plots._words]
        assert all(bottom <= top + 1.0 for bottom, top in zip(bottoms, tops[1:], strict=False))
        written.append([word.text for word in plots._words])
    assert "lost at" in written[1][2]
    assert "lost at" not in written[0][2]
    assert written[2] == written[0]
