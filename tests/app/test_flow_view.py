from __future__ import annotations

import pytest
from PySide6.QtCore import QPoint, QPointF, Qt
from PySide6.QtGui import QGuiApplication

from shaftscore.base.wording import part_name
from shaftscore.edits import BlockRef, place_block
from shaftscore.judge.report import QUICK, examine
from shaftscore.model.loader import read_project
from shaftscore_app.frame.main_window import MainWindow
from shaftscore_app.views.flow_network.face import EMPTY
from shaftscore_app.views.flow_rows import (
    NO_FLOW,
    NOT_YET,
    ChannelRow,
    FlowPicture,
    MagazineRow,
    picture_of,
)
from tests.app.conftest import WindowMaker
from tests.app.machines import as_bytes, fed_gates, fed_gates_file, gates


def _picture(fed_per_min: float = 3.0) -> FlowPicture:
    found = picture_of(examine(fed_gates(fed_per_min)))
    assert isinstance(found, FlowPicture)
    return found


def _magazines(picture: FlowPicture) -> list[MagazineRow]:
    return [row for row in picture.rows if isinstance(row, MagazineRow)]


# Rows


def test_a_magazine_that_is_fed_too_slowly_fails_where_a_ledger_by_hand_says() -> None:
    """By hand: 2 at the start, one out each turn (10 s), one in at 26 s, 46 s, ...: empty in turn 3."""
    left, right = _magazines(_picture())
    assert left.failure is not None
    assert left.failure.text == left.last == "empty, turn 3"
    assert 2.0 < left.failure.at < 2.25  # the gate opens before 80 degrees
    assert [left.count_at(at) for at in (0.0, 0.5, 1.5, 2.5, 2.7)] == [2, 1, 0, 0, 1]
    assert right.failure is None
    assert right.last == "2 of 3"


def test_titles_say_whether_the_flow_holds() -> None:
    assert _picture(3.0).title == "Fails in turn 3"
    assert _picture(6.0).title == "Holds for every further turn"


def test_a_channel_has_the_items_of_every_gate_in_order() -> None:
    chute = next(row for row in _picture(6.0).rows if isinstance(row, ChannelRow))
    assert chute.name == "Main chute"
    assert chute.per_turn == (2, 2)
    assert chute.last == "2 a turn"
    assert [item.name for item in chute.items[:4]] == ["left bead", "right bead"] * 2
    for item in chute.items:
        assert item.leaves - item.enters == pytest.approx(0.025)  # 0.25 s of 10 s
        assert item.latest - item.enters == pytest.approx(0.040)


def test_magazines_are_named_by_the_lane_that_empties_them() -> None:
    assert [row.name for row in _picture().rows] == ["Left", "Right", "Main chute"]
    assert part_name("main_chute") == "Main chute"


def test_a_late_failure_stays_in_sight() -> None:
    picture = _picture()
    assert picture.turns_in_sight(20) == (1, 8)
    for count in range(1, 9):
        first, last = picture.turns_in_sight(count)
        assert last - first + 1 == count
        assert count < 3 or first <= 3 <= last


def test_without_a_flow_or_its_result_a_sentence_stands_there() -> None:
    assert picture_of(examine(gates())) == NO_FLOW
    assert picture_of(examine(fed_gates(), stage=QUICK)) == NOT_YET


def test_the_summary_and_the_table_have_every_number() -> None:
    picture = _picture()
    assert picture.summary.startswith("Fails in turn 3. Left: empty, turn 3. Right: lowest count 2 of 3. ")
    head, *lines = picture.table.splitlines()
    rows = [line.split("\t") for line in lines]
    assert all(len(row) == len(head.split("\t")) for row in rows)
    counts = [(float(row[4]), int(row[5])) for row in rows if row[1] == "Left"]
    assert counts[0] == (0.0, 2)
    assert (26.0, 1) in counts
    for row in rows:
        assert (int(row[2]) - 1) * 10.0 + float(row[3]) / 36.0 == pytest.approx(float(row[4]), abs=1e-4)


# The view


@pytest.fixture
def window(make_window: WindowMaker) -> MainWindow:
    made = make_window(fed_gates())
    made.flow.show_face("Counts")
    made.docks.show("flow")
    return made


def _middle(window: MainWindow, index: int, at: float) -> QPoint:
    canvas = window.flow.canvas
    return QPointF(canvas.x_of(at), canvas.band(index).center().y()).toPoint()


def test_it_says_whether_the_flow_holds_and_follows_the_cure(qtbot, window: MainWindow) -> None:
    assert window.flow.title.text() == "Fails in turn 3"
    assert window.flow.accessibleDescription().startswith("Fails in turn 3. Left: empty")
    finding = next(f for f in window.document.report.findings if f.rule == "starvation")
    window.document.select_finding(finding.key)
    assert window.findings.do_cure() == ""
    qtbot.waitUntil(lambda: window.flow.title.text() == "Holds for every further turn")


