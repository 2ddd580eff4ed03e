from __future__ import annotations

import pytest
from PySide6.QtCore import Qt
from PySide6.QtGui import QImage
from PySide6.QtWidgets import QLabel

from shaftscore.edits import BlockRef, delete_lane, place_block
from shaftscore.judge.findings import Severity
from shaftscore.judge.report import examine
from shaftscore_app.document import Document
from shaftscore_app.frame.alone_bar import sentence
from shaftscore_app.frame.main_window import MainWindow
from tests.app.conftest import WindowMaker
from tests.app.machines import fed_gates, gates


def _rules(document: Document) -> set[str]:
    return {finding.rule for finding in document.report.findings}


# The document


def test_lanes_alone_are_judged_as_the_core_judges_them(document: Document) -> None:
    whole = document.report
    document.check_alone({"left", "flap"})
    assert document.lanes == {"left", "flap"}
    assert document.report.findings == examine(gates(), lanes={"left", "flap"}).findings
    assert "overlap" not in _rules(document)
    assert "pass-through" in _rules(document)
    assert document.whole_report.findings == whole.findings
    assert document.report.solution.lanes.keys() == whole.solution.lanes.keys()
    document.check_alone(None)
    assert document.lanes is None
    assert document.report.findings == whole.findings


def test_edits_keep_the_lanes_and_judge_the_whole_beside(document: Document) -> None:
    document.check_alone({"left"})
    document.perform(place_block(document.committed, BlockRef("right", 0), 240.0))
    assert document.lanes == {"left"}
    assert document.is_late_current
    assert document.whole_report.findings == examine(document.committed).findings
    assert document.report.findings == examine(document.committed, lanes={"left"}).findings


def test_a_lane_that_is_deleted_is_no_longer_asked_for(document: Document) -> None:
    document.check_alone({"left", "right"})
    document.perform(delete_lane(document.committed, "left"))
    assert document.lanes == {"right"}
    document.perform(delete_lane(document.committed, "right"))
    assert document.lanes is None
    document.undo()
    assert document.lanes == {"right"}


def test_another_project_begins_whole(document: Document) -> None:
    document.check_alone({"left"})
    document.new(gates())
    assert document.lanes is None
    assert "overlap" in _rules(document)


def test_the_project_and_its_file_know_nothing_of_it(document: Document) -> None:
    project = document.project
    document.check_alone({"left"})
    assert document.project is project
    assert not document.is_modified
    assert not document.can_undo


def test_the_flow_is_of_these_lanes(qapp: object) -> None:
    document = Document(fed_gates())
    assert document.report.flow is not None
    assert document.report.flow.holds_for_ever is False
    document.check_alone({"right"})
    assert document.report.flow is not None
    assert document.report.flow.holds_for_ever is True
    assert set(document.report.flow.magazines) == {"right_tube"}


# The window


def _check_alone(window: MainWindow, *blocks: BlockRef) -> None:
    window.document.select_blocks(*blocks)
    window.actions_table["prove.alone"].trigger()


def test_the_command_checks_the_selected_lanes_and_the_bar_says_so(qtbot, window: MainWindow) -> None:
    assert not window.alone_bar.isVisible()
    title = window.windowTitle()
    _check_alone(window, BlockRef("left", 0), BlockRef("flap", 0))
    assert window.alone_bar.isVisible()
    assert window.alone_bar.text.text() == "Only Left and Flap are checked."
    assert "Overlap" not in [row.words.title for row in window.findings.model.rows]
    assert window.windowTitle() == title
    assert window.actions_table["prove.alone"].isChecked()
    qtbot.mouseClick(window.alone_bar.back, Qt.MouseButton.LeftButton)
    assert window.document.lanes is None
    assert not window.alone_bar.isVisible()
    assert not window.actions_table["prove.alone"].isChecked()
    assert "Overlap" in [row.words.title for row in window.findings.model.rows]


