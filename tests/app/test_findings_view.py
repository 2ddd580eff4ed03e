from __future__ import annotations

import pytest
from PySide6.QtCore import Qt
from PySide6.QtGui import QGuiApplication

from shaftscore.edits import BlockRef, place_block, rename_lane
from shaftscore.judge.findings import Severity
from shaftscore_app.frame.main_window import MainWindow
from tests.app.conftest import WindowMaker
from tests.app.machines import clean_gates
from tests.core.judge.report.test_causes import starving

RIGHT = BlockRef("right", 0)


def _titles(window: MainWindow) -> list[str]:
    return [row.words.title for row in window.findings.model.rows]


def _row(window: MainWindow, title: str) -> int:
    return _titles(window).index(title)


def _click(qtbot, window: MainWindow, row: int) -> None:
    view = window.findings.list
    rect = view.visualRect(window.findings.model.index(row))
    qtbot.mouseClick(view.viewport(), Qt.MouseButton.LeftButton, pos=rect.center())


def test_rows_stand_errors_first_with_their_words(window: MainWindow) -> None:
    assert {"Overlap", "Pass-through"} <= set(_titles(window))
    ranks = [row.finding.severity.rank for row in window.findings.model.rows]
    assert ranks == sorted(ranks)
    said = window.findings.model.rows[_row(window, "Overlap")].words
    assert said.lanes == "Left, Right"
    assert said.what.startswith("Both are open for ")


def test_a_click_chooses_the_finding_and_asks_to_go_there(qtbot, window: MainWindow) -> None:
    row = _row(window, "Pass-through")
    key = window.findings.model.rows[row].finding.key
    with qtbot.waitSignal(window.findings.visited) as visit:
        _click(qtbot, window, row)
    assert visit.args == [key]
    assert window.document.selection.finding == key


def test_f8_goes_round(qtbot, window: MainWindow) -> None:
    count = len(_titles(window))
    keys = [row.finding.key for row in window.findings.model.rows]
    window.activateWindow()
    qtbot.waitUntil(window.isActiveWindow)
    seen = []
    for _ in range(count + 1):
        qtbot.keyClick(window, Qt.Key.Key_F8)
        seen.append(window.document.selection.finding)
    assert seen == [*keys, keys[0]]
    qtbot.keyClick(window, Qt.Key.Key_F8, Qt.KeyboardModifier.ShiftModifier)
    assert window.document.selection.finding == keys[-1]


def test_do_this_cures_as_one_step_that_undo_takes_back(qtbot, window: MainWindow) -> None:
    row = _row(window, "Overlap")
    _click(qtbot, window, row)
    finding = window.findings.model.rows[row].finding
    assert finding.cure is not None
    view = window.findings.list
    index = window.findings.model.index(row)
    place = view.itemDelegate().cure_rect(index, view.visualRect(index)).center()
    qtbot.mouseClick(view.viewport(), Qt.MouseButton.LeftButton, pos=place)
    assert "Overlap" not in _titles(window)
    assert len(window.document.undo_names) == 1
    window.document.undo()
    assert "Overlap" in _titles(window)


def test_without_a_chosen_cure_nothing_is_done_and_the_reason_is_said(window: MainWindow) -> None:
    before = window.document.project
    assert window.findings.do_cure()
    assert window.document.project is before


def test_the_chosen_row_stays_chosen_while_a_block_is_held(qtbot, window: MainWindow) -> None:
    document = window.document
    _click(qtbot, window, _row(window, "Pass-through"))
    key = document.selection.finding
    for deg in (141.0, 160.0, 200.0, 143.0):
        document.preview(place_block(document.committed, RIGHT, deg))
        current = window.findings.list.currentIndex()
        assert window.findings.model.rows[current.row()].finding.key == key
    document.preview(None)
    assert document.selection.finding == key


def test_filters_show_one_severity_and_count_all(qtbot, window: MainWindow) -> None:
    chips = window.findings._chips
    errors = window.document.report.count(Severity.ERROR)
    qtbot.mouseClick(chips[Severity.ERROR], Qt.MouseButton.LeftButton)
    assert {row.finding.severity for row in window.findings.model.rows} == {Severity.ERROR}
    assert chips[Severity.ERROR].text().strip() == str(errors)
    qtbot.mouseClick(chips[None], Qt.MouseButton.LeftButton)
    assert len(window.findings.model.rows) == len(window.document.report.findings)


