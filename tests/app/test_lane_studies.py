"""Comparing the laws of a lane, and taking its points from a table."""

from __future__ import annotations

import math
from pathlib import Path
from typing import TypeVar

import numpy as np
import pytest
from PySide6.QtCore import Qt
from PySide6.QtGui import QGuiApplication, QKeySequence
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication

from shaftscore.edits import apply_edit, read_points
from shaftscore.judge.loads import compare_laws
from shaftscore.kinematics.motion.laws import LAWS
from shaftscore.kinematics.motion.points import spline_through, written_for
from shaftscore.model import MotionPoint
from shaftscore_app.dialogs.files import RefusedDialog
from shaftscore_app.dialogs.form import FormDialog
from shaftscore_app.dialogs.laws import USE, LawsDialog, cells
from shaftscore_app.dialogs.points import HINT, PointsDialog, fit_text
from shaftscore_app.dialogs.points import USE as USE_POINTS
from shaftscore_app.frame.main_window import MainWindow
from shaftscore_app.widgets.dialog import Dialog
from tests.app.conftest import Answers

D = TypeVar("D", bound=Dialog)

TABLE = "theta_deg,output_mm\n0,0\n60,4\n120,12\n180,16\n240,12\n300,4\n"


def shown(window: MainWindow, kind: type[D]) -> D:
    return next(dialog for dialog in window.findChildren(kind) if dialog.isVisible())


def trigger(window: MainWindow, command: str) -> None:
    window.actions_table.refresh()
    assert window.actions_table[command].isEnabled()
    window.actions_table[command].trigger()


@pytest.fixture
def laws(window: MainWindow) -> LawsDialog:
    window.document.select_lane("flap")
    trigger(window, "lane.compare")
    return shown(window, LawsDialog)


def test_the_table_has_every_law_and_the_recommended_one_is_chosen(
    window: MainWindow, laws: LawsDialog
) -> None:
    comparison = compare_laws(window.document.committed, "flap")
    assert laws.table.rowCount() == len(LAWS)
    assert laws.chosen.law == comparison.recommended
    for number, row in enumerate(comparison.rows):
        texts = [
            laws.table.model().index(number, column).data() for column in range(1, laws.table.columnCount())
        ]
        assert texts == cells(row)
    first = [laws.table.model().index(number, 0).data() for number in range(len(LAWS))]
    assert sum("best" in text for text in first) == 1
    assert next(text for text in first if "now" in text).startswith("Modified sine")


def test_what_steps_is_said_in_words(laws: LawsDialog) -> None:
    laws.choose("constant-velocity")
    assert cells(laws.chosen)[1:3] == ["steps", "steps"]
    laws.choose("parabolic")
    assert cells(laws.chosen)[2] == "steps"


def test_the_plot_shows_the_chosen_law_over_the_present_one(laws: LawsDialog) -> None:
    laws.choose("cycloidal")
    *others, present, chosen = laws.plot.chart.lines
    assert len(others) == len(LAWS) - 2
    assert {line.token for line in others}.isdisjoint({present.token, chosen.token})
    assert present.dashed
    assert not chosen.dashed
    assert abs(chosen.values).max() == pytest.approx(laws.chosen.acceleration, rel=2e-3)
    assert "Cycloidal" in laws.caption.text()
    laws.choose("modified-sine")
    assert len(laws.plot.chart.lines) == len(LAWS)
    assert not any(line.dashed for line in laws.plot.chart.lines)


def test_using_a_law_is_one_step(window: MainWindow, laws: LawsDialog) -> None:
    laws.choose("cycloidal")
    QTest.mouseClick(laws.button(USE), Qt.MouseButton.LeftButton)
    document = window.document
    assert document.project.lane("flap").law == "cycloidal"
    assert document.undo_names == ("Use cycloidal for Flap",)
    document.undo()
    assert document.project.lane("flap").law == "modified-sine"
    assert not document.can_undo


def test_the_keys_choose_and_the_table_can_be_copied(laws: LawsDialog) -> None:
    laws.choose("constant-velocity")
    QTest.keyClick(laws.table, Qt.Key.Key_Down)
    assert laws.chosen.law == "parabolic"
    QTest.mouseClick(laws.button("Copy as table"), Qt.MouseButton.LeftButton)
    head, *rows = QGuiApplication.clipboard().text().splitlines()
    assert head.startswith("Law\tVelocity, mm/s\t")
    assert len(rows) == len(LAWS)
    assert all(len(row.split("\t")) == len(head.split("\t")) for row in rows)


def test_without_a_lane_there_is_nothing_to_compare(window: MainWindow) -> None:
    window.document.select_blocks()
    window.actions_table.refresh()
    for command in ("lane.load", "lane.compare", "lane.points"):
        assert not window.actions_table[command].isEnabled()
        assert window.actions_table[command].statusTip() == "No lane is selected"


