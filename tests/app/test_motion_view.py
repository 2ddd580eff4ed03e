from __future__ import annotations

import numpy as np
import pytest
from PySide6.QtGui import QGuiApplication

from app.main_window import MainWindow
from app.views.motion_curves import curves_of
from app.views.motion_plots import ticks
from core.model.loader import read_project
from core.motion.lane_motion import LaneMotion
from core.report import examine
from tests.app.machines import as_bytes, gates, gates_file


@pytest.mark.parametrize("turns", [1, 3])
def test_velocity_acceleration_and_jerk_are_derivatives_in_time(turns: int) -> None:
    """An identity: the central difference of each curve in time is the one below it.

    Output and derivatives are read from the motion a little before and after each node; nodes at the
    ends of pieces, where the jerk steps, are left out.
    """
    file = gates_file(stacks=[{"id": "main", "turns": turns}])
    solution = examine(read_project(as_bytes(file), "x"), late=False).solution.lanes["flap"]
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
    curves = curves_of(examine(read_project(as_bytes(file), "x"), late=False).solution.lanes["flap"])
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
    curves = curves_of(examine(gates(), late=False).solution.lanes["flap"])
    assert curves is not None
    for (deg, value), values in zip(curves.peaks, curves.values[1:], strict=True):
        assert abs(value) == pytest.approx(np.max(np.abs(values)), rel=1e-3)
        near = np.abs(curves.theta_deg - deg) < 1.0
        assert np.min(np.abs(values[near] - value)) < 0.02 * abs(value)


@pytest.fixture
def window(qtbot, window: MainWindow) -> MainWindow:
    """Bring the view to the front."""
    window.docks.show("motion")
    qtbot.waitUntil(lambda: window.motion.curves is not None)
    return window


def test_the_view_shows_the_selected_lane_and_its_cursor(window: MainWindow) -> None:
    document, motion = window.document, window.motion
    document.select_lane("flap")
    assert motion._title.text() == "A3 Flap"
    shown = curves_of(document.report.solution.lanes["flap"])
    assert shown is not None
    assert motion.curves is not None
    assert np.array_equal(motion.curves.values, shown.values)
    document.set_cursor(123.0)
    assert motion._plots.shown() == 123.0
    motion._plots.moved.emit(45.0)
    assert document.cursor_deg == 45.0
    assert motion.accessibleDescription().startswith("Peak velocity ")


def test_a_lane_without_motion_says_why(qtbot, window: MainWindow) -> None:
    from core.edits import BlockRef, place_block

    document = window.document
    document.perform(place_block(document.committed, BlockRef("left", 0), 200.0, neighbours="stay"))
    document.select_lane("left")
    assert window.motion.curves is None
    assert window.motion._empty.text().startswith("No motion: ")
    document.undo()
    assert window.motion.curves is not None


def test_what_is_held_follows(qtbot, window: MainWindow) -> None:
    from core.edits import BlockRef, place_block

    document = window.document
    document.select_lane("right")
    before = window.motion.curves
    document.preview(place_block(document.committed, BlockRef("right", 0), 200.0))
    qtbot.waitUntil(lambda: window.motion.curves is not before)
    document.preview(None)


def test_copy_gives_a_table(window: MainWindow) -> None:
    window.document.select_lane("flap")
    window.motion.copy()
    head, *rows = QGuiApplication.clipboard().text().splitlines()
    assert head.split("\t") == ["theta_deg", "s_mm", "v_mm_s", "a_mm_s2", "j_mm_s3"]
    table = np.array([[float(cell) for cell in row.split("\t")] for row in rows])
    assert table[:, 0].min() >= 0.0
    assert table[:, 0].max() <= 360.0
    assert table[:, 1].max() == pytest.approx(16.0)


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