def test_copy_gives_every_line_as_text(qtbot, window: MainWindow) -> None:
    window.findings.copy()
    text = QGuiApplication.clipboard().text()
    for row in window.findings.model.rows:
        assert row.words.what in text
        assert row.words.cure in text


def test_a_clean_machine_says_so_with_its_margin(qtbot, make_window: WindowMaker) -> None:
    window = make_window(clean_gates())
    assert not window.document.report.findings
    text = window.findings.empty.text()
    assert text.startswith("Nothing found. Smallest margin ")
    assert "Left and Right" in text


def test_before_there_is_a_machine_the_view_says_what_will_stand_there(
    qtbot, make_window: WindowMaker
) -> None:
    assert make_window(None).findings.empty.text() == "Findings appear as you draw. None yet."


def test_the_status_bar_counts_and_leads_to_the_findings(qtbot, window: MainWindow) -> None:
    errors = window.document.report.count(Severity.ERROR)
    button = window.status._errors
    assert button.text().strip() == f"{errors} error{'s' if errors > 1 else ''}"
    window.docks["findings"].hide()
    qtbot.mouseClick(button, Qt.MouseButton.LeftButton)
    assert window.docks["findings"].isVisible()


@pytest.mark.parametrize("deg", [200.0, 139.5])
def test_the_margin_in_the_status_bar_follows_live(window: MainWindow, deg: float) -> None:
    document = window.document
    document.preview(place_block(document.committed, RIGHT, deg))
    margin = document.report.margin
    assert margin is not None
    assert f"{abs(margin.smallest_deg):.1f}°" in window.status._margin.text()
    document.preview(None)


def test_the_search_shows_what_has_every_word(qtbot, window: MainWindow) -> None:
    view = window.findings
    qtbot.mouseClick(view.search_button, Qt.MouseButton.LeftButton)
    qtbot.keyClicks(view.search, "RIGHT overlap")
    assert _titles(window) == ["Overlap"]
    qtbot.keyClicks(view.search, " nowhere")
    assert _titles(window) == []
    assert view.empty.text() == "None like this."
    qtbot.keyClick(view.search, Qt.Key.Key_Escape)
    assert not view.search.isVisible()
    assert len(_titles(window)) == len(window.document.report.findings)


def test_sorted_by_place_the_angles_rise(qtbot, window: MainWindow) -> None:
    view = window.findings
    before = _titles(window)
    qtbot.mouseClick(view.sort_button, Qt.MouseButton.LeftButton)
    degs = [
        -1.0 if f.start_deg is None else f.facts.get("at_deg", f.start_deg)
        for f in (row.finding for row in view.model.rows)
    ]
    assert degs == sorted(degs)
    assert sorted(_titles(window)) == sorted(before)
    qtbot.mouseClick(view.sort_button, Qt.MouseButton.LeftButton)
    assert _titles(window) == before


def test_copy_keys_give_the_chosen_finding_alone(qtbot, window: MainWindow) -> None:
    row = _row(window, "Pass-through")
    _click(qtbot, window, row)
    qtbot.keyClick(window.findings.list, Qt.Key.Key_C, Qt.KeyboardModifier.ControlModifier)
    assert QGuiApplication.clipboard().text() == window.findings.model.rows[row].text
    assert "Overlap" not in QGuiApplication.clipboard().text()


def test_a_chosen_row_has_room_for_all_of_its_words(qtbot, window: MainWindow) -> None:
    view, row = window.findings, _row(window, "Overlap")
    index = view.model.index(row)
    low = view.list.visualRect(index).height()
    _click(qtbot, window, row)
    qtbot.waitUntil(lambda: view.list.visualRect(index).height() > low)
    short = view.list.visualRect(index).height()
    document, longer = window.document, "Right gate of the upper row beside the long side of the hopper " * 2
    for lane_id in ("left", "right"):
        document.perform(rename_lane(document.committed, lane_id, longer))
    row = _row(window, "Overlap")
    index = view.model.index(row)
    qtbot.waitUntil(lambda: view.list.visualRect(index).height() >= short + 2 * 12)
    others = {
        view.list.visualRect(view.model.index(i)).height() for i in range(len(view.model.rows)) if i != row
    }
    assert others == {low}


