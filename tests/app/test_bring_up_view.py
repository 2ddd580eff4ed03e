"""The Bring-up view: a machine cranked by keys alone, ticks by mouse, sheets, and what is kept."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from PySide6.QtCore import Qt

from shaftscore.model import Project
from shaftscore.model.loader import load_project
from shaftscore_app.document import Document
from shaftscore_app.runtime.jobs import Jobs
from shaftscore_app.theme import Theme
from shaftscore_app.views.bring_up import BringUpView
from shaftscore_app.views.bring_up.card_painting import segment_rects
from shaftscore_app.views.bring_up.session import TICKS_FIRST

Keys = Qt.Key
SAMPLE = Path(__file__).parents[2] / "sample_projects" / "tea_blender.shaft"


@pytest.fixture(scope="module")
def tea() -> Project:
    return load_project(SAMPLE)


@pytest.fixture
def view(qtbot, tea: Project) -> Iterator[BringUpView]:
    """Return the view of the tea blender, as wide as all parts need."""
    theme = Theme()
    document, jobs = Document(tea), Jobs()
    made = BringUpView(document, theme, jobs)
    qtbot.addWidget(made)
    made.resize(1240, 780)
    made.show()
    made.set_seen(True)
    qtbot.waitUntil(lambda: bool(made.session.stops))
    yield made
    jobs.close()
    theme.leave()


def ready(view: BringUpView, qtbot) -> None:
    """Set both safety ticks by keys."""
    view.crank.power_off.setFocus()
    qtbot.keyClick(view.crank.power_off, Keys.Key_Space)
    qtbot.keyClick(view.crank.springs, Keys.Key_Space)


def seen_of(view: BringUpView) -> list[dict[str, object]]:
    """Return what the newest sheet of the document holds."""
    return [dict(check.seen) for check in view._document.committed.bring_up[-1].checks]


def test_nothing_is_entered_before_both_ticks(view: BringUpView, qtbot) -> None:
    told: list[str] = []
    view.status_message.connect(told.append)
    qtbot.keyClick(view.board, Keys.Key_A)
    qtbot.keyClick(view.crank.power_off, Keys.Key_Space)
    qtbot.keyClick(view.board, Keys.Key_1)
    assert told == [TICKS_FIRST, TICKS_FIRST]
    assert (view.note.text(), view.note.isVisible()) == (TICKS_FIRST, True)
    assert view._document.committed.bring_up == ()
    qtbot.keyClick(view.crank.springs, Keys.Key_Space)
    qtbot.keyClick(view.board, Keys.Key_1)
    assert seen_of(view) == [{"assam": "closed"}]


def test_a_whole_turn_by_keys_alone(view: BringUpView, qtbot) -> None:
    """Two lanes do what the other one should: what differs is found where it was ticked."""
    ready(view, qtbot)
    session = view.session
    heard: list[str] = []
    session.spoken.connect(heard.append)
    swapped = {"assam": "ceylon", "ceylon": "assam"}
    for place in range(len(session.stops)):
        for lane_id in ("assam", "ceylon"):
            session.choose(lane_id)
            due = session.expected(swapped[lane_id])
            assert due is not None
            qtbot.keyClick(view.board, Keys(Keys.Key_1 + session.levels(lane_id).index(due.level)))
        qtbot.keyClick(view.board, Keys.Key_A)
        assert session.place == place
        qtbot.keyClick(view.board, Keys.Key_Return)
    wrong = {(session.stops[place].step_name, lane) for place, lane in session.differences()}
    assert wrong == {("Assam", "assam"), ("Assam", "ceylon"), ("Ceylon", "assam"), ("Ceylon", "ceylon")}
    assert session.checks_left == 0
    qtbot.waitUntil(lambda: not view.ranker.is_ranking, timeout=30_000)
    ranking = view.ranker.ranking
    assert ranking is not None
    assert ranking.groups[0].first.statement == "Discs A1 and A2 are swapped"
    assert view.causes.cards[0].statement.text() == "Discs A1 and A2 are swapped"
    assert "Likely: discs A1 and A2 are swapped, 4 of 4." in heard
    assert all(len(seen) >= 8 for seen in seen_of(view))
    sheet = view._document.committed.bring_up[-1]
    assert sheet.revisions is not None
    assert set(sheet.revisions) == {lane.code for lane in session.project.lanes if lane.has_disc}
    assert view._document.cursor_deg == session.stops[-1].angle_deg


def test_the_mouse_ticks_and_takes_a_tick_away(view: BringUpView, qtbot) -> None:
    ready(view, qtbot)
    card = view.board.places.cards["ceylon"]
    where = segment_rects(card, 2, view._theme.u)[1].center().toPoint()
    qtbot.mouseClick(view.board, Qt.MouseButton.LeftButton, pos=where)
    assert seen_of(view) == [{"ceylon": "open"}]
    assert view.session.differences() == ((0, "ceylon"),)
    qtbot.mouseClick(view.board, Qt.MouseButton.LeftButton, pos=where)
    assert view._document.committed.bring_up[-1].checks == ()


def test_what_cannot_be_seen_is_left_alone_by_all_as_expected(view: BringUpView, qtbot) -> None:
    ready(view, qtbot)
    qtbot.keyClick(view.board, Keys.Key_Right)
    assert view.session.lane_id == "ceylon"
    qtbot.keyClick(view.board, Keys.Key_X)
    qtbot.keyClick(view.board, Keys.Key_M)
    qtbot.keyClicks(view.measuring.field, "2,5")
    assert seen_of(view)[0]["ceylon"] is None
    qtbot.keyClick(view.measuring.field, Keys.Key_Escape)
    qtbot.keyClick(view.board, Keys.Key_A)
    assert seen_of(view)[0]["ceylon"] is None
    assert seen_of(view)[0]["assam"] == "closed"


def test_changed_discs_begin_a_new_sheet(view: BringUpView, qtbot) -> None:
    from shaftscore.edits import set_disc

    ready(view, qtbot)
    qtbot.keyClick(view.board, Keys.Key_A)
    document = view._document
    document.perform(set_disc(document.committed, "ceylon", thickness_mm=7.0))
    qtbot.waitUntil(lambda: "A2 changed since" in view.crank.sheet.text())
    assert view.session.differences() == ()
    assert not view.session.is_seen("assam")
    qtbot.keyClick(view.board, Keys.Key_1)
    assert [len(sheet.checks) for sheet in document.committed.bring_up] == [1, 1]
    document.perform(set_disc(document.committed, "ceylon", thickness_mm=7.2))
    qtbot.keyClick(view.board, Keys.Key_2)  # before the revisions are worked out beside the window
    assert [len(sheet.checks) for sheet in document.committed.bring_up] == [1, 1, 1]


def test_a_typed_angle_is_a_check_of_its_own_and_a_row_leads_back(view: BringUpView, qtbot) -> None:
    ready(view, qtbot)
    count = len(view.session.stops)
    view.crank.angle.setFocus()
    qtbot.keyClicks(view.crank.angle, "123.4")
    qtbot.keyClick(view.crank.angle, Keys.Key_Return)
    stop = view.session.stop
    assert stop is not None
    assert (len(view.session.stops), round(stop.angle_deg, 6)) == (count + 1, 123.4)
    cell = view.table.visualRect(view.table.model().index(0, 3)).center()
    qtbot.mouseClick(view.table.viewport(), Qt.MouseButton.LeftButton, pos=cell)
    assert (view.session.place, view.session.lane_id) == (0, view.session.order[3])


def test_a_table_is_read_as_one_step_and_home_is_kept(view: BringUpView, qtbot) -> None:
    told: list[str] = []
    view.status_message.connect(told.append)
    ready(view, qtbot)
    view.session.take_table("angle,A1,Ceylon\n75,opne,closed\n")
    assert "line 2" in told[-1]
    assert view._document.committed.bring_up == ()
    view.session.take_table("angle,A1,Ceylon\n75,open,closed\n105,,7.5\n")
    assert seen_of(view) == [{"assam": "open", "ceylon": "closed"}, {"ceylon": 7.5}]
    assert view._document.undo_name == "Read 3 sightings"
    choices = dict(view.crank.choices())
    choices["Let 7.0° be the home angle"]()
    home = view._document.committed.home
    assert home is not None
    assert home.angle_deg == view.session.stops[0].angle_deg
    dict(view.crank.choices())["Let the home angle be chosen"]()
    assert view._document.committed.home is None


def test_symptoms_lead_to_the_check_at_which_they_show_first(view: BringUpView, qtbot) -> None:
    qtbot.mouseClick(view.faces[2], Qt.MouseButton.LeftButton)
    qtbot.waitUntil(lambda: view.symptoms.sheet is not None, timeout=30_000)
    tree, sheet = view.symptoms.tree, view.symptoms.sheet
    assert sheet is not None
    assert set(sheet.checks) == {stop.angle_deg for stop in view.session.stops}
    texts = [
        tree.topLevelItem(n).child(k).text(0)
        for n in range(tree.topLevelItemCount())
        for k in range(tree.topLevelItem(n).childCount())
    ]
    assert any(text.startswith("Discs A1 and A2 are swapped.") for text in texts), texts
    item = tree.topLevelItem(2)
    qtbot.mouseClick(tree.viewport(), Qt.MouseButton.LeftButton, pos=tree.visualItemRect(item).center())
    stop, group = view.session.stop, sheet.groups[2]
    assert stop is not None
    assert (stop.angle_deg, view.session.lane_id) == (group.angle_deg, group.lane)


def test_counted_items_are_typed_beside_what_is_due_and_join_the_ranking(view: BringUpView, qtbot) -> None:
    ready(view, qtbot)
    qtbot.mouseClick(view.faces[1], Qt.MouseButton.LeftButton)
    counts, table = view.items.counts, view.items.table
    qtbot.waitUntil(lambda: counts.due.get("cup") == (6, 6, 6))  # six scoops a turn, says the sample
    row = counts.ends.index("cup")
    table.setFocus()
    table.setCurrentIndex(counts.index(row, 0))
    for _turn in range(3):  # Enter goes on to the next turn
        qtbot.keyClick(table, Keys.Key_5)
        qtbot.keyClick(view.focusWidget(), Keys.Key_Return)
    assert view._document.committed.bring_up[-1].arrived == {"cup": (5, 5, 5)}
    assert view._document.committed.bring_up[-1].checks == ()  # no digit was a level
    assert counts.index(row, 1).data() == "5 ≠ 6"
    qtbot.waitUntil(lambda: view.ranker.ranking is not None and view.ranker.ranking.differences == 3)
    assert view.ranker.ranking is not None
    assert view.causes.head.text() == "3 of 3 observations differ"
    table.setCurrentIndex(counts.index(row, 0))
    qtbot.keyClick(table, Keys.Key_Delete)
    assert view._document.committed.bring_up[-1].arrived == {"cup": (None, 5, 5)}
