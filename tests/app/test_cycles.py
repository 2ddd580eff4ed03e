"""The strip of cycles over the diagram, and the diagram of one cycle."""

from __future__ import annotations

import numpy as np
import pytest
from PySide6.QtCore import QPoint, Qt
from PySide6.QtTest import QTest
from pytestqt.qtbot import QtBot

from shaftscore.kinematics.course import LaneCycle
from shaftscore.make.drawing.timing.cycle import curve_in, shapes_in
from shaftscore.solution import solve
from tests.app.conftest import WindowMaker
from tests.core.test_counting import CODES, crossed, segment_counter


def test_a_click_on_the_strip_shows_another_cycle(make_window: WindowMaker, qtbot: QtBot) -> None:
    window = make_window(crossed(4, 40.0))
    document, strip = window.document, window.cycle_bar.strip
    assert window.cycle_bar.isVisible()
    assert window.cycle_bar.text.text() == "Cycle 1 of 4"
    QTest.mouseClick(strip, Qt.MouseButton.LeftButton, pos=QPoint(int(strip.cell(3).center().x()), 9))
    assert (document.cycle, window.cycle_bar.text.text()) == (3, "Cycle 3 of 4")
    assert strip.accessibleDescription().startswith("Cycle 3 of 4 is shown. Findings in cycles ")
    QTest.keyClick(strip, Qt.Key.Key_Left)
    assert document.cycle == 2
    # At 90° of cycle 2 a stack that turns once in 4 cycles has turned by (360° + 90°) / 4.
    document.set_cursor(90.0)
    assert document.own_deg(document.report.solution.lanes["one"]) == pytest.approx(112.5)
    finding = next(one for one in document.report.findings if one.rule == "overlap")
    window.diagram.show_finding(finding.key)
    assert document.cycle == 1 + int(np.floor((finding.start_deg or 0.0) * 4 / 360))
    window.player.rate = 1.0
    document.set_cycle(4)
    document.set_cycle(document.cycle + 1)
    assert document.cycle == 1
    qtbot.waitUntil(lambda: document.is_late_current)


def test_a_machine_of_one_cycle_has_no_strip(make_window: WindowMaker) -> None:
    assert not make_window(crossed(1, 10.0)).cycle_bar.isVisible()


def test_blocks_and_curve_of_each_cycle_are_those_of_its_digit() -> None:
    project = segment_counter()
    lane = project.lane("onese")
    solved = solve(project, lanes=("onese",)).lanes["onese"]
    for number in range(10):
        shapes = shapes_in(lane, LaneCycle.of(project, lane, number + 1))
        at_rest = [
            one.level.name for one in shapes if one.start_deg <= 90.0 <= one.start_deg + one.length_deg
        ]
        assert at_rest == ["on" if "e" in CODES[number] else "off"]
        curve = curve_in(solved, number + 1)
        assert curve is not None
        assert np.interp(90.0, curve.theta_deg, curve.output_mm) == pytest.approx(6.0 * (at_rest == ["on"]))
        assert min(one.start_deg for one in shapes) >= 0.0
        assert max(one.start_deg + one.length_deg for one in shapes) <= 360.0
