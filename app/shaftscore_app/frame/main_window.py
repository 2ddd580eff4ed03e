"""The window: puts document, views, commands, toolbar and status bar together.

The timing diagram is the centre; all else is a dock. `run` is the editor from start to end.
"""

from __future__ import annotations

import sys
from collections.abc import Callable
from pathlib import Path

import platformdirs
from PySide6.QtCore import QByteArray, QEvent, QLocale, QMimeData, QPoint, Qt, QTimer
from PySide6.QtGui import (
    QCloseEvent,
    QDragEnterEvent,
    QDropEvent,
    QShowEvent,
    QStatusTipEvent,
)
from PySide6.QtWidgets import QApplication, QMainWindow, QStackedWidget, QVBoxLayout, QWidget

from shaftscore_app.commands.arranging import ArrangeCommands
from shaftscore_app.commands.bench import BenchCommands
from shaftscore_app.commands.edits import EditCommands
from shaftscore_app.commands.exporting import ExportCommands
from shaftscore_app.commands.files import FileCommands, Picker, SystemPicker
from shaftscore_app.commands.keeping import KeepingCommands
from shaftscore_app.commands.lanes import LaneStudies
from shaftscore_app.commands.machine import MachineCommands
from shaftscore_app.commands.printing import PrintCommands
from shaftscore_app.commands.proving import ProvingCommands
from shaftscore_app.commands.tables import TableCommands
from shaftscore_app.commands.timing import TimingCommands
from shaftscore_app.commands.views import ViewCommands
from shaftscore_app.document import Document
from shaftscore_app.document.play import Player
from shaftscore_app.frame.alone_bar import AloneBar
from shaftscore_app.frame.crash import Crashes, keep_logs
from shaftscore_app.frame.notices import Notices
from shaftscore_app.frame.start_page import StartPage
from shaftscore_app.frame.status_bar import StatusBar
from shaftscore_app.frame.toolbar import ToolBar
from shaftscore_app.keeping import Store
from shaftscore_app.keeping.drafting import Drafting
from shaftscore_app.menus.actions import Actions, Reason
from shaftscore_app.runtime.effects import wants_less_motion
from shaftscore_app.runtime.jobs import Jobs
from shaftscore_app.runtime.late_paint import paint_late
from shaftscore_app.runtime.memory import SETTLE_MS, settle
from shaftscore_app.runtime.preload import load_beside
from shaftscore_app.runtime.settings import Settings, Values
from shaftscore_app.runtime.watching import Watch
from shaftscore_app.theme import Theme, program_icon
from shaftscore_app.timing.widget import TimingDiagram
from shaftscore_app.views.disc import DiscView
from shaftscore_app.views.findings import FindingsView
from shaftscore_app.views.flow import FlowView
from shaftscore_app.views.layout import LAYOUT_VERSION, Docks
from shaftscore_app.views.load import LoadsView
from shaftscore_app.views.motion import MotionView
from shaftscore_app.views.properties import PropertiesView
from shaftscore_app.views.stack import StackView
from shaftscore_app.views.state_table import StateTableView
from shaftscore_app.widgets.focus import let_tab_reach, next_stop
from shaftscore_app.widgets.menu import Menu

FIRST_SIZE = (1600, 1000)
LEAST_SIZE = (900, 560)
"""Size at first start, and the least; px of the design."""

FRAME = 40
"""Room that the system's title bar and frame may take, px."""


BLOCK_MENU = (
    "block.values",
    "block.up",
    "block.down",
    "block.lock",
    "block.window",
    "block.law",
    "",
    "block.repeat",
    "block.mirror",
    "",
    "edit.cut",
    "edit.copy",
    "edit.paste",
    "edit.duplicate",
    "edit.delete",
    "",
    "lane.rename",
    "lane.levels",
)
LANE_MENU = (
    "block.add",
    "edit.paste",
    "",
    "lane.rename",
    "lane.levels",
    "lane.shift",
    "block.mirror",
    "lane.new",
    "",
    "lane.group",
    "lane.up",
    "lane.down",
    "",
    "lane.isolate",
    "lane.hide",
    "lane.show_all",
    "",
    "lane.delete",
)
"""What the menus of a block and of a lane hold."""