# Load


def test_a_load_is_typed_in_any_unit_and_set_in_one_step(window: MainWindow) -> None:
    window.document.select_lane("flap")
    trigger(window, "lane.load")
    dialog = shown(window, FormDialog)
    for key, text in (
        ("moving_mass_g", "0.2 kg"),
        ("spring_preload_n", "6"),
        ("spring_rate_n_per_mm", "500 N/m"),
    ):
        field = dialog.editor.row(key).editor.field
        field.selectAll()
        QTest.keyClicks(field, text)
    QTest.mouseClick(dialog.button("OK"), Qt.MouseButton.LeftButton)
    load = window.document.project.lane("flap").load
    assert load is not None
    assert (load.moving_mass_g, load.spring_preload_n, load.spring_rate_n_per_mm) == (200.0, 6.0, 0.5)
    assert len(window.document.undo_names) == 1
    assert window.document.report.loads is not None
    assert "flap" in window.document.report.loads.lanes
    trigger(window, "lane.load")
    again = next(d for d in window.findChildren(FormDialog) if d is not dialog and d.isVisible())
    QTest.mouseClick(again.button("Remove load"), Qt.MouseButton.LeftButton)
    assert window.document.project.lane("flap").load is None


def test_a_load_that_cannot_be_says_why(window: MainWindow) -> None:
    window.document.select_lane("flap")
    trigger(window, "lane.load")
    dialog = shown(window, FormDialog)
    field = dialog.editor.row("spring_preload_n").editor.field
    field.selectAll()
    QTest.keyClicks(field, "-3")
    QTest.mouseClick(dialog.button("OK"), Qt.MouseButton.LeftButton)
    assert dialog.isVisible()
    assert dialog.editor.row("spring_preload_n").said.text() == "must be at least 0, got -3.0"
    assert window.document.project.lane("flap").load is None


# Points


def test_points_are_shown_with_their_error_and_used_in_one_step(
    window: MainWindow, answers: Answers, tmp_path: Path
) -> None:
    answers.table = tmp_path / "flap.csv"
    answers.table.write_text(TABLE)
    window.document.select_lane("flap")
    trigger(window, "lane.points")
    dialog = shown(window, PointsDialog)
    assert len(dialog.plot.chart.marks) == 6
    QTest.mouseClick(dialog.button(USE_POINTS), Qt.MouseButton.LeftButton)
    lane = window.document.project.lane("flap")
    assert lane.kind == "points"
    assert lane.points is not None
    assert [point.output_mm for point in lane.points] == [0, 4, 12, 16, 12, 4]
    assert window.document.undo_names == ("Set 6 points of Flap",)
    window.actions_table.refresh()
    assert (
        window.actions_table["lane.compare"].statusTip()
        == "Flap is of kind points: its motion follows no law"
    )


def test_points_are_typed_into_a_table_by_keys(qtbot, window: MainWindow) -> None:
    window.document.select_lane("flap")
    window.activateWindow()
    trigger(window, "lane.point_table")
    dialog = shown(window, PointsDialog)
    qtbot.waitUntil(dialog.grid.hasFocus)
    assert not dialog.button(USE_POINTS).isEnabled()
    assert dialog._said.text() == HINT
    for angle, output in (("0", "0"), ("90", "8,5"), ("180", "16"), ("270", "x")):
        for text in (angle, output):
            for character in text:  # the first one opens the line that takes the others
                QTest.keyClicks(QApplication.focusWidget(), character)
            QTest.keyClick(QApplication.focusWidget(), Qt.Key.Key_Tab)
    assert dialog._fault.text() == 'row 4, output_mm: "x" is not a number'
    assert not dialog.button(USE_POINTS).isEnabled()
    dialog.grid.setCurrentIndex(dialog.model.index(3, 1))
    for character in "8.5":
        QTest.keyClicks(QApplication.focusWidget(), character)
    QTest.keyClick(QApplication.focusWidget(), Qt.Key.Key_Return)
    assert dialog._fault.text() == ""
    assert len(dialog.plot.chart.marks) == 4
    QTest.mouseClick(dialog.button(USE_POINTS), Qt.MouseButton.LeftButton)
    lane = window.document.project.lane("flap")
    assert [(point.theta_deg, point.output_mm) for point in lane.points or ()] == [
        (0.0, 0.0),
        (90.0, 8.5),
        (180.0, 16.0),
        (270.0, 8.5),
    ]
    trigger(window, "lane.point_table")
    again = shown(window, PointsDialog)
    assert again.model.texts()[:4] == [["0", "0"], ["90", "8.5"], ["180", "16"], ["270", "8.5"]]


