"""What joins the parts of the window: which signals are connected to what."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING

from PySide6.QtCore import QEvent, Qt
from PySide6.QtWidgets import QWidget

from shaftscore_app.keeping.journal import Plain
from shaftscore_app.runtime.late_paint import paint_late
from shaftscore_app.runtime.turns import Later
from shaftscore_app.runtime.watching import EventWatch
from shaftscore_app.views.empty_page import EmptyPage

if TYPE_CHECKING:
    from shaftscore_app.frame.main_window import MainWindow
    from shaftscore_app.views.bring_up import BringUpView
    from shaftscore_app.views.follower_parts import FollowerPartsView
    from shaftscore_app.views.operation import OperationView
    from shaftscore_app.views.program import ProgramView
    from shaftscore_app.views.shaft import ShaftView


def connect_window(window: MainWindow) -> None:
    """Connect document, views, commands and bars of a window that is built."""
    _connect_document(window)
    _connect_start_page(window)
    _connect_progress(window)
    _connect_hints(window)
    _connect_views(window)
    _connect_late_views(window)
    _connect_next_step(window)


def _connect_document(window: MainWindow) -> None:
    document = window.document
    for signal in (
        document.history_changed,
        document.selection_changed,
        document.file_changed,
        document.report_changed,
    ):
        signal.connect(window.show_state)
    document.history_changed.connect(lambda: paint_late(window))
    document.file_changed.connect(window.show_document)
    window.theme.changed.connect(window.fit)
    show_soon = Later(window, window.show_state)  # jobs begin and end in bursts
    window.jobs.busy_changed.connect(lambda _kind, _busy: show_soon.ask())
    window.groups.files.close_wanted.connect(window.close_at_once)


def _connect_start_page(window: MainWindow) -> None:
    start, groups = window.start_page, window.groups
    start.new_wanted.connect(groups.tables.new_machine)
    start.open_wanted.connect(groups.files.ask_open)
    start.recent_wanted.connect(groups.files.open)
    start.sample_wanted.connect(window.choose_sample)


def _connect_progress(window: MainWindow) -> None:
    """Show in the status bar what an export or a check of files does, and let it be cancelled there."""
    status = window.status
    for job in (window.groups.exports, window.groups.bench):
        job.status_message.connect(status.show_progress)
        job.ended.connect(status.end_progress)
        status.cancel_wanted.connect(job.cancel)
    window.groups.exports.errors_wanted.connect(window.show_errors)


def _connect_hints(window: MainWindow) -> None:
    """Show in the status bar what the parts have to say."""
    groups, status = window.groups, window.status
    for part in (groups.edits, groups.timing, groups.machine, groups.printing, groups.views, window.diagram):
        part.status_message.connect(status.set_hint)
    window.document.refused.connect(status.set_hint)
    window.drafting.status_message.connect(status.refresh_state)
    groups.files.reading.connect(lambda name: status.set_hint(f"Opening {name}…" if name else ""))
    status.findings_wanted.connect(lambda: window.docks.show("findings"))
    status.coverage_wanted.connect(lambda: window.docks.show("coverage"))


def _connect_views(window: MainWindow) -> None:
    groups, diagram, actions = window.groups, window.diagram, window.actions_table
    groups.timing.clipboard_changed.connect(window.show_state)
    actions.opening.connect(groups.timing.look_at_clipboard)
    actions.menu_wanted.connect(lambda name: actions.pop_up(name, diagram.menu_place()))
    groups.views.settings_changed.connect(window.show_settings)
    groups.views.settings_changed.connect(lambda: show_next_step(window))
    groups.views.angle_wanted.connect(
        lambda: window.toolbar.angle.setFocus(Qt.FocusReason.ShortcutFocusReason)
    )
    groups.keeping.draft_decided.connect(window.focus_centre)
    groups.keeping.aside_wanted.connect(lambda work: _restore_program(window, work))
    groups.edits.properties_wanted.connect(window.type_property)
    groups.edits.window_wanted.connect(window.type_window)
    window.properties.form_wanted.connect(lambda name: actions[name].trigger())
    groups.machine.gates_wanted.connect(lambda: _ask_gates(window))
    groups.machine.view_wanted.connect(window.docks.show_large)
    window.coverage.command_wanted.connect(window.describe)
    window.coverage.findings_wanted.connect(window.show_found)
    window.findings.visited.connect(diagram.show_finding)
    window.flow.visited.connect(diagram.show_finding)
    window.flow.status_message.connect(window.status.set_hint)
    diagram.values_wanted.connect(lambda _ref: window.type_property())
    diagram.lane_wanted.connect(groups.edits.new_lane)
    diagram.rename_wanted.connect(groups.edits.rename_lane)
    diagram.menu_wanted.connect(window.show_menu)
    _connect_empty(window, window)
    window.docks.view_made.connect(lambda view: _connect_empty(window, view))
    window.player.playing_changed.connect(window.show_playing)
    window.toolbar.grid.entered.connect(window.set_grid)


def _connect_empty(window: MainWindow, within: QWidget) -> None:
    """Let the buttons of empty pages do what they say."""
    for page in within.findChildren(EmptyPage):
        page.action_wanted.connect(window.act)


def _connect_late_views(window: MainWindow) -> None:
    """Connect the views that are made when they are first seen, each as soon as it is."""
    for name, connect in (
        ("shaft", _connect_shaft),
        ("followers", _connect_followers),
        ("operation", _connect_operation),
        ("bring_up", _connect_bring_up),
        ("program", _connect_program),
    ):
        window.docks.late.when_made(name, partial(connect, window))


def _connect_shaft(window: MainWindow, view: ShaftView) -> None:
    view.form_wanted.connect(lambda name: window.actions_table[name].trigger())


def _connect_followers(window: MainWindow, view: FollowerPartsView) -> None:
    view.form_wanted.connect(lambda name: window.groups.machine.open_at(name, ""))
    view.status_message.connect(window.status.set_hint)
    view.save_wanted.connect(window.groups.printing.save_drawing)
    view.set_own_bearings(window.settings.folder / "bearings.csv")


def _connect_operation(window: MainWindow, view: OperationView) -> None:
    view.form_wanted.connect(lambda name: window.actions_table[name].trigger())
    view.status_message.connect(window.status.set_hint)


def _ask_gates(window: MainWindow) -> None:
    """Ask about the gates of the selected lanes in the Flow view, where there is room for its card."""
    window.docks.show_large("flow")
    window.flow.ask_gates()


def _connect_bring_up(window: MainWindow, view: BringUpView) -> None:
    """Let the causes of the Bring-up view be helped with by commands and views, at their lanes."""
    document = window.document

    def select(lane_ids: tuple[str, ...]) -> None:
        if lane_ids:
            document.select_lane(lane_ids[0])

    def help_by(command: str, lane_ids: tuple[str, ...]) -> None:
        select(lane_ids)
        window.actions_table[command].trigger()

    def show_in(name: str, lane_ids: tuple[str, ...]) -> None:
        select(lane_ids)
        window.docks.show(name)

    view.status_message.connect(window.status.set_hint)
    view.crank.table_wanted.connect(lambda: window.groups.bench.ask_sightings(view.session.take_table))
    view.command_wanted.connect(help_by)
    view.view_wanted.connect(show_in)


def _connect_program(window: MainWindow, view: ProgramView) -> None:
    """Let nothing that is made in the Program maker be lost: neither with its dock nor with the file."""
    dock = window.docks["program"]
    view.status_message.connect(window.status.set_hint)
    view.close_wanted.connect(dock.close)
    window.groups.files.keep_first = view.when_applied
    window.drafting.keep_aside(lambda: view.is_unapplied, view.work)
    view.work_changed.connect(window.drafting.note_aside)

    def heard(event: QEvent) -> bool:
        if event.type() != QEvent.Type.Close or not view.is_unapplied:
            return False
        event.ignore()
        view.when_applied(dock.close)
        return True

    EventWatch(dock, heard)


def _restore_program(window: MainWindow, work: Plain) -> None:
    """Show work of the Program maker that was kept with a draft."""
    window.docks.show_large("program")
    window.program.restore(work)


def _connect_next_step(window: MainWindow) -> None:
    """Let the next step be done, left out, shown and hidden."""
    line, commands = window.next_step, window.groups.next_step
    window.groups.exports.exported.connect(commands.on_exported)
    commands.changed.connect(lambda: show_next_step(window))
    line.close_wanted.connect(lambda: commands.set_shown(False))
    line.mark_visited.connect(lambda key: window.actions_table[MARK_COMMANDS[key]].trigger())
    line.action_wanted.connect(window.go_on)
    line.leave_out_wanted.connect(window.coverage.leave_out)


MARK_COMMANDS = {
    "table": "view.table",
    "timing": "view.diagram",
    "items": "view.flow",
    "loads": "view.load",
    "stack": "view.shaft",
    "fit": "view.coverage",
    "export": "file.export",
}
"""The command of each mark of the next step."""


def show_next_step(window: MainWindow) -> None:
    """Show or hide the line with the next step, as the person and the exports say."""
    commands = window.groups.next_step
    window.next_step.setVisible(commands.is_shown)
    window.actions_table["view.next_step"].setChecked(commands.is_shown)
    window.next_step.set_exported(commands.is_exported)
