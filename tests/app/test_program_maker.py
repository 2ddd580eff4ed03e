"""The Program maker: painting, frames, sources, meaning, places, applying, and that nothing is lost."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import pytest
from PySide6.QtCore import QEvent, QPoint, QPointF, Qt
from PySide6.QtGui import QColor, QGuiApplication, QImage, QMouseEvent
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QWidget
from pytestqt.qtbot import QtBot

from shaftscore.edits import delete_lane
from shaftscore.model import Project
from shaftscore_app.document import Document
from shaftscore_app.document.selection import Selection
from shaftscore_app.theme import Theme
from shaftscore_app.views.program import ProgramView
from shaftscore_app.views.program_result import PaintedDialog, UnappliedDialog
from shaftscore_app.widgets.dialog import Dialog
from tests.app.conftest import HandClock, WindowMaker
from tests.spice_bar import RECIPE, painted_draft, spice_bar, without_flap

LEFT, RIGHT = Qt.MouseButton.LeftButton, Qt.MouseButton.RightButton
NONE = Qt.KeyboardModifier.NoModifier
CTRL, ALT, SHIFT = (
    Qt.KeyboardModifier.ControlModifier,
    Qt.KeyboardModifier.AltModifier,
    Qt.KeyboardModifier.ShiftModifier,
)

Key = Qt.Key


@dataclass(frozen=True)
class Maker:
    """The view alone, on a document that answers at once."""

    document: Document
    view: ProgramView
    qtbot: QtBot

    def press(self, key: Qt.Key, modifiers: Qt.KeyboardModifier = NONE) -> None:
        self.qtbot.keyClick(self.view.canvas, key, modifiers)

    def click(self, frame: int, row: int, column: int, button: Qt.MouseButton = LEFT) -> None:
        QTest.mouseClick(self.view.canvas, button, NONE, self.middle(frame, row, column))

    def middle(self, frame: int, row: int, column: int) -> QPoint:
        return self.view.canvas.places.cell(frame, (row, column)).center().toPoint()

    def cells(self, frame: int) -> dict[str, str]:
        own = self.view.session.draft.frames[frame].cells
        return {lane_id: level for lane_id, level in own.items() if lane_id != "flap"}

    def settled(self) -> None:
        """Wait for what follows after painting."""
        QApplication.processEvents()
        self.qtbot.waitUntil(lambda: self.view.result.summary is not None)
        self.view._follow_late()


@pytest.fixture
def maker(qtbot: QtBot, theme: Theme, clock: HandClock) -> Maker:
    return made(Document(spice_bar(), clock=clock), qtbot, theme)


def made(document: Document, qtbot: QtBot, theme: Theme) -> Maker:
    """Show the view of a document."""
    view = ProgramView(document, theme)
    qtbot.addWidget(view)
    view.resize(1240, 780)
    view.set_seen(True)
    view.show()
    qtbot.waitExposed(view)
    view.canvas.setFocus()
    return Maker(document, view, qtbot)


def drag(widget: QWidget, places: list[QPoint], button: Qt.MouseButton = LEFT) -> None:
    """Press at the first place, go over the others and let go at the last."""
    QTest.mousePress(widget, button, NONE, places[0])
    for place in places[1:]:
        where = QPointF(place)
        event = QMouseEvent(QEvent.Type.MouseMove, where, widget.mapToGlobal(where), NONE_B, button, NONE)
        QApplication.sendEvent(widget, event)
    QTest.mouseRelease(widget, button, NONE, places[-1])


NONE_B = Qt.MouseButton.NoButton


def dialog_of(kind: type[Dialog], qtbot: QtBot) -> Dialog:
    """Wait for a dialog of a kind and return it."""

    def found() -> list[Dialog]:
        return [one for one in QApplication.topLevelWidgets() if isinstance(one, kind) and one.isVisible()]

    qtbot.waitUntil(lambda: len(found()) == 1)
    return found()[0]


def test_the_mouse_paints_and_a_stroke_is_one_step(maker: Maker) -> None:
    view = maker.view
    maker.click(1, 0, 0)
    assert maker.cells(1) == {"a1": "right"}
    QTest.mouseClick(view.brush, LEFT, NONE, view.brush.row_rect(0).center().toPoint())
    drag(view.canvas, [maker.middle(3, 1, 0), maker.middle(3, 1, 3)])
    assert maker.cells(3) == dict.fromkeys(("b1", "b2", "b3", "b4"), "left")
    drag(view.canvas, [maker.middle(3, 1, 0), maker.middle(3, 1, 1)], RIGHT)
    assert maker.cells(3) == dict.fromkeys(("b3", "b4"), "left")
    maker.press(Key.Key_Z, CTRL)
    assert len(maker.cells(3)) == 4
    maker.press(Key.Key_Z, CTRL)
    assert maker.cells(3) == {}
    maker.press(Key.Key_Y, CTRL)
    assert len(maker.cells(3)) == 4
    assert not maker.document.can_undo


def test_every_key_of_the_frames(maker: Maker) -> None:
    session, view = maker.view.session, maker.view
    session.choose_cell(3, (0, 2))
    maker.press(Key.Key_3)
    assert view.canvas.accessibleDescription() == (
        "Frame 4, Red. Row 1, column 3, lane A3: right, 16 millimetres, visit."
    )
    maker.press(Key.Key_Right)
    maker.press(Key.Key_Space)
    maker.press(Key.Key_Right)
    assert (session.frame, session.cell) == (4, (0, 0))
    maker.press(Key.Key_1)
    assert maker.cells(3) == {"a3": "right", "a4": "right"}
    assert maker.cells(4) == {"a1": "left"}
    maker.press(Key.Key_Backspace)
    assert maker.cells(4) == {}
    assert "lane A1: rest, at rest." in view.canvas.accessibleDescription()
    maker.press(Key.Key_Left, CTRL)
    assert session.frame == 3
    maker.press(Key.Key_M)
    assert maker.cells(3) == {"a1": "right", "a2": "right"}
    maker.press(Key.Key_S)
    maker.press(Key.Key_Down)
    assert maker.cells(3) == {"b1": "right", "b2": "right"}
    maker.press(Key.Key_S)
    maker.press(Key.Key_Left, SHIFT)
    assert maker.cells(3) == {"b4": "right", "b1": "right"}
    maker.press(Key.Key_S)
    maker.press(Key.Key_Left)
    assert maker.cells(3) == {"b3": "right"}


def test_whole_frames_are_copied_moved_and_named(maker: Maker) -> None:
    session, canvas = maker.view.session, maker.view.canvas
    names = lambda: [frame.name for frame in session.draft.frames]  # noqa: E731
    maker.click(3, 0, 2)
    maker.press(Key.Key_C, CTRL)
    assert QGuiApplication.clipboard().text() == "..3.\n....\n....\n...."
    maker.press(Key.Key_V, CTRL)
    assert (session.frame, names()[3:5]) == (4, ["Red", "Red"])
    assert maker.cells(4) == {"a3": "right"}
    maker.press(Key.Key_X, CTRL)
    assert names() == [frame.name for frame in painted_draft(spice_bar()).frames]
    maker.press(Key.Key_Left, ALT)
    assert (session.frame, names()[3:5]) == (3, ["Round", "Red"])
    maker.press(Key.Key_D, CTRL)
    assert names()[3:6] == ["Round", "Round", "Red"]
    maker.press(Key.Key_F2)
    maker.qtbot.keyClicks(canvas.name, "Twice")
    maker.qtbot.keyClick(canvas.name, Key.Key_Return)
    assert names()[4] == "Twice"
    QGuiApplication.clipboard().setText("#...\n\n....\n...#")
    maker.press(Key.Key_V, CTRL)
    assert [maker.cells(frame) for frame in (5, 6)] == [{"a1": "right"}, {"b4": "right"}]
    assert session.project.lane("a1").levels["right"] == 16.0


def test_apply_writes_one_step_and_selected_lanes_alone(qtbot: QtBot, theme: Theme) -> None:
    """By hand: 5 visits of 4 lanes, a rest beside each; A3 holds 20° from 151° on, and 15° would fit."""
    document = Document(spice_bar("A"))
    maker = made(document, qtbot, theme)
    view = maker.view
    view.session.set_draft(painted_draft(document.project).with_meaning(("a3",), hold_deg=20.0))
    maker.settled()
    assert [label.text() for label in view.result.values] == [
        "5 in 4 lanes",
        "10 new, 2 kept",
        "10, 14.0° each, modified sine",
        "3 of 8 gates never open",
        "every move has time; 1 visit returns late",
    ]
    document.select(Selection("a3"))
    maker.settled()
    before = document.committed
    maker.qtbot.mouseClick(view.result.selected, LEFT)
    a3 = document.committed.lane("a3").blocks
    assert (a3[0].level, a3[0].start_deg, a3[0].end_deg) == ("right", 151.0, 171.0)
    assert document.committed.lane("a4").blocks == ()
    maker.settled()
    assert view.is_unapplied
    maker.qtbot.mouseClick(view.result.fitting, LEFT)
    maker.settled()
    assert view.session.draft.meanings["a3"].hold_deg == 15.0
    maker.qtbot.mouseClick(view.result.apply, LEFT)
    assert not view.is_unapplied
    a3 = document.committed.lane("a3").blocks
    assert (a3[0].start_deg, a3[0].end_deg) == (151.0, 166.0)
    assert document.undo_name == "Make the program of 4 lanes"
    document.undo()
    document.undo()
    assert document.committed == before
    maker.qtbot.waitUntil(lambda: maker.cells(3) == {})
    maker.press(Key.Key_Z, CTRL)  # the maker's own undo brings the frames back
    assert maker.cells(3) == {"a3": "right"}
    assert view.is_unapplied
    assert before.lane("flap") is document.committed.lane("flap")


def test_a_truth_table_marks_contradictions_and_guards_what_was_painted(maker: Maker) -> None:
    view = maker.view
    maker.qtbot.mouseClick(view.sources[1], LEFT)
    maker.click(0, 2, 2)
    for line in ("p q A1", "0 1 left", "0 - right"):
        maker.qtbot.keyClicks(view.truth.text, line)
        maker.qtbot.keyClick(view.truth.text, Key.Key_Return)
    maker.qtbot.waitUntil(lambda: "Line 2: says left, line 3 says right" in view.truth.fault.text())
    lines = [mark.cursor.blockNumber() + 1 for mark in view.truth.text.extraSelections()]
    assert lines == [2, 3]
    maker.qtbot.mouseClick(view.truth.make, LEFT)
    assert maker.cells(0) == {"c3": "right"}
    assert view.is_unapplied
    view.truth.text.setPlainText("p q A1\n0 1 left\nA2 right = p and not q")
    maker.qtbot.mouseClick(view.truth.make, LEFT)
    dialog = dialog_of(PaintedDialog, maker.qtbot)
    maker.qtbot.mouseClick(dialog.button("Make frames"), LEFT)
    assert [maker.cells(frame) for frame in range(3)] == [{"c3": "right"}, {"a1": "left"}, {"a2": "right"}]
    maker.qtbot.waitUntil(lambda: view.truth.fault.text() == "")


def test_sequences_and_pasted_cells_make_frames(maker: Maker) -> None:
    view = maker.view
    maker.qtbot.mouseClick(view.sources[2], LEFT)
    view.sequence.code.setFocus()
    maker.qtbot.keyClick(view.sequence.code, Key.Key_G)  # Gray code
    view.sequence.code.activated.emit(view.sequence.code.currentIndex())
    maker.qtbot.keyClick(view.sequence.first, Key.Key_A, CTRL)
    maker.qtbot.keyClicks(view.sequence.first, "2")
    maker.qtbot.keyClick(view.sequence.first, Key.Key_Return)
    maker.qtbot.mouseClick(view.sequence.make, LEFT)
    assert sorted(maker.cells(0)) == ["a1", "a2"]  # Gray code of 2 is 11
    assert sorted(maker.cells(1)) == ["a2"]
    maker.qtbot.mouseClick(view.sources[3], LEFT)
    view.paste.text.setPlainText("Step\tA1\tC4\n" + "\n".join(f"{n}\tleft\trest" for n in range(1, 9)))
    assert view.paste.is_unmade
    maker.qtbot.mouseClick(view.paste.make, LEFT)
    assert maker.cells(7)["a1"] == "left"
    assert not view.paste.is_unmade
    view.paste.text.setPlainText("?")
    maker.qtbot.mouseClick(view.paste.make, LEFT)
    assert "is not a mark of text art" in view.paste.fault.text()


def test_images_and_texts_become_frames(maker: Maker, tmp_path: Path) -> None:
    """Two pictures side by side, 4 x 3 cells of 8 pixels; what is clear counts as white."""
    image = QImage(64, 24, QImage.Format.Format_ARGB32)
    image.fill(QColor(0, 0, 0, 0))
    for row, column in ((0, 1), (2, 7)):
        for x in range(8):
            for y in range(8):
                image.setPixelColor(column * 8 + x, row * 8 + y, QColor("navy"))
    image.save(str(tmp_path / "two.png"))
    maker.view.session.set_grid(without_flap(maker.view.session.draft))
    maker.view.session.choose_frame(4)
    maker.view.open_image(tmp_path / "two.png")
    assert (maker.cells(4), maker.cells(5)) == ({"a2": "right"}, {"c4": "right"})
    assert maker.view.session.draft.frames[4].name == "Round"
    said: list[str] = []
    maker.view.status_message.connect(said.append)
    (tmp_path / "no.png").write_bytes(b"nothing")
    maker.view.open_image(tmp_path / "no.png")
    assert said[-1].startswith("no.png: no.png cannot be read as an image")
    (tmp_path / "art.txt").write_text("1...\n", encoding="utf-8")
    maker.view.session.choose_frame(0)
    maker.view.open_text(tmp_path / "art.txt")
    assert maker.cells(0) == {"a1": "right"}


def test_meanings_and_times_are_set_by_group_and_by_lane(maker: Maker) -> None:
    view, meaning = maker.view, maker.view.meaning
    maker.settled()
    assert [row.own.name for row in meaning.rows] == ["A1 to A4", "B1 to B4", "C1 to C4", "D1"]
    row = meaning.row_of("b2")
    maker.qtbot.keyClick(row.hold, Key.Key_A, CTRL)
    maker.qtbot.keyClicks(row.hold, "7")
    maker.qtbot.keyClick(row.hold, Key.Key_Return)
    maker.qtbot.mouseClick(row.fold, LEFT)
    assert [one.own.name for one in meaning.rows[1:6]] == ["B1 to B4", "B1", "B2", "B3", "B4"]
    alone = next(one for one in meaning.rows if one.own.lanes == ("b2",))
    alone.kind.setFocus()
    maker.qtbot.keyClick(alone.kind, Key.Key_U)
    alone.kind.activated.emit(alone.kind.currentIndex())
    found = view.session.draft.meanings
    assert [found[own].hold_deg for own in ("b1", "b2", "b3", "b4")] == [7.0] * 4
    assert (found["b2"].kind, found["b1"].kind) == ("stay", "visit")
    field = meaning.times["first_deg"]
    maker.qtbot.keyClick(field, Key.Key_A, CTRL)
    maker.qtbot.keyClicks(field, "16")
    maker.qtbot.keyClick(field, Key.Key_Return)
    assert view.session.draft.timing.first_deg == 16.0
    assert meaning.info.text() == "Items keep apart in their channels from 12.0° (400 ms) on."


def test_lanes_are_dragged_and_left_out(maker: Maker) -> None:
    view, lanes = maker.view, maker.view.lanes
    middle = lambda row, column: lanes.place_rect((row, column)).center().toPoint()  # noqa: E731
    drag(lanes, [middle(0, 0), middle(2, 3)])
    assert view.session.draft.grid.cells[0][0] == "c4"
    assert view.session.draft.grid.cells[2][3] == "a1"
    maker.qtbot.keyClick(lanes, Key.Key_Up, CTRL)
    assert view.session.draft.grid.cells[1][3] == "a1"
    maker.qtbot.keyClick(lanes, Key.Key_Delete)
    assert lanes.left_out == ("a1",)
    assert lanes.accessibleDescription() == "Row 2, column 4: empty. Left out: A1."
    drag(lanes, [lanes.chip_rect(0).center().toPoint(), middle(3, 3)])
    assert view.session.draft.grid.cells[3][3] == "a1"
    maker.qtbot.keyClick(view.rows, Key.Key_A, CTRL)
    maker.qtbot.keyClicks(view.rows, "1")
    maker.qtbot.keyClick(view.rows, Key.Key_Return)
    assert view.session.draft.grid.rows == 1
    assert len(lanes.left_out) == 9
    maker.press(Key.Key_Z, CTRL)
    assert view.session.draft.grid.rows == 4


def test_tab_goes_lanes_brush_frames_meaning_result(maker: Maker) -> None:
    view = maker.view
    maker.click(0, 0, 0)
    maker.settled()
    view.activateWindow()
    view.lanes.setFocus()
    seen: list[QWidget] = []
    for _ in range(60):
        seen.append(view.window().focusWidget())
        maker.qtbot.keyClick(seen[-1], Key.Key_Tab)
    order = (view.brush, view.canvas, view.meaning.rows[0].rest, view.meaning.times["move_deg"])
    order += (view.preview.table, view.result.apply, view.sources[0], view.lanes)
    places = [seen.index(view.lanes), *(seen.index(stop, 1) for stop in order)]
    assert places == sorted(places)


def test_the_preview_goes_step_by_step_and_plays(maker: Maker) -> None:
    view = maker.view
    view.session.set_draft(painted_draft(maker.document.project))
    maker.settled()
    preview = view.preview
    maker.qtbot.mouseClick(preview.on, LEFT)
    maker.settled()
    assert preview.step.text() == "Step 2 of 8, Warm, 45.0°"
    assert preview.picture.accessibleDescription() == "Step 2 of 8, Warm, 45.0°: A1 left, B3 right"
    model = preview.model
    texts = [model.data(model.index(1, column)) for column in range(model.columnCount())]
    assert texts == ["left", *["rest"] * 5, "right", *["rest"] * 5, "jar"]
    keeps = model.data(model.index(1, 12), Qt.ItemDataRole.AccessibleTextRole)
    assert keeps == "2 Warm, D1: jar, keeps its program"
    maker.qtbot.mouseClick(preview.play, LEFT)
    maker.qtbot.waitUntil(lambda: view.session.frame == 2)
    maker.qtbot.mouseClick(preview.play, LEFT)
    assert not preview.is_playing


def test_what_is_unapplied_outlives_edits_of_the_machine(maker: Maker) -> None:
    view, document = maker.view, maker.document
    maker.click(3, 0, 2)
    maker.click(3, 0, 0)
    document.perform(delete_lane(document.committed, "a3"))
    maker.qtbot.waitUntil(lambda: maker.cells(3) == {"a1": "right"})
    assert view.is_unapplied
    view.discard()
    assert not view.is_unapplied
    document.undo()
    maker.qtbot.waitUntil(lambda: "a3" in view.session.draft.grid.lanes)


def test_a_small_view_shows_one_part_at_a_time(maker: Maker) -> None:
    view = maker.view
    view.resize(620, 420)
    maker.qtbot.waitUntil(view.pages[0].isVisible)
    parts: list[tuple[int, QWidget]] = [
        (0, view.lanes),
        (1, view.canvas),
        (2, view.meaning),
        (3, view.preview),
        (4, view.result),
    ]
    for page, _part in parts:
        maker.qtbot.mouseClick(view.pages[page], LEFT)
        assert [one.isVisible() for _, one in parts] == [number == page for number, _ in parts]
    view.resize(1240, 780)
    maker.qtbot.waitUntil(lambda: not view.pages[0].isVisible())
    assert all(one.isVisible() for _, one in parts)


def test_nothing_unapplied_is_lost_by_closing(qtbot: QtBot, make_window: WindowMaker) -> None:
    """Its dock, another file and the window ask first; Apply, Discard and Cancel do what they say."""
    window = make_window(spice_bar("A"))
    window.actions_table["lane.program"].trigger()
    dock, view = window.docks["program"], window.docks.view(ProgramView)
    qtbot.waitUntil(lambda: view.isVisible() and view.canvas.isVisible())
    view.session.choose_cell(3, (0, 2))
    view.session.paint(2)
    press: Callable[[str], None] = lambda text: qtbot.mouseClick(  # noqa: E731
        dialog_of(UnappliedDialog, qtbot).button(text), LEFT
    )
    dock.close()
    press("Cancel")
    assert dock.isVisible()
    assert view.session.chosen.level("a3") == "right"
    window.close()
    press("Cancel")
    assert window.isVisible()
    qtbot.mouseClick(view.result.cancel, LEFT)
    press("Apply")
    qtbot.waitUntil(lambda: not dock.isVisible())
    assert [b.level for b in window.document.committed.lane("a3").blocks] == ["right", "rest"]
    window.actions_table["lane.program"].trigger()
    view.paste.text.setPlainText("not made yet")
    dock.close()
    press("Discard")
    assert not dock.isVisible()
    assert view.paste.text.toPlainText() == ""


def test_the_recipe_is_what_the_frames_show() -> None:
    project: Project = spice_bar()
    assert [dict(frame.cells) for frame in painted_draft(project).frames] == list(RECIPE)


@pytest.mark.long  # every change examines ten cycles of both machines
def test_a_counter_with_carry_is_added_beside_a_machine(maker: Maker) -> None:
    view, qtbot = maker.view, maker.qtbot
    before = len(maker.document.committed.lanes)
    qtbot.mouseClick(view.sources[4], LEFT)
    assert "Tens: 0\u00a0abcdef  1\u00a0bc" in view.counter.states.text()
    qtbot.keyClick(view.counter.digits, Key.Key_A, CTRL)
    qtbot.keyClicks(view.counter.digits, "3")
    qtbot.keyClick(view.counter.digits, Key.Key_Return)
    qtbot.mouseClick(view.counter.add, LEFT)
    assert "carry between two digits only" in view.counter.fault.text()
    qtbot.keyClick(view.counter.digits, Key.Key_A, CTRL)
    qtbot.keyClicks(view.counter.digits, "2")
    qtbot.keyClick(view.counter.digits, Key.Key_Return)
    qtbot.mouseClick(view.counter.add, LEFT)
    assert len(maker.document.committed.lanes) == before + 14
    assert maker.document.committed.stacks[-1].steps_from is not None
    maker.document.undo()
    assert len(maker.document.committed.lanes) == before