def test_points_pass_through_the_table_unchanged(window: MainWindow) -> None:
    heights = [0.0, 1 / 3, 12.3456789012, 1e-9, 2.0, 16.000000001]
    points = tuple(MotionPoint(theta_deg=60.0 * n + 0.1, output_mm=mm) for n, mm in enumerate(heights))
    window.document.perform(
        apply_edit(window.document.committed, "set_points", lane_id="flap", points=points)
    )
    window.document.select_lane("flap")
    trigger(window, "lane.point_table")
    assert shown(window, PointsDialog).written.points == points


def test_points_are_pasted_and_may_come_from_a_file_instead(
    qtbot, window: MainWindow, answers: Answers, tmp_path: Path
) -> None:
    window.document.select_lane("flap")
    trigger(window, "lane.point_table")
    dialog = shown(window, PointsDialog)
    QApplication.clipboard().setText("0\t0\n120\t6\n240\t12\n360\t0")
    dialog.grid.setFocus()
    QTest.keySequence(dialog.grid, QKeySequence.StandardKey.Paste)
    assert [point.output_mm for point in dialog.written.points] == [0.0, 6.0, 12.0]
    answers.table = tmp_path / "flap.csv"
    answers.table.write_text(TABLE)
    QTest.mouseClick(dialog.button("From a file…"), Qt.MouseButton.LeftButton)
    assert [point.output_mm for point in dialog.written.points] == [0, 4, 12, 16, 12, 4]


def test_a_wrong_table_is_refused_with_its_lines(
    window: MainWindow, answers: Answers, tmp_path: Path
) -> None:
    answers.table = tmp_path / "flap.csv"
    answers.table.write_text(TABLE + "90,x\n")
    window.document.select_lane("flap")
    trigger(window, "lane.points")
    assert shown(window, RefusedDialog).list.toPlainText() == 'line 8, output_mm: "x" is not a number'
    assert not window.document.can_undo


def test_a_table_that_is_gone_is_refused(window: MainWindow, answers: Answers, tmp_path: Path) -> None:
    answers.table = tmp_path / "gone.csv"
    window.document.select_lane("flap")
    trigger(window, "lane.points")
    assert "No such file" in shown(window, RefusedDialog).list.toPlainText()


def test_the_error_is_told_where_there_are_points_enough() -> None:
    few = read_points(b"theta_deg,output_mm\n0,0\n90,1\n180,3\n", "t")
    assert fit_text(written_for(few, 3)).endswith("too few points to estimate its error between them.")
    enough = read_points(TABLE.encode(), "t")
    degree = spline_through(enough).degree
    text = fit_text(written_for(enough, degree))
    assert " (root mean square " in text
    assert text.endswith(" mm): between the points it is at most about that far off.")


def test_the_other_degree_can_be_chosen_and_is_written_as_more_points(
    window: MainWindow, answers: Answers, tmp_path: Path
) -> None:
    answers.table = tmp_path / "flap.csv"
    heights = [(30 * n, 10 + 5 * math.sin(math.radians(30 * n))) for n in range(12)]
    answers.table.write_text("theta_deg,output_mm\n" + "".join(f"{t},{s!r}\n" for t, s in heights))
    window.document.select_lane("flap")
    trigger(window, "lane.points")
    dialog = shown(window, PointsDialog)
    assert [option.value for option in dialog.degree.options()] == [3, 5]
    assert dialog.degree.shown() == 5
    assert all(option.remark.startswith("error ") for option in dialog.degree.options())
    dialog.degree.setFocus()
    QTest.keyClick(dialog.degree, Qt.Key.Key_Up)
    assert dialog.degree.shown() == 3
    assert "It is written as " in dialog._said.text()
    wanted = dialog.written
    QTest.mouseClick(dialog.button(USE_POINTS), Qt.MouseButton.LeftButton)
    motion = window.document.report.solution.lanes["flap"].motion
    assert motion is not None
    theta = np.linspace(0.0, 360.0, 5000)
    away = np.abs(motion.at(theta)[0] - wanted.wanted.at(theta)[0])
    assert np.max(away) <= wanted.follows_mm * 1.01 + 1e-12
    assert wanted.follows_mm <= 0.001


def test_a_curve_that_would_dip_below_0_says_so(window: MainWindow, tmp_path: Path) -> None:
    table = tmp_path / "flap.csv"
    heights = [0, 0, 0, 8, 16, 16, 16, 16, 8, 0, 0, 0]
    table.write_text("theta_deg,output_mm\n" + "".join(f"{30 * n},{s}\n" for n, s in enumerate(heights)))
    window.groups.studies.show_points(window.document.project.lane("flap"), table)
    dialog = shown(window, PointsDialog)
    other = {3: 5, 5: 3}[dialog.degree.shown()]
    dialog.choose(other)
    assert dialog.degree.shown() != other
    assert "dips below 0, to -" in dialog._fault.text()
