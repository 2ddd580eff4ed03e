"""The dialogs of the menu Machine and of a lane's parts, filled in by keys and mouse."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest
from PySide6.QtCore import QPoint, QPointF, Qt
from PySide6.QtGui import QWheelEvent
from PySide6.QtWidgets import QApplication, QCheckBox, QLabel, QToolButton, QWidget

from shaftscore.edits import apply_edit
from shaftscore.model import CrankSource, Exclusive, Requires, TranslatingFlat
from shaftscore_app.dialogs.form import FormDialog
from shaftscore_app.forms.context import Context
from shaftscore_app.forms.disc_form import DiscForm
from shaftscore_app.forms.drive_form import DriveForm, reached_words
from shaftscore_app.forms.editors import FieldEditor
from shaftscore_app.forms.flow_form import FlowForm
from shaftscore_app.forms.follower_form import FollowerForm
from shaftscore_app.forms.listing import ListEditor
from shaftscore_app.forms.parts import FORMS
from shaftscore_app.forms.record_form import RecordForm
from shaftscore_app.forms.rows import RowsEditor
from shaftscore_app.forms.specs import specs_of
from shaftscore_app.forms.stacks_form import OrderEditor, StacksForm
from shaftscore_app.forms.states import StateEditor
from shaftscore_app.frame.main_window import MainWindow
from shaftscore_app.widgets.choice import Choice
from shaftscore_app.widgets.field import Field
from tests.app.conftest import WindowMaker
from tests.app.machines import fed_gates

Opener = Callable[[str], FormDialog]


@pytest.fixture
def window(make_window: WindowMaker) -> MainWindow:
    made = make_window(fed_gates())
    made.document.select_lane("left")
    return made


@pytest.fixture
def opened(qtbot, window: MainWindow) -> Opener:
    def open_(command_id: str) -> FormDialog:
        window.actions_table.refresh()
        action = window.actions_table[command_id]
        assert action.isEnabled(), action.statusTip()
        action.trigger()
        (dialog,) = [one for one in window.findChildren(FormDialog) if one.isVisible()]
        dialog.activateWindow()
        qtbot.waitUntil(dialog.isActiveWindow)
        return dialog

    return open_


def _type(qtbot, field: Field, text: str) -> None:
    field.setFocus()
    field.selectAll()
    qtbot.keyClicks(field, text)


def _choose(qtbot, choice: Choice, value: object) -> None:
    """Choose by keys."""
    values = [option.value for option in choice.options()]
    choice.setFocus()
    qtbot.keyClick(choice, Qt.Key.Key_Home)
    for _ in range(values.index(value)):
        qtbot.keyClick(choice, Qt.Key.Key_Down)
    assert choice.shown() == value


def _click(qtbot, button: QWidget) -> None:
    qtbot.mouseClick(button, Qt.MouseButton.LeftButton)


def _apply(qtbot, dialog: FormDialog) -> None:
    _click(qtbot, dialog.button("OK"))


def _named(dialog: FormDialog, name: str) -> Field | Choice:
    (found,) = [w for w in dialog.findChildren(QWidget) if w.accessibleName() == name and w.isVisible()]
    assert isinstance(found, Field | Choice)
    return found


ALL = (*FORMS, "lane.follower", "lane.disc")


def test_a_form_applied_as_it_came_changes_nothing(qtbot, window: MainWindow, opened: Opener) -> None:
    before = window.document.project
    for command_id in ALL:
        dialog = opened(command_id)
        assert dialog.fault == "", command_id
        # These begin with first values, as there is none yet.
        if command_id in ("machine.drive", "machine.duty", "machine.frame"):
            noun = command_id.removeprefix("machine.")
            assert f"no {noun} yet" in dialog.findChildren(QLabel)[1].text()
            qtbot.keyClick(dialog, Qt.Key.Key_Escape)
        else:
            _apply(qtbot, dialog)
        assert not dialog.isVisible(), command_id
        assert window.document.project is before, command_id
        assert window.document.undo_names == (), command_id


def test_escape_leaves_everything_as_it_was(qtbot, window: MainWindow, opened: Opener) -> None:
    before = window.document.project
    for command_id in ALL:
        dialog = opened(command_id)
        qtbot.keyClick(dialog, Qt.Key.Key_Escape)
        assert not dialog.isVisible(), command_id
        assert window.document.project is before, command_id


def test_a_value_out_of_its_range_is_said_below_its_field_while_it_is_typed(
    qtbot, window: MainWindow, opened: Opener
) -> None:
    dialog = opened("machine.tolerances")
    field = _named(dialog, "Disc angle, degrees")
    _type(qtbot, field, "91")
    assert isinstance(dialog.editor, RecordForm)
    said = dialog.editor.row("disc_angle_deg").said
    assert said.isVisible()
    assert said.text() == "must be at most 90, got 91.0"
    assert field.property("fault") is True
    _apply(qtbot, dialog)
    assert dialog.isVisible()
    assert field.hasFocus()
    _type(qtbot, field, "0.25")
    assert not said.isVisible()
    qtbot.keyClick(field, Qt.Key.Key_Return)
    assert not dialog.isVisible()
    assert window.document.project.tolerances.disc_angle_deg == 0.25
    assert window.document.undo_names == ("Change the tolerance of disc angle",)


def test_what_cannot_be_read_is_said_and_esc_puts_it_back(qtbot, window: MainWindow, opened: Opener) -> None:
    dialog = opened("machine.limits")
    field = _named(dialog, "Crest radius, millimetres")
    _type(qtbot, field, "2 kg")
    assert field.fault == '"2 kg": "kg" is not a unit of mm'
    _apply(qtbot, dialog)
    assert dialog.isVisible()
    assert (field.text(), dialog.fault) == ("2 kg", field.fault)
    assert not window.document.undo_names
    _type(qtbot, field, "0.2 cm")
    _apply(qtbot, dialog)
    assert window.document.project.limits.crest_radius_mm == 2.0


SPRING = {
    "kind": "compression", "wire_mm": 1.0, "coil_mm": 10.0,
    "active_coils": 5.0, "free_mm": 40.0, "installed_mm": 30.0,
}  # fmt: skip
DRY = {"name": "dry", "friction_n": 1.0}


REFUSED: tuple[tuple[Any, str], ...] = (
    (
        {"friction_n": 2.0, "frictions": (DRY,)},
        '2 N is given together with "Friction by case"; give one of them',
    ),
    ({"frictions": (DRY, DRY)}, '"dry" is case 1 already'),
    (
        {"spring": SPRING, "spring_preload_n": 3.0},
        '3 N is given together with "Spring by its dimensions"; give one of them',
    ),
    ({"spring": SPRING | {"wire_mm": 11.0}}, 'must be less than "Mean coil diameter", 10 mm, got 11 mm'),
    ({"spring": SPRING | {"installed_mm": 50.0}}, 'must be at most "Free length", 40 mm, got 50 mm'),
)
"""Drafts of a load, and what is said of them."""


def test_a_load_is_refused_by_the_labels_of_its_rows(opened: Opener) -> None:
    """The field at fault says the same as the line below its row: no key of the file in either."""
    dialog = opened("lane.load")
    for draft, said in REFUSED:
        dialog.editor.set_value(draft)
        dialog.check()
        shown = [label.text() for label in dialog.findChildren(QLabel) if label.objectName() == "fault"]
        at_fields = [field.fault for field in dialog.findChildren(Field) if field.fault]
        assert any(text.endswith(said) for text in shown), said
        assert at_fields == [said]


def test_a_fault_of_another_record_of_a_list_is_in_words(opened: Opener) -> None:
    """Of stacks that are not chosen the line in the list says what is wrong, and at which row."""
    dialog = opened("machine.stacks")
    stacks = dialog.editor
    assert isinstance(stacks, StacksForm)
    rod = {"across_mm": -1.0, "below_mm": 4.0, "above_mm": 4.0}
    draft = stacks.value()
    stacks.set_value(draft | {"stacks": (*draft["stacks"], {"id": "second", "name": "Second", "rod": rod})})
    dialog.check()
    tip = stacks.list.list.item(1).toolTip()
    assert tip == "Shaft and bearings: Diameter or width across flats: must be greater than 0, got -1.0"
    assert tip in dialog.fault


def test_an_editor_without_a_value_of_its_own_is_refused(qapp: object) -> None:
    class Half(FieldEditor):
        def value(self) -> Any:
            return None

    with pytest.raises(TypeError, match="Half is abstract: it has no set_value of its own"):
        Half(None)


def test_steps_of_their_own_and_a_highest_speed(qtbot, window: MainWindow, opened: Opener) -> None:
    dialog = opened("machine.shaft")
    _type(qtbot, _named(dialog, "Highest speed, revolutions per minute"), "3")
    assert 'must be at least "Speed"' in dialog.editor.row("speed_max_rpm").said.text()
    _type(qtbot, _named(dialog, "Highest speed, revolutions per minute"), "8")
    _choose(qtbot, _named(dialog, "Steps"), "own")
    _type(qtbot, _named(dialog, "Start angles, degrees"), "0; 90; 45")
    assert "must be over the step before" in dialog.editor.row("steps").said.text()
    _type(qtbot, _named(dialog, "Start angles, degrees"), "0 45 200.5")
    _apply(qtbot, dialog)
    shaft = window.document.project.shaft
    assert (shaft.speed_max_rpm, shaft.steps) == (8.0, (0.0, 45.0, 200.5))


def test_a_hand_crank_with_a_worm_then_away_again(qtbot, window: MainWindow, opened: Opener) -> None:
    dialog = opened("machine.drive")
    _choose(qtbot, _named(dialog, "Source, kind"), "crank")
    _type(qtbot, _named(dialog, "Crank radius, millimetres"), "12 cm")
    table = dialog.findChild(RowsEditor)
    _click(qtbot, table.add)
    _choose(qtbot, _named(dialog, "Stage 1, kind"), "worm")
    assert "must say whether it reverses" in dialog.editor.row("stages").said.text()
    _choose(qtbot, _named(dialog, "Stage 1, reverses"), True)
    _type(qtbot, _named(dialog, "Stage 1, efficiency"), "0.4")
    _apply(qtbot, dialog)
    drive = window.document.project.drive
    assert isinstance(drive.source, CrankSource)
    assert (drive.source.radius_mm, drive.stages[0].reverses, drive.stages[0].efficiency) == (
        120.0,
        True,
        0.4,
    )
    assert window.document.undo_names == ("Change the drive",)
    dialog = opened("machine.drive")
    _click(qtbot, dialog.button("Remove drive"))
    assert window.document.project.drive is None


def test_a_bevel_stage_by_its_axes(qtbot, window: MainWindow, opened: Opener) -> None:
    """An axis is a word or an angle; with both of them given no word about the sense is needed."""
    dialog = opened("machine.drive")
    _click(qtbot, dialog.findChild(RowsEditor).add)
    _choose(qtbot, _named(dialog, "Stage 1, kind"), "bevel")
    assert "must say whether it reverses" in dialog.editor.row("stages").said.text()
    _type(qtbot, _named(dialog, "Stage 1, driver axis, degrees"), "Up")
    _type(qtbot, _named(dialog, "Stage 1, driven axis, degrees"), "down")
    assert "is parallel to" in dialog.editor.row("stages").said.text()
    _type(qtbot, _named(dialog, "Stage 1, driver axis, degrees"), "90")
    _apply(qtbot, dialog)
    (stage,) = window.document.project.drive.stages
    assert (stage.driver_axis, stage.driven_axis, stage.reverses, stage.reverses_used) == (
        90.0,
        "down",
        None,
        True,
    )


def test_rules_of_all_kinds_with_levels_and_ranges(qtbot, window: MainWindow, opened: Opener) -> None:
    dialog = opened("machine.rules")
    rules = dialog.editor
    assert isinstance(rules, ListEditor)
    assert [rules.list.item(i).text() for i in range(rules.list.count())] == [
        "Mutually exclusive: Left open and Right open"
    ]
    _type(qtbot, _named(dialog, "Kept apart by, seconds"), "120 ms")
    for number, kind in enumerate(("requires", "order"), start=1):
        rules.add.menu().actions()[number].trigger()
        assert rules.drafts()[-1]["kind"] == kind
    rules.select(1)
    need = rules.form.row("need").editor
    _choose(qtbot, need.level, next(o.value for o in need.level.options() if o.text.startswith("A range")))
    _type(qtbot, need.low, "9")
    _type(qtbot, need.high, "8")
    assert 'must be at least "From", 9 mm' in rules.form.row("need").said.text()
    _type(qtbot, need.high, "10")
    _apply(qtbot, dialog)
    exclusive, requires, order = window.document.project.rules
    assert isinstance(exclusive, Exclusive)
    assert exclusive.gap_s == 0.12
    assert isinstance(requires, Requires)
    assert (requires.need.from_mm, requires.need.to_mm) == (9.0, 10.0)
    assert order.kind == "order"
    assert len(window.document.undo_names) == 1


def test_an_exclusive_rule_with_a_state_named_twice_says_which(
    qtbot, window: MainWindow, opened: Opener
) -> None:
    dialog = opened("machine.rules")
    table = dialog.findChild(RowsEditor)
    _click(qtbot, table.add)
    assert "State 3" in dialog.editor.form.row("states").said.text()
    _click(qtbot, next(b for b in table.findChildren(QToolButton) if b.accessibleName() == "Remove state 3"))
    assert dialog.editor.form.row("states").said.text() == ""


def test_a_part_of_the_flow_takes_its_references_with_its_name(
    qtbot, window: MainWindow, opened: Opener
) -> None:
    dialog = opened("machine.flow")
    flow = dialog.editor
    assert isinstance(flow, FlowForm)
    flow.tabs.setCurrentIndex(1)
    _type(qtbot, flow.lists["magazines"].form.row("id").editor.field, "tube A")
    assert "is not an id" in flow.lists["magazines"].form.row("id").said.text()
    _type(qtbot, flow.lists["magazines"].form.row("id").editor.field, "tube_A")
    _apply(qtbot, dialog)
    made = window.document.project.flow
    assert made.magazines[0].id == "tube_A"
    assert made.gates[0].source == "tube_A"


def test_what_is_referred_to_does_not_go_and_says_by_whom(qtbot, window: MainWindow, opened: Opener) -> None:
    dialog = opened("machine.flow")
    flow = dialog.editor
    flow.tabs.setCurrentIndex(1)
    magazines = flow.lists["magazines"]
    _click(qtbot, magazines.away)
    assert len(magazines.drafts()) == 2
    assert magazines._refused.text() == "left_tube is named by left_gate; let them name another first"
    flow.tabs.setCurrentIndex(2)
    _click(qtbot, flow.lists["gates"].away)
    flow.tabs.setCurrentIndex(1)
    magazines.select(0)
    _click(qtbot, magazines.away)
    _apply(qtbot, dialog)
    made = window.document.project.flow
    assert [magazine.id for magazine in made.magazines] == ["right_tube"]
    assert [gate.id for gate in made.gates] == ["right_gate"]


def test_a_channel_may_lead_by_the_state_of_a_lane(qtbot, window: MainWindow, opened: Opener) -> None:
    dialog = opened("machine.flow")
    flow = dialog.editor
    flow.tabs.setCurrentIndex(4)
    _click(qtbot, flow.lists["outlets"].add)
    flow.tabs.setCurrentIndex(3)
    way = flow.lists["channels"].form.row("to").editor
    _choose(qtbot, way.end, way.BY_STATE)
    _choose(qtbot, way.lane, "right")
    assert flow.lists["channels"].form.row("to").said.text() == "Ways: has 0 entries; 1 are the least"
    for to in ("cup", "outlet_1"):
        _click(qtbot, way.ways.add)
        ends = [c for c in way.ways.findChildren(Choice) if c.accessibleName().endswith(", to")]
        _choose(qtbot, [c for c in ends if c.isVisible()][-1], to)
    second = [e for e in way.ways.findChildren(StateEditor) if e.isVisible()][-1]
    _choose(qtbot, second.level, "closed")
    _apply(qtbot, dialog)
    (channel,) = window.document.project.flow.channels
    assert channel.to.lane == "right"
    assert [(b.state.level, b.to) for b in channel.to.by_state] == [("open", "cup"), ("closed", "outlet_1")]


def test_a_gate_reloads_and_streams(qtbot, window: MainWindow, opened: Opener) -> None:
    dialog = opened("machine.flow")
    flow = dialog.editor
    flow.tabs.setCurrentIndex(2)
    gates = flow.lists["gates"].form
    _choose(qtbot, gates.row("mode").editor.choice, "stream")
    assert gates.row("item_s").said.text() == "must be greater than 0 for a stream, got 0"
    _type(qtbot, gates.row("item_s").editor.field, "200 ms")
    _type(qtbot, gates.row("items").editor.field, "2")
    reload = gates.row("reload").editor
    _click(qtbot, reload.there)
    _choose(qtbot, reload.row("state").editor.level, "closed")
    _apply(qtbot, dialog)
    gate = window.document.project.flow.gates[0]
    assert (gate.mode, gate.item_s, gate.items) == ("stream", 0.2, 2)
    assert (gate.reload.state.level, gate.reload.item_s) == ("closed", 0.5)


def test_stacks_are_added_and_discs_put_onto_them_in_order(qtbot, window: MainWindow, opened: Opener) -> None:
    dialog = opened("machine.stacks")
    stacks = dialog.editor
    assert isinstance(stacks, StacksForm)
    order = stacks.findChild(OrderEditor)
    _click(qtbot, order.up)
    _click(qtbot, stacks.list.add)
    _type(qtbot, stacks.form.row("name").editor.field, "Slow shaft")
    _type(qtbot, stacks.form.row("turns").editor.field, "2 turns")
    stacks.list.select(0)
    order.to.setFocus()
    qtbot.keyClick(order.to, Qt.Key.Key_Down)
    dogs = stacks.form.row("dogs").editor
    _click(qtbot, dogs.there)
    _type(qtbot, dogs.row("radius_mm").editor.field, "3")
    assert "must be over the bore" in dogs.row("radius_mm").said.text()
    _type(qtbot, dogs.row("radius_mm").editor.field, "8.5")
    _apply(qtbot, dialog)
    project = window.document.project
    assert [(stack.label, stack.turns) for stack in project.stacks] == [("main", 1), ("Slow shaft", 2)]
    assert project.stacks[0].dogs.radius_mm == 8.5
    assert [lane.id for lane in project.discs_of(project.stacks[1])] == ["right"]
    assert len(window.document.undo_names) == 1


def test_the_stack_that_drives_a_stage_is_chosen_among_those_of_the_form(
    qtbot, opened: Opener, window
) -> None:
    """One that was just added is among them; without a choice the form says that one must be given."""
    dialog = opened("machine.stacks")
    stacks = dialog.editor
    assert isinstance(stacks, StacksForm)
    _click(qtbot, stacks.list.add)
    _click(qtbot, stacks.form.row("steps_from").editor.there)
    driving = _named(dialog, "Driving stack")
    assert isinstance(driving, Choice)
    assert [option.text for option in driving.options()][-2:] == ["main", "Stack 2"]
    _choose(qtbot, driving, "main")
    _apply(qtbot, dialog)
    made = window.document.project.stacks[1].steps_from
    assert (made.kind, made.stack) == ("geneva", "main")


def test_a_stack_that_carries_discs_does_not_go(qtbot, window: MainWindow, opened: Opener) -> None:
    dialog = opened("machine.stacks")
    _click(qtbot, dialog.editor.list.away)
    assert dialog.editor.list._refused.text() == (
        "main carries Left and Right; put them onto another stack first"
    )


def test_a_material_of_ones_own(qtbot, window: MainWindow, opened: Opener) -> None:
    dialog = opened("machine.materials")
    _click(qtbot, dialog.findChild(RowsEditor).add)
    _type(qtbot, _named(dialog, "Material 1, name"), "bog oak")
    _type(qtbot, _named(dialog, "Material 1, poisson’s ratio"), "0.6")
    assert "must be less than 0.5" in dialog.fault
    _type(qtbot, _named(dialog, "Material 1, poisson’s ratio"), "0.35")
    _apply(qtbot, dialog)
    assert window.document.project.materials[0].name == "bog oak"
    dialog = opened("lane.disc")
    _choose(qtbot, _named(dialog, "Material"), "bog oak")
    _apply(qtbot, dialog)
    assert window.document.project.lane("left").disc.material == "bog oak"


def test_a_follower_changes_its_kind_and_keeps_what_it_can(qtbot, window: MainWindow, opened: Opener) -> None:
    dialog = opened("lane.follower")
    _type(qtbot, _named(dialog, "Link play, millimetres"), "0.3")
    _choose(qtbot, dialog.editor.kind, "translating-flat")
    _type(qtbot, _named(dialog, "Face width, millimetres"), "24")
    _choose(qtbot, _named(dialog, "Closure"), "groove")
    assert "needs a roller" in dialog.editor.row("closure").said.text()
    _choose(qtbot, _named(dialog, "Closure"), "spring")
    _apply(qtbot, dialog)
    follower = window.document.project.lane("left").follower
    assert isinstance(follower, TranslatingFlat)
    assert (follower.face_width_mm, follower.link_play_mm) == (24.0, 0.3)


def test_a_linkage_is_a_small_table(qtbot, window: MainWindow, opened: Opener) -> None:
    dialog = opened("lane.follower")
    table = dialog.editor.row("link").editor
    assert isinstance(table, RowsEditor)
    _click(qtbot, table.add)
    _click(qtbot, table.add)
    assert "must be over the row before" in dialog.editor.row("link").said.text()
    _type(qtbot, _named(dialog, "Link point 2, roller, millimetres"), "8")
    _type(qtbot, _named(dialog, "Link point 2, output, millimetres"), "9")
    assert "the highest level is at 10 mm" in dialog.editor.row("link").said.text()
    _type(qtbot, _named(dialog, "Link point 2, output, millimetres"), "12")
    _apply(qtbot, dialog)
    link = window.document.project.lane("left").follower.link
    assert [(point.roller_mm, point.output_mm) for point in link] == [(0.0, 0.0), (8.0, 12.0)]


def test_size_base_circles_is_one_step_and_greyed_when_done(
    qtbot, window: MainWindow, opened: Opener
) -> None:
    action = window.actions_table["machine.sizes"]
    window.actions_table.refresh()
    assert action.statusTip() == "All base circles are sized by their limits already"
    dialog = opened("lane.disc")
    _type(qtbot, _named(dialog, "Base radius, millimetres"), "40")
    _apply(qtbot, dialog)
    window.actions_table.refresh()
    action.trigger()
    qtbot.waitUntil(lambda: window.document.project.lane("left").disc.base_radius_mm == "auto")
    assert window.document.undo_name.startswith("Size")


def test_what_is_edited_while_base_circles_are_sized_is_kept_and_sized_too(
    qtbot, window: MainWindow, opened: Opener
) -> None:
    dialog = opened("lane.disc")
    _type(qtbot, _named(dialog, "Base radius, millimetres"), "40")
    _apply(qtbot, dialog)
    document = window.document
    window.actions_table["machine.sizes"].trigger()
    document.perform(apply_edit(document.committed, "set_names", name="Meanwhile", notes=""))
    qtbot.waitUntil(lambda: document.project.lane("left").disc.base_radius_mm == "auto")
    assert document.project.name == "Meanwhile"
    assert document.report.project is document.project


# By keys alone


def test_rules_are_ordered_and_taken_away_by_keys(qtbot, window: MainWindow, opened: Opener) -> None:
    dialog = opened("machine.rules")
    rules = dialog.editor
    for action in rules.add.menu().actions():
        action.trigger()
    kinds = [draft["kind"] for draft in rules.drafts()]
    rules.list.setFocus()
    rules.select(1)
    qtbot.keyClick(rules.list, Qt.Key.Key_Down, Qt.KeyboardModifier.AltModifier)
    assert [draft["kind"] for draft in rules.drafts()][1:3] == [kinds[2], kinds[1]]
    qtbot.keyClick(rules.list, Qt.Key.Key_Delete)
    assert len(rules.drafts()) == len(kinds) - 1


def test_the_wheel_scrolls_the_form_and_changes_no_choice(qtbot, opened: Opener) -> None:
    dialog = opened("lane.follower")
    choice = _named(dialog, "Closure")
    dialog.editor.kind.setFocus()
    place = QPointF(choice.rect().center())
    turn = QWheelEvent(
        place,
        choice.mapToGlobal(place),
        QPoint(0, 0),
        QPoint(0, -120),
        Qt.MouseButton.NoButton,
        Qt.KeyboardModifier.NoModifier,
        Qt.ScrollPhase.NoScrollPhase,
        False,
    )
    QApplication.sendEvent(choice, turn)
    assert choice.shown() == "spring"
    choice.setFocus()
    QApplication.sendEvent(choice, turn)
    assert choice.shown() == "groove"


def _tabbed(qtbot, dialog: FormDialog) -> list[QWidget]:
    """Press Tab once round the dialog; returns what had the focus."""
    seen: list[QWidget] = []
    while (holder := dialog.focusWidget()) not in seen:
        seen.append(holder)
        qtbot.keyClick(holder, Qt.Key.Key_Tab)
    return seen


def test_tab_reaches_everything_of_a_form_and_the_buttons_last(qtbot, opened: Opener) -> None:
    for command_id in ALL:
        dialog = opened(command_id)
        seen = _tabbed(qtbot, dialog)
        assert set(dialog._buttons.values()) <= set(seen), command_id
        wanted = [one for one in dialog.editor.controls() if one.isVisible() and one.isEnabled()]
        assert not [control for control in wanted if control not in seen], command_id
        names = [holder.text() for holder in seen if holder in dialog._buttons.values()]
        assert names[names.index("Cancel") + 1 - len(names)] == "OK", command_id
        qtbot.keyClick(dialog, Qt.Key.Key_Escape)
        assert not dialog.isVisible(), command_id


def test_rows_made_late_are_reached_in_their_place(qtbot, opened: Opener) -> None:
    dialog = opened("machine.drive")
    _choose(qtbot, _named(dialog, "Source, kind"), "crank")
    table = dialog.findChild(RowsEditor)
    table.add.setFocus()
    qtbot.keyClick(table.add, Qt.Key.Key_Space)
    names = [holder.accessibleName() for holder in _tabbed(qtbot, dialog)]
    order = [
        "Source, kind",
        "Crank radius, millimetres",
        "Stage 1, driver, teeth",
        "Stage 1, efficiency",
        "Torque reserve",
    ]
    start = names.index(order[0])
    turned = names[start:] + names[:start]
    assert [name for name in turned if name in order] == order


def test_a_drive_is_made_by_keys_alone(qtbot, window: MainWindow, opened: Opener) -> None:
    dialog = opened("machine.drive")

    def press(key: Qt.Key, times: int = 1) -> None:
        for _ in range(times):
            qtbot.keyClick(dialog.focusWidget(), key)

    press(Qt.Key.Key_Down)  # a hand crank
    press(Qt.Key.Key_Tab)
    qtbot.keyClicks(dialog.focusWidget(), "95")
    press(Qt.Key.Key_Return)
    assert window.document.project.drive.source.radius_mm == 95.0


def test_the_drive_says_what_reaches_the_shaft_while_it_is_typed(
    qtbot, window: MainWindow, opened: Opener
) -> None:
    """A motor of 60 rev/min and 12 kg cm on 12 to 120 teeth: a tenth of the speed, ten times the torque."""
    dialog = opened("machine.drive")
    form = dialog.editor
    assert isinstance(form, DriveForm)
    _type(qtbot, _named(dialog, "Rated speed, revolutions per minute"), "60")
    torque = _named(dialog, "Rated torque, newton metres")
    _type(qtbot, torque, "12 kg cm")
    assert torque._message is not None
    assert torque._message.text() == "= 1.1768 N·m"
    assert form.reached.text().startswith("At the shaft: 60 rev/min clockwise, 1.18 N·m, 0.785 N·m with the")
    assert form.reached.text().endswith("The machine is set to 6 rev/min.")
    stage = {"driver_teeth": 12, "driven_teeth": 120, "kind": "external", "efficiency": 1.0}
    draft = {**form.value(), "stages": (stage,)}
    said = reached_words(window.document.project, draft)
    assert said.startswith("At the shaft: 6 rev/min counterclockwise, 11.77 N·m, 7.85 N·m with the reserve.")
    assert said.endswith("The machine is set to clockwise.")
    torque.selectAll()
    qtbot.keyClick(torque, Qt.Key.Key_Delete)
    assert "missing or invalid" in reached_words(window.document.project, {"source": {"kind": "motor"}})


def test_a_follower_is_drawn_and_shows_the_rows_that_matter(
    qtbot, window: MainWindow, opened: Opener
) -> None:
    dialog = opened("lane.follower")
    form = dialog.editor
    assert isinstance(form, FollowerForm)

    def shown(key: str) -> bool:
        return form.row(key).editor.isVisibleTo(form)

    assert [shown(key) for key in ("groove_clearance_mm", "guide_length_mm")] == [False, False]
    _named(dialog, "Roller radius, millimetres").setFocus()
    assert form.sketch.held == "roller_radius_mm"
    assert "a: Roller radius" in form.sketch.accessibleDescription()
    _click(qtbot, form.guided)
    assert shown("guide_length_mm")
    _type(qtbot, _named(dialog, "Guide length, millimetres"), "24")
    assert "guide_length_mm" in form.value()
    _click(qtbot, form.guided)
    assert not shown("guide_length_mm")
    assert "guide_length_mm" not in form.value()
    _choose(qtbot, _named(dialog, "Closure"), "groove")
    assert shown("groove_clearance_mm")
    _choose(qtbot, form.kind, "swinging-roller")
    assert "Pivot distance" in form.sketch.accessibleDescription()
    assert not form.guided.isVisibleTo(form)
    assert not opened_rows_of_a_groove(window)


def opened_rows_of_a_groove(window: MainWindow) -> bool:
    """Whether the form of the disc has rows of a groove, for a follower that is held by a spring."""
    lane = window.document.project.lane("left")
    spec = next(spec for spec in specs_of(type(lane)) if spec.key == "disc")
    form = DiscForm(window.theme, Context(window.document.project), spec.records, [lane])
    form.set_value({})
    found = form.row("rim_mm").editor.isVisibleTo(form)
    form.deleteLater()
    return found


# What version 2 of the format adds


def test_areas_that_are_not_needed_are_checked(qtbot, window: MainWindow, opened: Opener) -> None:
    dialog = opened("machine.not_needed")
    boxes = {box.text().partition(":")[0]: box for box in dialog.findChildren(QCheckBox)}
    for name in ("Shaft", "Torque"):
        boxes[name].setFocus()
        qtbot.keyClick(boxes[name], Qt.Key.Key_Space)
    _apply(qtbot, dialog)
    assert window.document.project.not_needed == ("torque", "shaft")
    again = opened("machine.not_needed")
    assert [box.isChecked() for box in again.findChildren(QCheckBox)].count(True) == 2


def test_a_bearing_is_chosen_where_the_radius_is_left_empty(
    qtbot, window: MainWindow, opened: Opener
) -> None:
    dialog = opened("lane.follower")
    _choose(qtbot, _named(dialog, "Bearing as roller"), "625")
    said = dialog.editor.row("roller_radius_mm").said
    assert said.text() == "5 mm is given; the bearing 625 has 8 mm"
    radius = _named(dialog, "Roller radius, millimetres")
    radius.setFocus()
    radius.selectAll()
    qtbot.keyClick(radius, Qt.Key.Key_Delete)
    assert not said.isVisible()
    _apply(qtbot, dialog)
    follower = window.document.project.lane("left").follower
    assert (follower.bearing, follower.roller_radius_mm, follower.width_mm) == ("625", 8, 5)


def test_a_spring_is_described_by_its_dimensions(qtbot, window: MainWindow, opened: Opener) -> None:
    dialog = opened("lane.load")
    box = next(b for b in dialog.findChildren(QCheckBox) if b.text() == "Spring by its dimensions")
    box.setFocus()
    qtbot.keyClick(box, Qt.Key.Key_Space)
    _type(qtbot, _named(dialog, "Installed length, millimetres"), "31")
    assert 'at most "Free length"' in dialog.editor.row("spring").editor.row("installed_mm").said.text()
    assert dialog.editor.row("spring").editor.force.text() == ""
    _type(qtbot, _named(dialog, "Installed length, millimetres"), "24")
    force = dialog.editor.row("spring").editor.force
    # 0.5 mm wire, coil 5 mm, 8 coils: G d⁴ / (8 D³ n) = 81500 x 0.0625 / 8000 = 0.637 N/mm, times 6 mm.
    assert force.isVisible()
    assert force.text().startswith("Preload 3.82 N (± ")
    assert force.text().endswith(" by EN 15800, grade 2), rate 0.637 N/mm. Solid length 5.0 mm.")
    preload = _named(dialog, "Spring preload, newtons")
    _type(qtbot, preload, "2")
    refused = '2 N is given together with "Spring by its dimensions"; give one of them'
    assert dialog.editor.row("spring_preload_n").said.text() == refused
    preload.selectAll()
    qtbot.keyClick(preload, Qt.Key.Key_Delete)
    _apply(qtbot, dialog)
    load = window.document.project.lane("left").load
    assert load is not None
    assert load.spring is not None
    assert (load.spring.installed_mm, load.spring.kind) == (24, "compression")


def test_a_new_stack_is_turned_one_way_while_it_is_tightened(
    qtbot, window: MainWindow, opened: Opener
) -> None:
    dialog = opened("machine.stacks")
    assert isinstance(dialog.editor, StacksForm)
    _click(qtbot, dialog.editor.list.add)
    _apply(qtbot, dialog)
    first, second = window.document.project.stacks
    assert (first.joints, first.fit_clearance_mm) == (None, 0.2)
    assert (second.joints, second.fit_clearance_mm) == ("one-way", 0.1)


def test_a_tolerance_class_of_a_rod_keeps_its_small_letter(qtbot, window: MainWindow, opened: Opener) -> None:
    """H11 would be the class of a hole (ISO 286)."""
    dialog = opened("machine.stacks")
    box = next(b for b in dialog.findChildren(QCheckBox) if b.text() == "Shaft and bearings")
    box.setFocus()
    qtbot.keyClick(box, Qt.Key.Key_Space)
    shown = _named(dialog, "Tolerance class")
    assert isinstance(shown, Choice)
    assert [option.text for option in shown.options()][:2] == ["By the shape", "h6"]
    _choose(qtbot, shown, "h11")
    _apply(qtbot, dialog)
    assert window.document.project.stacks[0].rod.tolerance == "h11"