class MainWindow(QMainWindow):
    """The window of the editor. What a command does stands in `commands`; here is what joins them.

    It has many small methods since the system's events of the window arrive here.
    """

    def __init__(
        self,
        document: Document,
        theme: Theme,
        settings: Settings,
        jobs: Jobs,
        *,
        store: Store,
        picker: Picker | None = None,
    ) -> None:
        """Build the window of a document; store: where drafts and versions are kept."""
        super().__init__()
        self.document, self.theme, self.settings, self.jobs = document, theme, settings, jobs
        self.store = store
        self.drafting = Drafting(document, store, jobs, parent=self)
        self._may_close = False
        theme.dress(self)
        self.setObjectName("main-window")
        self.setAcceptDrops(True)
        self._build_files(picker or SystemPicker())
        self._build_views()
        self._build_commands(picker or SystemPicker())
        self._build_bars()
        self._connect()
        let_tab_reach(self.toolbar)
        self._fit()
        self._restore()
        self._show_document()
        Watch(self, self._hear)

    # Building

    def _build_files(self, picker: Picker) -> None:
        document, theme, store = self.document, self.theme, self.store
        self.files = FileCommands(
            self, document, theme, self.settings, jobs=self.jobs, store=store, picker=picker
        )
        keep_now = self.drafting.keep_now
        self.keeping = KeepingCommands(self, document, theme, store, files=self.files, keep_now=keep_now)

    def _build_views(self) -> None:
        document, theme = self.document, self.theme
        self.diagram = TimingDiagram(document, theme)
        self.start_page = StartPage(theme)
        self.centre = QStackedWidget()
        self.centre.addWidget(self.start_page)
        self.centre.addWidget(self.diagram)
        self.alone_bar = AloneBar(document, theme)
        bars = (self.keeping.draft_bar, self.keeping.disk_bar, self.alone_bar)
        self.setCentralWidget(_column(*bars, self.centre))
        self.findings = FindingsView(document, theme)
        self.disc = DiscView(document, theme)
        self.properties = PropertiesView(document, theme)
        self.load = LoadsView(document, theme)
        self.motion = MotionView(document, theme)
        self.flow = FlowView(document, theme)
        self.stack = StackView(document, theme, self.jobs)
        self.state_table = StateTableView(document, theme)
        self.docks = Docks(
            self,
            theme,
            {
                "findings": ("Findings", self.findings),
                "table": ("State table", self.state_table),
                "disc": ("Disc", self.disc),
                "properties": ("Properties", self.properties),
                "load": ("Load", self.load),
                "motion": ("Motion", self.motion),
                "flow": ("Flow", self.flow),
                "stack": ("Stack", self.stack),
            },
        )
        self.docks.front_changed.connect(self._show_front)

    def _build_commands(self, picker: Picker) -> None:
        document, theme = self.document, self.theme
        self.player = Player(document, parent=self)
        self.notices = Notices(self, theme, self.jobs)
        self.exports = ExportCommands(self, document, theme, self.jobs, picker)
        self.bench = BenchCommands(self, document, theme, self.jobs, picker)
        self.edits = EditCommands(self, document, theme)
        self.timing = TimingCommands(self, document, theme, self.diagram)
        self.studies = LaneStudies(self, document, theme, picker)
        self.tables = TableCommands(
            self,
            document,
            theme,
            files=self.files,
            picker=picker,
            docks=self.docks,
            view=self.state_table,
        )
        self.proving = ProvingCommands(self, document, theme, self.jobs)
        self.printing = PrintCommands(self, document, theme, self.settings, picker)
        self.machine = MachineCommands(self, document, theme, self.jobs)
        self.arranging = ArrangeCommands(self, document, theme, self.jobs, self.diagram)
        self.view_commands = ViewCommands(
            self,
            document,
            theme,
            self.settings,
            docks=self.docks,
            diagram=self.diagram,
            findings=self.findings,
            player=self.player,
        )
        groups = (
            self.files,
            self.keeping,
            self.exports,
            self.bench,
            self.edits,
            self.timing,
            self.studies,
            self.tables,
            self.proving,
            self.machine,
            self.printing,
            self.arranging,
            self.view_commands,
        )
        handlers: dict[str, Callable[..., object]] = {}
        reasons: dict[str, Reason] = {}
        for group in groups:
            handlers |= group.handlers()
            reasons |= group.reasons()
        self.actions_table = Actions(self, self.diagram, theme, handlers, reasons)

    def _build_bars(self) -> None:
        actions, values = self.actions_table, self.settings.values
        actions.fill(self.menuBar())
        self.toolbar = ToolBar(actions, self.document, self.theme, self.player, values.grid_deg)
        self.addToolBar(self.toolbar)
        self.status = StatusBar(self.document, self.theme, lambda: self.drafting.state)
        self.setStatusBar(self.status)
        self._show_settings()
        self.view_commands.apply_settings()

    def _show_settings(self) -> None:
        """Show in the menus and in the toolbar what the settings say."""
        actions, values = self.actions_table, self.settings.values
        actions["block.snap"].setChecked(values.snap)
        actions["block.keep"].setChecked(values.moves_keep)
        actions["block.zones"].setChecked(values.zones)
        actions["view.reduce_motion"].setChecked(values.reduce_motion)
        self.toolbar.grid.set_shown(values.grid_deg)

    def _connect(self) -> None:
        document, start = self.document, self.start_page
        for signal in (
            document.history_changed,
            document.selection_changed,
            document.file_changed,
            document.report_changed,
        ):
            signal.connect(self._show_state)
        document.history_changed.connect(lambda: paint_late(self))
        document.file_changed.connect(self._show_document)
        self.theme.changed.connect(self._fit)
        self.jobs.busy_changed.connect(lambda _kind, _busy: self._show_state())
        start.new_wanted.connect(self.tables.new_machine)
        start.open_wanted.connect(self.files.ask_open)
        start.recent_wanted.connect(self.files.open)
        start.sample_wanted.connect(self._choose_sample)
        self.files.close_wanted.connect(self.close_at_once)
        self.drafting.told.connect(self.status.refresh_state)
        document.refused.connect(self.status.set_hint)
        self.exports.told.connect(self.status.show_progress)
        self.exports.ended.connect(self.status.end_progress)
        self.bench.told.connect(self.status.show_progress)
        self.bench.ended.connect(self.status.end_progress)
        self.exports.errors_wanted.connect(self._show_errors)
        self.status.cancel_wanted.connect(self.exports.cancel)
        self.status.cancel_wanted.connect(self.bench.cancel)
        self.status.findings_wanted.connect(lambda: self.docks.show("findings"))
        self.files.reading.connect(lambda name: self.status.set_hint(f"Opening {name}…" if name else ""))
        self.edits.told.connect(self.status.set_hint)
        self.timing.told.connect(self.status.set_hint)
        self.timing.clipboard_changed.connect(self._show_state)
        self.actions_table.opening.connect(self.timing.look_at_clipboard)
        self.actions_table.menu_wanted.connect(
            lambda name: self.actions_table.pop_up(name, self.diagram.menu_place())
        )
        self.machine.told.connect(self.status.set_hint)
        self.printing.told.connect(self.status.set_hint)
        self.view_commands.settings_changed.connect(self._show_settings)
        self.properties.form_wanted.connect(lambda name: self.actions_table[name].trigger())
        self.edits.properties_wanted.connect(self._type_property)
        self.edits.window_wanted.connect(self._type_window)
        self.view_commands.told.connect(self.status.set_hint)
        self.view_commands.angle_wanted.connect(
            lambda: self.toolbar.angle.setFocus(Qt.FocusReason.ShortcutFocusReason)
        )
        self.findings.visited.connect(self.diagram.show_finding)
        self.flow.visited.connect(self.diagram.show_finding)
        self.diagram.told.connect(self.status.set_hint)
        self.diagram.values_wanted.connect(lambda _ref: self._type_property())
        self.diagram.lane_wanted.connect(self.edits.new_lane)
        self.diagram.rename_wanted.connect(self.edits.rename_lane)
        self.diagram.menu_wanted.connect(self._show_menu)
        self.player.playing_changed.connect(self._show_playing)
        self.toolbar.grid.entered.connect(self._set_grid)

    # What it shows

    def _show_front(self, name: str, in_front: bool) -> None:
        """Let a view with plots know whether it is seen: behind a tab it costs nothing."""
        if name == "load":
            self.load.set_seen(in_front)
        elif name == "motion":
            self.motion.set_seen(in_front)
        elif name == "flow":
            self.flow.set_seen(in_front)
        elif name == "stack":
            self.stack.set_seen(in_front)
        elif name == "table":
            self.state_table.set_seen(in_front)

    def _show_document(self) -> None:
        document = self.document
        only = " (to look only)" if document.is_read_only else ""
        title = f"{document.name}[*]{only} – Shaftscore" if document.is_started else "Shaftscore[*]"
        self.setWindowTitle(title)
        self.setWindowModified(document.is_modified)
        self.setWindowFilePath("" if document.path is None else str(document.path))
        self.setWindowTitle(title)  # the file's path changes it on some platforms
        self.centre.setCurrentWidget(self.diagram if document.is_started else self.start_page)
        self.start_page.set_recent(self.settings.recent_files())

    def _show_state(self) -> None:
        """Name undo and redo, grey what cannot be done, and show whether the selection is locked."""
        actions, document = self.actions_table, self.document
        if document.is_previewing:
            return  # nothing can be done while something is held, and each frame counts
        actions["edit.undo"].setText(f"&Undo {document.undo_name}".rstrip())
        actions["edit.redo"].setText(f"&Redo {document.redo_name}".rstrip())
        actions["block.lock"].setChecked(self.edits.all_locked)
        actions["prove.alone"].setChecked(document.lanes is not None)
        actions.refresh()

    def _show_playing(self, playing: bool) -> None:
        action = self.actions_table["view.play"]
        action.setIcon(self.theme.icon("pause" if playing else "play"))
        action.setText("&Pause" if playing else "Pla&y")

    def _show_errors(self) -> None:
        from shaftscore.judge.findings import Severity

        self.document.check_alone(None)
        self.findings.set_filter(Severity.ERROR)
        self.docks.show("findings")

    def _type_property(self) -> None:
        self.docks["properties"].show()
        self.docks["properties"].raise_()
        self.properties.focus_first()

    def _type_window(self) -> None:
        self._type_property()
        self.properties.block.earliest.setFocus(Qt.FocusReason.ShortcutFocusReason)

    def _choose_sample(self) -> None:
        menu = Menu(self)
        self.files.fill_samples(menu)
        button = self.start_page.sample
        menu.popup(button.mapToGlobal(button.rect().bottomLeft()))

    def _set_grid(self, deg: float) -> None:
        self.toolbar.grid.set_shown(deg)
        self.view_commands.set_habits(grid_deg=deg)

    def _show_menu(self, place: QPoint) -> None:
        """Show the menu of what is selected in the diagram."""
        menu = Menu(self)
        menu.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        self.timing.look_at_clipboard()
        self._show_state()
        ids = BLOCK_MENU if self.document.selection.blocks else LANE_MENU
        for command_id in ids:
            if command_id:
                menu.addAction(self.actions_table[command_id])
            else:
                menu.addSeparator()
        menu.popup(place)

    # Place and size

    def _fit(self) -> None:
        px = self.theme.px
        room = self.screen().availableSize()
        self.setMinimumSize(min(px(LEAST_SIZE[0]), room.width()), min(px(LEAST_SIZE[1]), room.height()))
        self.menuBar().setFixedHeight(px(28))
        self.toolbar.setFixedHeight(px(44))
        self._show_playing(self.player.is_playing)

    def _restore(self) -> None:
        """Bring back the person's own arrangement, else the default for the size of the window."""
        values = self.settings.values
        if values.geometry:
            self.restoreGeometry(QByteArray.fromBase64(values.geometry.encode()))
        else:
            self._take_first_size()
        state = QByteArray.fromBase64(values.layout.encode())
        known = values.layout_version == LAYOUT_VERSION and not state.isEmpty()
        self.docks.arrange()
        self._wants_default = not (known and self.restoreState(state, LAYOUT_VERSION))
        self.docks.bring_into_sight()

    def _take_first_size(self) -> None:
        """Take the size of the design; where the screen has no room for it and a frame, all of the screen."""
        room, px = self.screen().availableSize(), self.theme.px
        self.resize(min(FIRST_SIZE[0], room.width()), min(FIRST_SIZE[1], room.height() - px(FRAME)))
        if room.width() <= FIRST_SIZE[0] or room.height() < FIRST_SIZE[1] + px(FRAME):
            self.setWindowState(Qt.WindowState.WindowMaximized)

    def _remember(self) -> None:
        self.settings.change(
            geometry=_text(self.saveGeometry()),
            layout=_text(self.saveState(LAYOUT_VERSION)),
            layout_version=LAYOUT_VERSION,
        )

    def showEvent(self, event: QShowEvent) -> None:
        """Arrange the docks once the window has its size."""
        super().showEvent(event)
        if self._wants_default:
            self._wants_default = False
            QTimer.singleShot(0, self, self.docks.arrange)
        else:
            self.docks.settle()

    # Leaving

    def close_at_once(self) -> None:
        """Close without asking; changes that are not saved are lost."""
        self._may_close = True
        self.close()

    def closeEvent(self, event: QCloseEvent) -> None:
        """Ask about changes first; then remember the arrangement and stop what runs."""
        if not self._may_close and self.document.is_modified:
            event.ignore()
            self.files.quit()
            return
        self.player.pause()
        self._remember()
        self.drafting.end()
        self.keeping.leave()
        self.store.open_files.release_all_but(None)
        self.jobs.close()
        event.accept()

    # Files dropped, hints

    def dragEnterEvent(self, event: QDragEnterEvent) -> None:
        """Take one file."""
        if _dropped(event.mimeData()) is not None:
            event.acceptProposedAction()

    def dropEvent(self, event: QDropEvent) -> None:
        """Open the file."""
        path = _dropped(event.mimeData())
        if path is not None:
            event.acceptProposedAction()
            self.files.open(path)

    def focusNextPrevChild(self, forward: bool) -> bool:
        """Let Tab go through toolbar, diagram, right column, bottom row and status bar."""
        views = (
            self.toolbar,
            self.keeping.draft_bar,
            self.keeping.disk_bar,
            self.alone_bar,
            self.centre,
            self.disc,
            self.properties,
            self.findings,
            self.load,
            self.motion,
            self.flow,
            self.stack,
            self.status,
        )
        seen = [view for view in views if not self.docks.is_behind(view)]
        stop = next_stop(seen, self.focusWidget(), 1 if forward else -1)
        if stop is not None:
            reason = Qt.FocusReason.TabFocusReason if forward else Qt.FocusReason.BacktabFocusReason
            stop.setFocus(reason)
        return stop is not None

    def changeEvent(self, event: QEvent) -> None:
        """Look whether somebody else wrote the file, whenever the window comes to the front."""
        super().changeEvent(event)
        if event.type() == QEvent.Type.ActivationChange and self.isActiveWindow():
            self.keeping.look_at_disk()

    def _hear(self, event: QEvent) -> bool:
        """Show hints of menus and buttons where what is held stands."""
        if isinstance(event, QStatusTipEvent):
            self.status.set_hint(event.tip())
            return True
        return False