def test_a_click_on_a_failure_selects_its_finding_and_goes_there(qtbot, window: MainWindow) -> None:
    failure = window.flow.picture.rows[0].failure
    with qtbot.waitSignal(window.flow.visited) as visit:
        qtbot.mouseClick(
            window.flow.canvas, Qt.MouseButton.LeftButton, pos=_middle(window, 0, failure.at + 1.0)
        )
    assert visit.args == [failure.finding.key]
    assert window.document.selection.finding == failure.finding.key


def test_the_keys_go_from_failure_to_failure_and_enter_goes_there(qtbot, make_window: WindowMaker) -> None:
    file = fed_gates_file()
    file["flow"]["magazines"][1] |= {"from": "slow", "start_count": 2}
    window = make_window(read_project(as_bytes(file), "two.shaft"))
    view, canvas = window.flow, window.flow.canvas
    view.show_face("Counts")
    window.docks.show("flow")
    qtbot.waitUntil(lambda: view.picture is not None)
    assert view.picture is not None
    failing = [row for row in view.picture.rows if row.failure is not None]
    assert len(failing) >= 2
    assert window.focusWidget() is canvas
    assert canvas.chosen is None
    qtbot.keyClick(canvas, Qt.Key.Key_Down)
    assert canvas.chosen == failing[0]
    qtbot.keyClick(canvas, Qt.Key.Key_Down)
    assert canvas.chosen == failing[1]
    assert failing[1].failure is not None
    assert failing[1].failure.text in canvas.accessibleDescription()
    for _ in failing:
        qtbot.keyClick(canvas, Qt.Key.Key_Up)
    assert canvas.chosen == failing[0]
    assert failing[0].failure is not None
    with qtbot.waitSignal(view.visited) as visit:
        qtbot.keyClick(canvas, Qt.Key.Key_Return)
    assert visit.args == [failing[0].failure.finding.key]
    assert window.document.selection.finding == failing[0].failure.finding.key


def test_a_click_on_what_holds_selects_nothing(qtbot, window: MainWindow) -> None:
    for place in (_middle(window, 0, 0.5), _middle(window, 1, 3.5)):
        qtbot.mouseClick(window.flow.canvas, Qt.MouseButton.LeftButton, pos=place)
    assert window.document.selection.finding is None


def test_tips_say_counts_items_and_times(window: MainWindow) -> None:
    canvas = window.flow.canvas
    tip = canvas.tip_at(_middle(window, 1, 0.5))
    assert tip.startswith("Right\n3 of 3 at turn 1, ")
    assert "Fewest: 2 of 3, turn 1, " in tip
    assert "empty, turn 3: turn 3, " in canvas.tip_at(_middle(window, 0, 4.0)).lower()
    chute = window.flow.picture.rows[2]
    assert "left bead enters turn 1, " in canvas.tip_at(_middle(window, 2, chute.items[0].enters))
    assert canvas.tip_at(_middle(window, 2, 0.5)) == f"Main chute\n{chute.last}"


def test_the_line_of_the_shaft_stands_in_the_first_turn(window: MainWindow) -> None:
    canvas, theme = window.flow.canvas, window.theme
    window.document.set_cursor(180.0)
    image = canvas.grab().toImage()
    y = round(canvas.band(1).center().y())
    near = range(round(canvas.x_of(0.5)) - 2, round(canvas.x_of(0.5)) + 3)
    reds = [(image.pixelColor(x, y).blue() - image.pixelColor(x, y).green()) for x in near]
    accent = theme.color("accent")
    assert max(reds) > 0.5 * (accent.blue() - accent.green())


def test_while_a_block_is_held_the_last_result_stays_and_is_muted(qtbot, window: MainWindow) -> None:
    document = window.document
    before = window.flow.picture
    document.preview(place_block(document.committed, BlockRef("left", 0), 70.0))
    assert window.flow.picture.stale
    assert window.flow.picture.rows == before.rows
    assert window.flow.remark.text()
    qtbot.waitUntil(lambda: not window.flow.picture.stale)
    assert window.flow.remark.text() == ""
    document.preview(None)


def test_copy_gives_the_table(window: MainWindow) -> None:
    window.flow.copy()
    assert QGuiApplication.clipboard().text() == window.flow.picture.table


def test_a_machine_without_a_flow_says_what_will_stand_there(make_window: WindowMaker) -> None:
    made = make_window(gates())
    made.docks.show("flow")
    assert made.flow.empty.text() == EMPTY
    assert not made.flow.copy_button.isEnabled()
