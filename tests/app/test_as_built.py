"""The dialog Correct from measurements: rows typed and pasted, estimates beside, one undo step."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from PySide6.QtCore import Qt
from PySide6.QtGui import QGuiApplication
from PySide6.QtTest import QTest

from shaftscore.edits import start_sheet, tick
from shaftscore.model.project import Measured
from shaftscore_app.dialogs.as_built import AsBuiltDialog
from shaftscore_app.frame.main_window import MainWindow
from tests.app.conftest import Answers, WindowMaker
from tests.app.machines import clean_gates


@pytest.fixture
def dialog(make_window: WindowMaker) -> tuple[MainWindow, AsBuiltDialog]:
    window = make_window(clean_gates())
    window.actions_table["lane.as_built"].trigger()
    (opened,) = window.findChildren(AsBuiltDialog)
    return window, opened


def rows(window: MainWindow, lag: float, play: float) -> str:
    """Write both edges of Left open in both senses, as a spreadsheet copies them."""
    span = window.document.report.solution.lanes["left"].states["open"][0].span
    lines = ["Lane\tLevel\tEdge\tAngle\tSense"]
    for edge, at in (("begin", span.start), ("end", span.end)):
        for sense, by in (("forward", lag), ("backward", lag - play)):
            lines.append(f"Left\topen\t{edge}\t{at + by:.6f}\t{sense}")
    return "\n".join(lines)


def test_pasted_rows_are_estimated_and_corrected_in_one_step(
    dialog: tuple[MainWindow, AsBuiltDialog],
) -> None:
    window, opened = dialog
    document = window.document
    before = document.committed
    assert not opened.button("Correct from measurements").isEnabled()
    QGuiApplication.clipboard().setText(rows(window, 1.5, 0.8))
    opened.table.setCurrentCell(0, 0)
    QTest.keyClick(opened.table, Qt.Key.Key_V, Qt.KeyboardModifier.ControlModifier)
    assert opened.fault == ""
    assert "<b>Left</b> comes 1.50° late ± 0.00°<br>Turned by 0.00°, then −1.50°" in opened.estimates.text()
    assert "play 0.80° ± 0.00°" in opened.estimates.text()
    opened.button("Correct from measurements").click()
    assert document.committed.lane("left").offset_deg == pytest.approx(-1.5, abs=1e-3)
    assert document.committed.stacks[0].backlash_deg == pytest.approx(0.8, abs=1e-3)
    assert document.undo_name == "Correct from measurements"
    document.undo()
    assert document.committed == before


def test_a_log_and_a_bring_up_sheet_are_read(
    make_window: WindowMaker, answers: Answers, tmp_path: Path
) -> None:
    window = make_window(clean_gates())
    document = window.document
    left = document.report.solution.lanes["left"]
    span = left.states["open"][0].span
    angles = np.arange(0.0, 360.0, 0.5)
    begun = start_sheet(document.committed, "2026-03-14").project
    rising = span.start - 3.0
    output = float(left.motion.at(np.array([rising]))[0, 0])
    document.perform(tick(begun, rising + 1.5, {"left": output}))
    answers.table = tmp_path / "log.csv"
    shut = "angle,Left open\n0,1\n1,1\n2,1\n"
    answers.table.write_text(shut, encoding="utf-8")
    window.actions_table["lane.as_built"].trigger()
    (opened,) = window.findChildren(AsBuiltDialog)
    assert opened.include.isChecked()
    assert "<b>Left</b> comes 1.50° late (no row to spare for an interval)" in opened.estimates.text()
    opened.log.click()
    assert opened.fault == '"Left open" has no two values that can be told apart; is the switch connected?'
    lines = [f"{a},{5 if span.start + 1.5 <= a <= span.end + 1.5 else 0}" for a in angles]
    answers.table.write_text("\n".join(["angle,Left open", *lines]), encoding="utf-8")
    opened.log.click()
    assert opened.fault == "Left open: parted at 2.5, 2 edges"
    assert opened.found is not None
    assert opened.found.lanes[0].lag_deg == pytest.approx(1.5, abs=0.26)
    assert "Falls come" in opened.estimates.text()
    assert "Measure next:" in opened.estimates.text()


def test_a_bad_row_gives_one_message(dialog: tuple[MainWindow, AsBuiltDialog]) -> None:
    _, opened = dialog
    opened.table.write([("Lefd", "open", "begin", "60", "forward")])
    assert opened.fault == 'line 1: there is no lane "Lefd"; did you mean "Left"?'
    assert opened.estimates.text() == "Enter measurements to see the estimates."
    assert not opened.button("Correct from measurements").isEnabled()


def test_rows_are_kept_and_shown_again(dialog: tuple[MainWindow, AsBuiltDialog]) -> None:
    window, opened = dialog
    opened.table.write([("A1", "open", "begin", "60,5", "forward")])
    opened.button("Keep the rows").click()
    assert window.document.committed.measured == (
        Measured(lane="left", level="open", edge="begin", angle_deg=60.5, sense="forward"),
    )
    again = AsBuiltDialog(window, window.theme, window.document)
    assert again.table.text().strip() == "A1 Left\topen\tbegin\t60.5\tforward"
    assert "play unknown" in again.estimates.text()
    assert "no row to spare" in again.estimates.text()
    again.close()


def test_every_edge_stands_ready_with_its_expected_angle(
    qtbot, dialog: tuple[MainWindow, AsBuiltDialog]
) -> None:
    """One angle is typed; the other rows say nothing."""
    window, opened = dialog
    table = opened.table
    shown = [[table.item(row, column).text() for column in range(6)] for row in range(8)]
    # Left is open from 60 to 80 degrees, Right from 240 to 260; each edge lies a little inside the moves.
    assert [cells[:3] for cells in shown[:2]] == [["A1 Left", "closed", "end"], ["A1 Left", "open", "begin"]]
    assert all(not cells[3] and cells[4] == "forward" and cells[5].endswith("°") for cells in shown)
    opened.table.setFocus()
    table.setCurrentCell(1, 3)
    qtbot.keyClicks(table, "59.5")
    qtbot.keyClick(table.focusWidget() or table, Qt.Key.Key_Return)
    qtbot.waitUntil(lambda: opened.found is not None)
    opened.button("Keep the rows").click()
    assert [(row.lane, row.level, row.edge) for row in window.document.committed.measured] == [
        ("left", "open", "begin")
    ]