def test_the_tip_says_why_with_the_rule_and_the_numbers(window: MainWindow) -> None:
    view = window.findings
    row = _row(window, "Overlap")
    tip = view.model.data(view.model.index(row), Qt.ItemDataRole.ToolTipRole)
    assert tip.startswith("Two states that exclude each other hold together")
    assert view.model.rows[row].words.what in tip


# What follows from a cause


def _kinds(window: MainWindow) -> list[str]:
    return [str(row.kind) for row in window.findings.model.rows if row.finding.rule == "starvation"]


@pytest.fixture
def starved(make_window: WindowMaker) -> MainWindow:
    """A window of six gates of which one hopper starves all: one cause with five consequences."""
    return make_window(starving())


def test_consequences_fold_under_their_cause_and_are_counted_beside_it(starved: MainWindow) -> None:
    view = starved.findings
    assert _kinds(starved) == ["cause", "fold"]
    assert view._chips[Severity.ERROR].text().strip() == "1"
    assert view.folded.text() == "5 consequences folded in"
    assert starved.status._errors.text().strip() == "1 error"
    line = view.model.rows[1].line
    assert line.startswith("5 consequences: Starvation ")
    assert line.endswith(" and 2 more")


def test_right_opens_two_examples_and_then_all_and_left_folds(qtbot, starved: MainWindow) -> None:
    view = starved.findings
    starved.activateWindow()
    view.list.setFocus()
    view.step(1)
    qtbot.keyClick(view.list, Qt.Key.Key_Right)
    assert _kinds(starved) == ["cause", "fold", "consequence", "consequence", "more"]
    assert view.model.rows[4].line == "and 3 more"
    qtbot.keyClick(view.list, Qt.Key.Key_Right)
    assert _kinds(starved) == ["cause", "fold", *["consequence"] * 5]
    qtbot.keyClick(view.list, Qt.Key.Key_Down)  # over the line of the fold, to its first consequence
    assert view.chosen is not None
    assert view.chosen.key == view.model.rows[2].finding.key
    qtbot.keyClick(view.list, Qt.Key.Key_Left)
    assert _kinds(starved) == ["cause", "fold"]
    assert view.chosen is not None
    assert view.chosen.key == view.model.rows[0].finding.key


def test_clicks_on_the_lines_of_a_fold_open_and_fold_it(qtbot, starved: MainWindow) -> None:
    starved.findings.step(1)  # the chosen cause is higher: from here on rows stay where they are
    _click(qtbot, starved, 1)
    assert _kinds(starved) == ["cause", "fold", "consequence", "consequence", "more"]
    _click(qtbot, starved, 4)
    assert _kinds(starved) == ["cause", "fold", *["consequence"] * 5]
    _click(qtbot, starved, 1)
    assert _kinds(starved) == ["cause", "fold"]


def test_three_consequences_are_never_folded_at_first(make_window: WindowMaker) -> None:
    assert _kinds(make_window(starving(gates=4))) == ["cause", "fold", *["consequence"] * 3]


def test_f8_goes_by_causes(qtbot, starved: MainWindow) -> None:
    view = starved.findings
    view.step(1)
    view.set_open(view.model.rows[0].finding.key, "all")
    view.step(-1)
    seen = []
    for _ in range(len(starved.document.report.folded.roots)):
        view.step(1)
        seen.append(view.chosen)
    assert seen == list(starved.document.report.folded.roots)


def test_the_cure_of_a_cause_says_what_it_changes_and_takes_all_with_it(qtbot, starved: MainWindow) -> None:
    view = starved.findings
    starved.activateWindow()
    qtbot.waitUntil(starved.isActiveWindow)
    view.step(1)
    row = view.model.rows[0]
    assert row.cure_text.endswith("Changes the supply, not the discs.")
    qtbot.keyClick(starved, Qt.Key.Key_Return, Qt.KeyboardModifier.ControlModifier)
    assert starved.document.undo_names == ("Change the flow",)
    qtbot.waitUntil(lambda: _kinds(starved) == [])


def test_folds_are_read_aloud_and_copied_whole(starved: MainWindow) -> None:
    view = starved.findings
    assert view.model.rows[0].spoken.endswith(" 5 consequences, folded.")
    view.copy()
    text = QGuiApplication.clipboard().text()
    assert text.count("Starvation") == 6