def _column(*widgets: QWidget) -> QWidget:
    """Put widgets below one another, without gaps; the last takes the room."""
    column = QWidget()
    layout = QVBoxLayout(column)
    layout.setContentsMargins(0, 0, 0, 0)
    layout.setSpacing(0)
    for widget in widgets:
        layout.addWidget(widget)
    layout.setStretch(len(widgets) - 1, 1)
    return column


def _text(data: QByteArray) -> str:
    return bytes(data.toBase64().data()).decode()


def _dropped(data: QMimeData) -> Path | None:
    """Return the one file that is dragged, if it is one."""
    paths = [Path(url.toLocalFile()) for url in data.urls() if url.isLocalFile()]
    return paths[0] if len(paths) == 1 and paths[0].is_file() else None


def run(path: Path | None) -> int:
    """Run the editor, with a file if one is given; returns the program's exit code."""
    QLocale.setDefault(QLocale.c())
    app = QApplication.instance() or QApplication(sys.argv[:1])
    assert isinstance(app, QApplication)
    app.setApplicationName("shaftscore")
    app.setApplicationDisplayName("")
    app.setDesktopFileName("shaftscore")
    app.setWindowIcon(program_icon())
    keep_logs(Path(platformdirs.user_state_dir("shaftscore", appauthor=False)))
    settings = Settings.of_the_person(Values(reduce_motion=wants_less_motion()))
    theme = Theme(app, settings.values.theme, settings.values.text_scale)
    jobs = Jobs()
    document = Document(jobs=jobs)
    window = MainWindow(document, theme, settings, jobs, store=Store.of_the_person())
    crashes = Crashes(
        window, theme, document, store=window.store, drafting=window.drafting, save_as=window.files.save_as
    )
    uninstall = crashes.install(jobs)
    window.show()
    window.keeping.look_for_drafts()
    if path is not None:
        QTimer.singleShot(0, window, lambda: window.files.open(path))
    QTimer.singleShot(SETTLE_MS, settle)
    QTimer.singleShot(SETTLE_MS, window, lambda: load_beside(jobs))
    code = app.exec()
    uninstall()
    return code