@pytest.mark.parametrize("where", ["diagram", "bar"])
def test_escape_leaves_and_only_then_clears_the_selection(qtbot, window: MainWindow, where: str) -> None:
    _check_alone(window, BlockRef("left", 0))
    target = window.diagram if where == "diagram" else window.alone_bar.back
    qtbot.keyClick(target, Qt.Key.Key_Escape)
    assert window.document.lanes is None
    assert window.document.selection.blocks == (BlockRef("left", 0),)


def test_the_command_again_leaves(window: MainWindow) -> None:
    _check_alone(window, BlockRef("left", 0))
    window.actions_table["prove.alone"].trigger()
    assert window.document.lanes is None


def test_without_a_selection_it_says_what_is_missing(window: MainWindow) -> None:
    window.document.select_blocks()
    window.document.select_lane(None)
    action = window.actions_table["prove.alone"]
    window.actions_table.refresh()
    assert not action.isEnabled()
    assert action.statusTip() == "Select lanes, or blocks of them, first"


def test_export_asks_about_the_errors_of_the_whole_machine(make_window: WindowMaker) -> None:
    from shaftscore_app.dialogs.exporting import ErrorsOpenDialog

    window = make_window(gates())
    errors = window.document.report.count(Severity.ERROR)
    _check_alone(window, BlockRef("left", 0))
    assert window.document.report.count(Severity.ERROR) == 0
    window.actions_table["file.export"].trigger()
    dialog = window.findChild(ErrorsOpenDialog)
    assert dialog is not None
    said = " ".join(label.text() for label in dialog.findChildren(QLabel))
    assert f"{errors} errors are open" in said


def test_showing_those_errors_leaves(window: MainWindow) -> None:
    _check_alone(window, BlockRef("left", 0))
    window.groups.exports.errors_wanted.emit()
    assert window.document.lanes is None


def test_the_flow_view_says_that_it_is_of_these_lanes(qtbot, make_window: WindowMaker) -> None:
    window = make_window(fed_gates())
    window.docks.show("flow")
    _check_alone(window, BlockRef("right", 0))
    qtbot.waitUntil(lambda: window.flow.title.text() == "These lanes alone: Holds for every further turn")
    assert [row.name for row in window.flow.picture.rows] == ["Right", "Main chute"]


def test_many_lanes_are_counted() -> None:
    assert sentence(["Assam"]) == "Only Assam is checked."
    assert sentence(["Assam", "Ceylon"]) == "Only Assam and Ceylon are checked."
    assert sentence(list("ABCDEFG")) == "Only A, B, C, D and 3 more are checked."


def test_the_other_lanes_are_dimmed_in_the_diagram(qtbot, window: MainWindow) -> None:
    def strip(lane_id: str) -> QImage:
        picture = window.diagram.viewport().grab().toImage()
        scene = window.diagram.scene
        place = scene.strip(lane_id)
        assert place is not None
        left, width = round(scene.frame.axis.left), round(scene.frame.axis.width)
        return picture.copy(left, round(place.top), width, round(place.height))

    window.document.select_blocks()
    before = {lane: strip(lane) for lane in ("left", "right")}
    window.document.check_alone({"left"})
    qtbot.waitUntil(lambda: window.document.is_late_current)
    window.document.select_blocks()
    assert _contrast(strip("right")) < 0.6 * _contrast(before["right"])
    assert _contrast(strip("left")) == pytest.approx(_contrast(before["left"]), rel=0.05)
    window.document.check_alone(None)
    qtbot.waitUntil(lambda: window.document.is_late_current)
    assert _contrast(strip("right")) == pytest.approx(_contrast(before["right"]), rel=0.05)


def _contrast(image: QImage) -> float:
    """Return how far apart the lightest and the darkest pixels are, 0 to 255."""
    lights = [
        image.pixelColor(x, y).lightness()
        for x in range(0, image.width(), 2)
        for y in range(0, image.height(), 2)
    ]
    return float(max(lights) - min(lights))
