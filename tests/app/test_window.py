"""The whole window, with real events: menus, files, undo, themes, arrangement."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from PySide6.QtCore import QMimeData, QPointF, Qt, QUrl
from PySide6.QtGui import QColor, QDropEvent, QGuiApplication, QImage, QKeySequence
from PySide6.QtWidgets import QDialog, QLabel, QMenu, QToolButton, QWidget

from shaftscore.edits import BlockRef, place_block, set_disc, set_flow
from shaftscore.model.flow import Flow, Magazine, Supply
from shaftscore.model.saved import saved_form
from shaftscore_app.commands.files import READ
from shaftscore_app.dialogs.files import RefusedDialog, UnsavedDialog
from shaftscore_app.frame.main_window import MainWindow
from shaftscore_app.keeping import PersonStore
from shaftscore_app.menus.actions import COMMANDS, MENUS, key_text
from shaftscore_app.views.disc import DiscView
from shaftscore_app.views.load import LoadsView
from shaftscore_app.views.state_table import StateTableView
from shaftscore_app.widgets.dialog import Dialog
from tests.app.conftest import Answers, WindowMaker
from tests.app.machines import as_bytes, gates, gates_file

RIGHT = BlockRef("right", 0)


def _move(window: MainWindow, deg: float = 200.0) -> None:
    window.document.perform(place_block(window.document.committed, RIGHT, deg))


def _dialog(window: MainWindow) -> Dialog:
    shown = [dialog for dialog in window.findChildren(Dialog) if dialog.isVisible()]
    assert len(shown) == 1
    return shown[0]


def _no_dialog(window: MainWindow) -> bool:
    return not [dialog for dialog in window.findChildren(Dialog) if dialog.isVisible()]


def _press(qtbot, window: MainWindow, text: str) -> None:
    qtbot.mouseClick(_dialog(window).button(text), Qt.MouseButton.LeftButton)
    _was_read(qtbot, window)


def _trigger(window: MainWindow, command_id: str) -> None:
    action = window.actions_table[command_id]
    window.actions_table.refresh()
    assert action.isEnabled(), action.statusTip()
    action.trigger()


# Menus


def _bar_menus(window: MainWindow) -> dict[str, QMenu]:
    bar = window.menuBar()
    return {name: action.menu() for name, action in zip(MENUS, bar.actions(), strict=True)}


def test_every_command_stands_once_in_its_menu_in_order(window: MainWindow) -> None:
    for name, menu in _bar_menus(window).items():
        shown = [action.objectName() for action in menu.actions() if not action.isSeparator()]
        assert shown == [command.id for command in COMMANDS if command.menu == name]


def test_no_two_commands_have_one_key_or_one_letter(window: MainWindow) -> None:
    keys = [key for command in COMMANDS if command.keys for key in key_text(command).split(", ")]
    assert len(keys) == len(set(keys))
    assert all(QKeySequence(key).toString() for command in COMMANDS for key in command.keys)
    for menu in _bar_menus(window).values():
        items = [action for action in menu.actions() if not action.isSeparator()]
        letters = [action.text().lower().partition("&")[2][:1] for action in items]
        some = [letter for letter in letters if letter]
        assert len(some) == len(set(some)), letters
        # View has nearly as many items as there are letters: one without has a key of its own.
        assert all(letter or action.shortcuts() for letter, action in zip(letters, items, strict=True))


def test_every_item_says_what_it_does_or_why_it_cannot(window: MainWindow) -> None:
    window.document.close()
    window.actions_table.refresh()
    for command in COMMANDS:
        action = window.actions_table[command.id]
        assert action.statusTip()
        assert action.isEnabled() == (action.statusTip() == command.does)


MENUS_OF_THE_DESIGN = {
    "file": "New, New from sample, Open, Open recent, Save, Save as, Revert to saved, Export discs, "
    "Export diagram, Build manual, Print, Close, Quit",
    "edit": "Undo, Redo, Cut, Copy, Paste, Duplicate, Delete, Select all, Select nothing, "
    "Find lane, Settings",
    "lane": "New lane, Rename, Levels, Follower, Disc, Load, Shift in time, Correct from measurements, "
    "Group, Move up, Move down, Isolate, Hide, Show all, Delete lane",
    "block": "Add, Set values, Level up, Level down, Switch edge, Lock, Window, Law of the move, "
    "Repeat round the turn, Mirror in time, Insert time, Keep move lengths, Snap, Free zones",
    "machine": "Shaft and steps, Motor and drive train, Stacks and order, Rules between lanes, Flow, "
    "Tolerances, Limits, Size base circles, Fastest safe speed",
    "prove": "Next finding, Previous finding, Apply fix, Arrange timing, Chance of working, "
    "Check exported files, Check these lanes alone, Parts to reprint",
    "view": "Findings, State table, Disc, Properties, Load, Motion, Flow, Stack, Shaft, Coverage, "
    "Timing diagram, Zoom in, Zoom out, Whole turn, Fit lanes, Play, Go to angle, Theme, Text size, "
    "Reduce motion, Default arrangement, Full screen",
    "help": "Guide, Shortcuts, Samples, Cautions, About",
}
"""Every item of every menu, as the design names them."""


def test_every_item_of_the_design_is_there_and_works_or_says_why_not(window: MainWindow) -> None:
    window.actions_table.refresh()
    for menu, named in MENUS_OF_THE_DESIGN.items():
        own = {c.title.replace("&", "").rstrip("…"): c.id for c in COMMANDS if c.menu == menu}
        assert not set(named.split(", ")) - set(own)


QUIET = {"file.quit", "file.print", "view.full_screen"}
"""Commands with a test of their own below."""


def _choose_a_cure(window: MainWindow) -> None:
    report = window.document.report
    cured = [found for found in report.findings if found.cure is not None and found.cure.edit]
    window.document.select_finding(cured[0].key)


def _look_closely(window: MainWindow) -> None:
    window.diagram.zoom_in()
    window.diagram.set_height("left", 100.0)


def _give_a_base(window: MainWindow) -> None:
    window.document.perform(set_disc(window.document.committed, "left", base_radius_mm=50.0))


def _describe_a_magazine(window: MainWindow) -> None:
    flow = Flow(supplies=(Supply(id="silo"),), magazines=(Magazine(id="bin", source="silo", capacity=4),))
    window.document.perform(set_flow(window.document.committed, flow))
    window.document.select_blocks(BlockRef("right", 1))


READY: dict[str, Callable[[MainWindow], object]] = {
    "edit.select_all": lambda window: window.document.select_lane("right"),
    "edit.paste": lambda window: window.groups.timing.copy(),
    "edit.copy": lambda _window: QGuiApplication.clipboard().clear(),
    "block.up": lambda window: window.document.select_blocks(BlockRef("right", 1)),
    "block.rule": lambda window: window.document.select_blocks(BlockRef("left", 0), BlockRef("right", 1)),
    "block.gates": _describe_a_magazine,
    "block.mirror": lambda window: window.document.select_lane("right"),
    "lane.show_all": lambda window: window.diagram.hide_lanes(),
    "machine.sizes": _give_a_base,
    "prove.cure": _choose_a_cure,
    "view.whole_turn": _look_closely,
    "view.fit_lanes": _look_closely,
    "view.default": lambda window: window.docks["disc"].hide(),
    "view.diagram": lambda window: window.docks.show("findings"),
    "view.float": lambda window: window.docks.show("load"),
    "view.close": lambda window: window.docks.show("load"),
    "view.wider": lambda window: window.docks.show("disc"),
    "view.narrower": lambda window: window.docks.show("disc"),
    "view.taller": lambda window: window.docks.show("load"),
    "view.shorter": lambda window: window.docks.show("load"),
}
"""What must be there before a command can be seen to do something."""


@pytest.mark.parametrize("menu", MENUS)
def test_no_item_is_dead(qtbot, window: MainWindow, answers: Answers, tmp_path: Path, menu: str) -> None:
    """Every item changes something that can be seen: the document, a view, a dialog, a menu, the focus."""
    tried = [command for command in COMMANDS if command.menu == menu and command.id not in QUIET]
    assert tried
    answers.file, answers.target = tmp_path / "gates.shaft", tmp_path / "other.shaft"
    answers.out = tmp_path
    answers.table = tmp_path / "points.csv"
    answers.table.write_text("theta_deg,output_mm\n0,0\n90,5\n180,10\n")
    begun: object = None
    for command in tried:
        _leave_dialogs(qtbot, window)
        if _seen(window) != begun:
            _begin_anew(qtbot, window, tmp_path / "gates.shaft")
            begun = _seen(window)
        if command.id == "edit.redo":
            window.document.undo()
        if command.id in READY:
            READY[command.id](window)
        QGuiApplication.processEvents()  # nothing that was done before may be taken for what it does
        before = _seen(window)
        if command.kind == "menu":
            shown = window.actions_table[command.id].menu()
            shown.aboutToShow.emit()
            assert [action for action in shown.actions() if action.isEnabled()], command.id
            continue
        _trigger(window, command.id)
        qtbot.waitUntil(lambda before=before: _seen(window) != before)
        assert window.player.is_playing == (command.id == "view.play")


def _leave_dialogs(qtbot, window: MainWindow) -> None:
    """Close all dialogs, which ends what they have begun, and go back to the diagram."""
    window.player.pause()
    for dialog in [one for one in window.findChildren(Dialog) if one.isVisible()]:
        dialog.reject()
    qtbot.waitUntil(lambda: _no_dialog(window))
    window.diagram.setFocus()


def _begin_anew(qtbot, window: MainWindow, file: Path) -> None:
    """Bring a window back to the two gates, saved and with one step to undo, whatever was done with it."""
    window.document.check_alone(None)
    window.document.new(gates())
    window.document.save(file)
    window.store.versions.keep(file)
    window.settings.remember_file(file)
    window.theme.set_choice("light")
    window.docks.arrange()
    window.diagram.show_all_lanes()
    window.diagram.setFocus()
    _move(window)
    window.document.select_blocks(RIGHT)
    window.document.set_cursor(100.0)
    qtbot.waitUntil(lambda: window.document.is_late_current, timeout=20_000)


def _seen(window: MainWindow) -> tuple[object, ...]:
    document = window.document
    focus = window.focusWidget()
    return (
        document.project,
        document.selection,
        document.cursor_deg,
        document.path,
        document.is_modified,
        document.is_started,
        window.settings.values,
        window.player.is_playing,
        window.diagram.frame,
        [
            (dock.isVisible(), dock.isFloating())
            for dock in map(window.docks.__getitem__, window.docks.names())
        ],
        [type(dialog) for dialog in window.findChildren(Dialog) if dialog.isVisible()],
        id(focus),
        focus.selectedText() if hasattr(focus, "selectedText") else "",
        window.theme.choice,
        window.diagram.doing.grip,
        QGuiApplication.clipboard().text(),
    )


def test_full_screen_and_back(qtbot, window: MainWindow) -> None:
    _trigger(window, "view.full_screen")
    qtbot.waitUntil(window.isFullScreen)
    _trigger(window, "view.full_screen")
    qtbot.waitUntil(lambda: not window.isFullScreen())


# Undo, by keys and by the toolbar


def test_undo_and_redo_by_keys_name_the_step(qtbot, window: MainWindow) -> None:
    before = window.document.project
    _move(window)
    assert window.actions_table["edit.undo"].text() == "&Undo Move Right open to 200.0°"
    window.activateWindow()
    qtbot.waitUntil(window.isActiveWindow)
    qtbot.keyClick(window, Qt.Key.Key_Z, Qt.KeyboardModifier.ControlModifier)
    assert window.document.project is before
    assert window.actions_table["edit.redo"].text() == "&Redo Move Right open to 200.0°"
    qtbot.keyClick(
        window, Qt.Key.Key_Z, Qt.KeyboardModifier.ControlModifier | Qt.KeyboardModifier.ShiftModifier
    )
    assert window.document.project is not before


def test_a_long_press_on_undo_lists_the_steps(window: MainWindow) -> None:
    for deg in (200.0, 210.0, 220.0):
        _move(window, deg)
    button = window.toolbar.widgetForAction(window.actions_table["edit.undo"])
    assert isinstance(button, QToolButton)
    button.menu().aboutToShow.emit()
    steps = button.menu().actions()
    assert [step.text() for step in steps] == [f"Move Right open to {deg:.1f}°" for deg in (220, 210, 200)]
    steps[1].trigger()
    assert window.document.project.lane("right").blocks[0].start_deg == 200.0


class OtherClipboard:
    """A clipboard that another program holds; each question to it may take seconds."""

    def __init__(self) -> None:
        self.asked = 0

    def ownsClipboard(self) -> bool:
        return False

    def text(self) -> str:
        self.asked += 1
        return "not blocks"


def test_another_programs_clipboard_is_only_asked_when_somebody_wants_it(
    qtbot, window: MainWindow, monkeypatch: pytest.MonkeyPatch
) -> None:
    other, paste = OtherClipboard(), window.actions_table["edit.paste"]
    window.groups.timing.copy()
    monkeypatch.setattr(QGuiApplication, "clipboard", lambda: other)
    window.groups.timing._clipboard_changed()
    _move(window)
    window.document.undo()
    assert (other.asked, paste.isEnabled()) == (0, True)
    edit = next(action.menu() for action in window.menuBar().actions() if action.text() == "&Edit")
    edit.popup(window.mapToGlobal(window.rect().center()))
    qtbot.waitUntil(edit.isVisible)
    assert (other.asked, paste.isEnabled()) == (1, False)
    assert paste.statusTip() == "There are no blocks on the clipboard"
    edit.close()
    _move(window)
    assert other.asked == 1


# Files


def test_the_title_names_the_file_and_shows_changes(window: MainWindow, tmp_path: Path) -> None:
    assert window.windowTitle() == "Two gates[*] – Shaftscore"
    window.document.save(tmp_path / "gates.shaft")
    assert (window.windowTitle(), window.isWindowModified()) == ("gates.shaft[*] – Shaftscore", False)
    _move(window)
    assert window.isWindowModified()
    window.document.undo()
    assert not window.isWindowModified()


def test_save_as_then_open(qtbot, window: MainWindow, answers: Answers, tmp_path: Path) -> None:
    answers.target = tmp_path / "mine.shaft"
    _move(window)
    _trigger(window, "file.save")
    assert answers.target.read_bytes() == saved_form(window.document.project)
    assert window.settings.recent_files() == [answers.target]
    other = tmp_path / "other.shaft"
    other.write_bytes(as_bytes(gates_file(name="Another")))
    answers.file = other
    _trigger(window, "file.open")
    _was_read(qtbot, window)
    assert (window.document.project.name, window.document.path) == ("Another", other)
    assert window.settings.recent_files() == [other, tmp_path / "mine.shaft"]


def test_a_file_refused_shows_all_faults_and_leaves_the_project(
    qtbot, window: MainWindow, answers: Answers, tmp_path: Path
) -> None:
    bad = gates_file()
    bad["lanes"][0]["blocks"][0]["level"] = "opne"
    bad["lanes"][1]["blocks"][0]["start_deg"] = -5.0
    path = tmp_path / "bad.shaft"
    path.write_bytes(as_bytes(bad))
    before = window.document.project
    answers.file = path
    _trigger(window, "file.open")
    _was_read(qtbot, window)
    dialog = _dialog(window)
    assert isinstance(dialog, RefusedDialog)
    text = dialog.list.toPlainText()
    assert "lanes[0].blocks[0].level" in text
    assert '"opne"' in text
    assert "lanes[1].blocks[0].start_deg" in text
    _press(qtbot, window, "Copy the list")
    from PySide6.QtGui import QGuiApplication

    assert QGuiApplication.clipboard().text() == text
    assert dialog.isVisible()
    good = tmp_path / "good.shaft"
    good.write_bytes(as_bytes(gates_file(name="Good")))
    answers.file = good
    assert window.document.project is before
    _press(qtbot, window, "Choose another")
    assert window.document.project.name == "Good"


def _was_read(qtbot, window: MainWindow) -> None:
    """Wait for what is read beside the window."""
    qtbot.waitUntil(lambda: not window.jobs.is_busy(READ))


def test_the_last_of_two_files_wanted_is_the_one_that_opens(
    qtbot, window: MainWindow, tmp_path: Path
) -> None:
    paths = [tmp_path / f"{name}.shaft" for name in ("one", "two", "three")]
    for path in paths:
        path.write_bytes(as_bytes(gates_file(name=path.stem)))
        window.groups.files.open(path)
    _was_read(qtbot, window)
    assert (window.document.path, window.document.project.name) == (paths[2], "three")
    assert window.settings.recent_files() == [paths[2]]
    other = PersonStore(tmp_path / "data").open_files
    assert [other.hold(path) is None for path in paths] == [True, True, False]
    other.release_all_but(None)


def test_what_is_edited_while_a_file_is_read_is_asked_about(
    qtbot, window: MainWindow, tmp_path: Path
) -> None:
    window.document.save(tmp_path / "mine.shaft")
    other = tmp_path / "other.shaft"
    other.write_bytes(as_bytes(gates_file(name="Other")))
    window.groups.files.open(other)
    _move(window)
    changed = window.document.project
    _was_read(qtbot, window)
    assert isinstance(_dialog(window), UnsavedDialog)
    assert window.document.project is changed
    _press(qtbot, window, "Don’t save")
    assert window.document.project.name == "Other"


def test_a_newer_file_says_so(qtbot, window: MainWindow, tmp_path: Path) -> None:
    path = tmp_path / "newer.shaft"
    path.write_bytes(as_bytes(gates_file(version=3)))
    window.groups.files.open(path)
    _was_read(qtbot, window)
    assert "newer" in _dialog(window).list.toPlainText()


def test_a_disk_that_refuses_is_said_and_nothing_is_lost(
    qtbot, window: MainWindow, answers: Answers, tmp_path: Path
) -> None:
    answers.target = tmp_path / "not there" / "a.shaft"
    _move(window)
    _trigger(window, "file.save")
    assert _dialog(window).windowTitle() == "Save"
    assert window.document.is_modified


@pytest.mark.parametrize("answer", ["Save", "Don’t save", "Cancel"])
def test_changes_are_asked_about_before_another_file_opens(
    qtbot, window: MainWindow, answers: Answers, tmp_path: Path, answer: str
) -> None:
    mine, other = tmp_path / "mine.shaft", tmp_path / "other.shaft"
    window.document.save(mine)
    other.write_bytes(as_bytes(gates_file(name="Other")))
    _move(window)
    changed = window.document.project
    window.groups.files.open(other)
    assert isinstance(_dialog(window), UnsavedDialog)
    assert window.document.project is changed
    _press(qtbot, window, answer)
    assert (window.document.project is changed) == (answer == "Cancel")
    assert (mine.read_bytes() == saved_form(changed)) == (answer == "Save")


@pytest.mark.parametrize("answer", ["Don’t save", "Cancel", "Escape"])
def test_closing_the_window_asks_and_cancel_keeps_it_alive(qtbot, window: MainWindow, answer: str) -> None:
    _move(window)
    window.close()
    assert window.isVisible()
    if answer == "Escape":
        qtbot.keyClick(_dialog(window), Qt.Key.Key_Escape)
    else:
        _press(qtbot, window, answer)
    assert window.isVisible() == (answer != "Don’t save")
    if window.isVisible():
        window.document.undo()
        assert window.document.redo_name
        window.document.redo()
        window.close()
        assert isinstance(_dialog(window), UnsavedDialog)


def test_going_back_to_the_saved_file(qtbot, window: MainWindow, tmp_path: Path) -> None:
    window.document.save(tmp_path / "a.shaft")
    before = window.document.project
    _move(window)
    _trigger(window, "file.revert")
    _press(qtbot, window, "Revert")
    assert window.document.project == before
    assert not window.document.is_modified


def test_a_file_dropped_on_the_window_opens(qtbot, window: MainWindow, tmp_path: Path) -> None:
    path = tmp_path / "dropped.shaft"
    path.write_bytes(as_bytes(gates_file(name="Dropped")))
    data = QMimeData()
    data.setUrls([QUrl.fromLocalFile(str(path))])
    action, no = Qt.DropAction.CopyAction, Qt.KeyboardModifier.NoModifier
    event = QDropEvent(QPointF(50, 50), action, data, Qt.MouseButton.LeftButton, no)
    window.dropEvent(event)
    _was_read(qtbot, window)
    assert window.document.project.name == "Dropped"


# Start page


def _begin_empty(qtbot, window: MainWindow) -> None:
    """Begin a machine by the start page's first row, and leave the assistant's pages as they are."""
    qtbot.mouseClick(window.start_page.new, Qt.MouseButton.LeftButton)
    qtbot.mouseClick(_dialog(window).button("Create machine"), Qt.MouseButton.LeftButton)


def test_the_start_page_stands_until_there_is_a_machine(qtbot, make_window: WindowMaker) -> None:
    window = make_window(None)
    assert window.centre.currentWidget() is window.start_page
    assert window.windowTitle() == "Shaftscore[*]"
    assert not window.actions_table["file.export"].isEnabled()
    assert not window.document.is_modified
    _begin_empty(qtbot, window)
    assert window.centre.currentWidget() is window.diagram
    _trigger(window, "file.close")
    assert window.centre.currentWidget() is window.start_page


def test_a_new_machine_can_be_drawn_from_nothing(qtbot, make_window: WindowMaker) -> None:
    window = make_window(None)
    _begin_empty(qtbot, window)
    _trigger(window, "lane.new")
    dialog = _dialog(window)
    qtbot.mouseClick(dialog.button("Add lane"), Qt.MouseButton.LeftButton)
    assert dialog.fault == "Give the lane a name"
    qtbot.keyClicks(dialog.name, "Gate")
    qtbot.mouseClick(dialog.button("Add lane"), Qt.MouseButton.LeftButton)
    assert _no_dialog(window)
    lane = window.document.project.lanes[0]
    assert (lane.name, dict(lane.levels), lane.code) == ("Gate", {"open": 10.0, "closed": 0.0}, "A1")
    for deg in (0.0, 120.0):
        window.document.set_cursor(deg)
        _trigger(window, "block.add")
    _trigger(window, "block.up")
    blocks = window.document.project.lanes[0].blocks
    assert {block.level for block in blocks} == {"open", "closed"}
    assert window.docks.view(DiscView).canvas.contact is not None
    assert window.document.undo_names[-1] == "Add lane Gate"


def test_levels_are_changed_by_their_dialog_as_one_step(qtbot, window: MainWindow) -> None:
    window.document.select_lane("flap")
    _trigger(window, "lane.levels")
    dialog = _dialog(window)
    name = next(w for w in dialog.findChildren(QWidget) if w.accessibleName() == "Level, name")
    name.setText("bowl")
    qtbot.mouseClick(dialog.button("Set levels"), Qt.MouseButton.LeftButton)
    lane = window.document.project.lane("flap")
    assert dict(lane.levels) == {"bowl": 16.0, "cup": 8.0, "shut": 0.0}
    assert lane.blocks[2].level == "bowl"
    assert len(window.document.undo_names) == 1


def test_recent_files_are_offered_at_the_start(
    qtbot, make_window: WindowMaker, settings, tmp_path: Path
) -> None:
    path = tmp_path / "gates.shaft"
    path.write_bytes(as_bytes(gates_file()))
    settings.remember_file(path)
    window = make_window(None)
    from shaftscore_app.frame.start_page import BigButton

    button = next(b for b in window.start_page.findChildren(BigButton) if b.text() == "gates.shaft")
    qtbot.mouseClick(button, Qt.MouseButton.LeftButton)
    _was_read(qtbot, window)
    assert window.document.path == path


# Looks


def test_the_theme_changes_at_once_and_is_remembered(qtbot, window: MainWindow) -> None:
    def ground() -> QColor:
        image = window.properties.grab().toImage()
        return image.pixelColor(2, image.height() - 2)

    light = ground()
    menu = window.actions_table["view.theme"].menu()
    menu.aboutToShow.emit()
    next(action for action in menu.actions() if action.text() == "Dark").trigger()
    assert window.settings.values.theme == "dark"
    assert ground() == window.theme.color("panel")
    assert ground().lightness() < light.lightness() - 100


def test_text_of_200_per_cent_keeps_the_window_whole(qtbot, window: MainWindow) -> None:
    window.groups.views.set_scale(2.0)
    assert window.settings.values.text_scale == 2.0
    assert window.toolbar.height() == 88
    window.groups.views.set_scale(1.0)
    assert window.toolbar.height() == 44


def test_hints_of_menus_stand_in_the_status_bar(qtbot, window: MainWindow) -> None:
    window.document.select_blocks()
    action = window.actions_table["block.lock"]
    window.actions_table.refresh()
    action.hover()
    assert action.statusTip() == "No block is selected"


# Arrangement


def test_f6_goes_round_the_views(qtbot, window: MainWindow) -> None:
    window.activateWindow()
    window.diagram.setFocus()
    seen = []
    for _ in range(11):
        _trigger(window, "view.next")
        focus = window.focusWidget()
        seen.append(next((n for n in window.docks.names() if window.docks[n].isAncestorOf(focus)), "diagram"))
    assert seen == [
        *("findings", "table", "disc", "properties", "load", "motion", "flow", "stack", "shaft"),
        "coverage",
        "diagram",
    ]


@pytest.mark.parametrize("scale", [1.0, 2.0])
def test_what_has_no_room_in_the_toolbar_is_shown_by_a_button_that_is_seen(
    qtbot, window: MainWindow, scale: float
) -> None:
    window.theme.set_scale(scale)
    window.resize(window.minimumSize())
    bar = window.toolbar
    more = bar.findChild(QToolButton, "qt_toolbar_ext_button")
    qtbot.waitUntil(lambda: more.isVisible() and bar.width() == window.width())
    assert not bar._export.isVisible()
    qtbot.waitUntil(lambda: more.geometry().getRect()[2:] == (window.theme.px(32), bar.height()))
    picture, ground = more.grab().toImage(), window.theme.color("panel").name()
    inked = [x for x in range(picture.width()) if _column(picture, x) != {ground}]
    assert len(inked) > window.theme.px(8)
    shown = [
        one for one in bar.children() if isinstance(one, QWidget) and one.isVisible() and one is not more
    ]
    assert max(one.geometry().right() for one in shown) < more.x()
    qtbot.mouseClick(more, Qt.MouseButton.LeftButton)
    qtbot.waitUntil(bar._export.isVisible)


def _column(picture: QImage, x: int) -> set[str]:
    return {picture.pixelColor(x, y).name() for y in range(picture.height() - 4)}  # the border lies below


@pytest.mark.parametrize("front", ["findings", "table"])
def test_tab_goes_view_by_view_from_the_toolbar_to_the_status_bar(
    qtbot, window: MainWindow, front: str
) -> None:
    """The findings and the State table share a row of tabs: Tab reaches the one that is in front."""
    window.activateWindow()
    qtbot.waitUntil(window.isActiveWindow)
    window.docks.show(front)
    qtbot.waitUntil(lambda: not window.docks.is_behind(window.docks[front].widget()))
    window.toolbar.widgetForAction(window.actions_table["file.new"]).setFocus()
    homes = {
        "toolbar": window.toolbar,
        "diagram": window.diagram,
        "disc": window.docks.view(DiscView),
        "properties": window.properties,
        front: window.docks[front].widget(),
        "load": window.docks.view(LoadsView),
        "flow": window.flow,
        "next step": window.next_step,
        "status": window.status,
    }
    seen: list[str] = []
    stops: list[QWidget] = []
    for _ in range(80):
        focus = window.focusWidget()
        home = next(n for n, w in homes.items() if w is focus or w.isAncestorOf(focus))
        if seen[-1:] != [home]:
            seen.append(home)
        if seen[0] in seen[1:]:
            break
        stops.append(focus)
        qtbot.keyClick(focus, Qt.Key.Key_Tab)
    assert seen == [*homes, "toolbar"]
    assert front != "table" or window.docks.view(StateTableView).table in stops
    qtbot.keyClick(window.focusWidget(), Qt.Key.Key_Backtab)
    assert window.status.isAncestorOf(window.focusWidget())


def test_every_control_has_a_name(window: MainWindow) -> None:
    from PySide6.QtWidgets import QAbstractButton, QComboBox, QLineEdit

    for kind in (QAbstractButton, QLineEdit, QComboBox):
        for control in window.findChildren(kind):
            if control.isVisible() and not control.objectName().startswith("qt_"):
                assert control.accessibleName() or control.text() or control.toolTip(), control


def test_dialogs_close_with_escape(qtbot, window: MainWindow) -> None:
    for command in ("help.shortcuts", "help.cautions", "help.about", "lane.new"):
        _trigger(window, command)
        dialog = _dialog(window)
        qtbot.keyClick(dialog, Qt.Key.Key_Escape)
        assert dialog.result() == QDialog.DialogCode.Rejected
        assert _no_dialog(window)


def test_the_status_bar_has_its_own_text_size_from_the_start(qtbot, window: MainWindow) -> None:
    window.show()
    qtbot.waitExposed(window)
    texts = [label for label in window.status.findChildren(QLabel) if label.isVisible()]
    assert texts
    assert {label.fontInfo().pixelSize() for label in texts} == {window.theme.font(12).pixelSize()}
