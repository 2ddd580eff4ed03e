"""The window: puts document, views, commands, toolbar and status bar together.

The timing diagram is the centre; all else is a dock. `wiring` connects their signals, `placement`
where the window is, `groups` which commands there are.
"""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QEvent, QMimeData, QPoint, Qt
from PySide6.QtGui import QCloseEvent, QDragEnterEvent, QDropEvent, QShowEvent, QStatusTipEvent
from PySide6.QtWidgets import QMainWindow, QStackedWidget, QVBoxLayout, QWidget

from shaftscore_app.commands.picking import Picker, SystemPicker
from shaftscore_app.commands.services import Services
from shaftscore_app.document import Document
from shaftscore_app.document.coverage import RowAction
from shaftscore_app.document.next_step import NextStep
from shaftscore_app.document.play import Player
from shaftscore_app.frame.alone_bar import AloneBar
from shaftscore_app.frame.context_menus import context_menu
from shaftscore_app.frame.cycle_bar import CycleBar
from shaftscore_app.frame.empty_diagram import EmptyDiagram
from shaftscore_app.frame.groups import CommandGroups
from shaftscore_app.frame.next_step_bar import NextStepBar
from shaftscore_app.frame.notices import Notices
from shaftscore_app.frame.placement import WindowPlacement
from shaftscore_app.frame.start_page import StartPage
from shaftscore_app.frame.status_bar import StatusBar
from shaftscore_app.frame.toolbar import ToolBar
from shaftscore_app.frame.version_bar import VersionBar
from shaftscore_app.frame.wiring import connect_window, show_next_step
from shaftscore_app.keeping import PersonStore
from shaftscore_app.keeping.drafting import Drafting
from shaftscore_app.menus.actions import Actions
from shaftscore_app.runtime.jobs import Jobs
from shaftscore_app.runtime.resting import MemoryAtRest
from shaftscore_app.runtime.settings import Settings
from shaftscore_app.runtime.watching import EventWatch
from shaftscore_app.theme import Theme
from shaftscore_app.timing.widget import TimingDiagram
from shaftscore_app.views.coverage import CoverageView
from shaftscore_app.views.findings import FindingsView
from shaftscore_app.views.flow import FlowView
from shaftscore_app.views.layout import Docks
from shaftscore_app.views.properties import PropertiesView
from shaftscore_app.widgets.focus import let_tab_reach, next_stop
from shaftscore_app.widgets.menu import Menu

if TYPE_CHECKING:
    from shaftscore_app.views.program import ProgramView


class MainWindow(QMainWindow):
    """The window of the editor. What a command does is in `commands`; here is what joins them.

    It has many small methods since the system's events of the window arrive here.
    """

    def __init__(
        self,
        document: Document,
        theme: Theme,
        settings: Settings,
        jobs: Jobs,
        *,
        store: PersonStore,
        picker: Picker | None = None,
    ) -> None:
        """Build the window of a document; store: where drafts and versions are kept."""
        super().__init__()
        self.document, self.theme, self.settings, self.jobs = document, theme, settings, jobs
        self.store = store
        self.drafting = Drafting(document, store, jobs, parent=self)
        self._may_close = False
        theme.apply_to(self)
        self.setObjectName("main-window")
        self.setAcceptDrops(True)
        self._build_views()
        self._build_commands(picker or SystemPicker())
        self._build_centre()
        self._build_bars()
        connect_window(self)
        let_tab_reach(self.toolbar)
        self._placement = WindowPlacement(self, self.docks, theme, settings)
        self.fit()
        self._placement.restore()
        show_next_step(self)
        self.show_document()
        self.focus_centre()  # not the first list of a dock, which would choose its row
        EventWatch(self, self._on_event)
        self._memory = MemoryAtRest(jobs, self)

    # Building

    def _build_views(self) -> None:
        self.diagram = TimingDiagram(self.document, self.theme)
        self.docks = Docks(self, self.document, self.theme, self.jobs)
        self.findings = self.docks.view(FindingsView)
        self.flow = self.docks.view(FlowView)
        self.coverage = self.docks.view(CoverageView)
        self.properties = self.docks.view(PropertiesView)

    @property
    def program(self) -> ProgramView:
        """The Program maker; whoever asks for it has it made."""
        from shaftscore_app.views.program import ProgramView  # late: it takes long

        return self.docks.view(ProgramView)

    @property
    def has_unapplied(self) -> bool:
        """Whether the Program maker holds anything that is not applied."""
        return self.docks.late.is_made("program") and self.program.is_unapplied

    def _build_commands(self, picker: Picker) -> None:
        services = Services(self, self.document, self.theme, self.settings, self.jobs, self.store, picker)
        self.player = Player(self.document, parent=self)
        self.notices = Notices(self, self.theme, self.jobs)
        self.groups = CommandGroups(
            services,
            self.drafting.keep_now,
            diagram=self.diagram,
            docks=self.docks,
            player=self.player,
        )
        self.actions_table = Actions(
            self, self.diagram, self.theme, self.groups.handlers(), self.groups.reasons()
        )

    def _build_centre(self) -> None:
        self.start_page = StartPage(self.theme)
        self.empty = EmptyDiagram(self.document, self.theme, self.diagram)
        self.centre = QStackedWidget()
        self.centre.addWidget(self.start_page)
        self.centre.addWidget(self.diagram)
        self.alone_bar = AloneBar(self.document, self.theme)
        keeping = self.groups.keeping
        self.version_bar = VersionBar(self.document, self.theme, lambda: self.docks.show("coverage"))
        self.cycle_bar = CycleBar(self.document, self.theme)
        self._bars = (keeping.draft_bar, keeping.disk_bar, self.version_bar, self.alone_bar, self.cycle_bar)
        self.setCentralWidget(_column(*self._bars, self.centre))

    def _build_bars(self) -> None:
        actions, values = self.actions_table, self.settings.values
        actions.fill(self.menuBar())
        self.toolbar = ToolBar(actions, self.document, self.theme, self.player, values.grid_deg)
        self.addToolBar(self.toolbar)
        self.status = StatusBar(self.document, self.theme, lambda: self.drafting.state)
        self.setStatusBar(self.status)
        self.next_step = NextStepBar(self.document, self.theme)
        self.addToolBar(Qt.ToolBarArea.BottomToolBarArea, self.next_step)
        self.show_settings()
        self.groups.views.apply_settings()

    # What it shows

    def focus_centre(self) -> None:
        """Put the focus into the diagram; into the start page where there is no machine."""
        (self.diagram if self.document.is_started else self.start_page).setFocus()

    def show_settings(self) -> None:
        """Show in the menus and in the toolbar what the settings say."""
        actions, values = self.actions_table, self.settings.values
        actions["block.snap"].setChecked(values.snap)
        actions["block.keep"].setChecked(values.moves_keep)
        actions["block.zones"].setChecked(values.zones)
        actions["view.reduce_motion"].setChecked(values.reduce_motion)
        self.toolbar.grid.set_shown(values.grid_deg)

    def show_document(self) -> None:
        """Show name, file and state of the document, and the start page where there is no machine."""
        document = self.document
        only = " (read-only)" if document.is_read_only else ""
        title = f"{document.name}[*]{only} – Shaftscore" if document.is_started else "Shaftscore[*]"
        self.setWindowTitle(title)
        self.setWindowModified(document.is_modified)
        self.setWindowFilePath("" if document.path is None else str(document.path))
        self.setWindowTitle(title)  # the file's path changes it on some platforms
        self.centre.setCurrentWidget(self.diagram if document.is_started else self.start_page)
        self.start_page.set_recent(self.settings.recent_files())

    def show_state(self) -> None:
        """Name undo and redo, grey what cannot be done, and show whether the selection is locked."""
        actions, document = self.actions_table, self.document
        if document.is_previewing:
            return  # nothing can be done while something is held, and each frame counts
        actions["edit.undo"].setText(f"&Undo {document.undo_name}".rstrip())
        actions["edit.redo"].setText(f"&Redo {document.redo_name}".rstrip())
        actions["block.lock"].setChecked(self.groups.edits.all_locked)
        actions["prove.alone"].setChecked(document.lanes is not None)
        actions.refresh()

    def show_playing(self, playing: bool) -> None:
        """Show whether the shaft is turning."""
        action = self.actions_table["view.play"]
        action.setIcon(self.theme.icon("pause" if playing else "play"))
        action.setText("&Pause" if playing else "Pla&y")

    def show_errors(self) -> None:
        """Go to the errors of the whole machine."""
        from shaftscore.judge.findings import Severity

        self.document.check_alone(None)
        self.findings.set_filter(Severity.ERROR)
        self.docks.show("findings")

    def show_found(self, areas: tuple[str, ...]) -> None:
        """Go to what was found in some areas of the whole machine."""
        self.document.check_alone(None)
        self.findings.set_areas(areas)
        self.docks.show("findings")

    def describe(self, command: str, path: str) -> None:
        """Do a command that describes what is missing; a form opens at the field of a path."""
        if self.groups.machine.open_at(command, path):
            return
        lane_id = self.document.selection.lane_id  # a table that comes to the front may choose another one
        self.actions_table[command].trigger()
        if command == "view.diagram" and lane_id is not None:
            self.diagram.show_lane(lane_id)
        elif command == "view.table" and lane_id is not None:
            self.docks.late.when_made("table", lambda table: table.show_lane(lane_id))

    def act(self, action: RowAction) -> None:
        """Do what the button of an empty view says."""
        if action.lane_id is not None:
            self.document.select_lane(action.lane_id)
        self.describe(action.command, action.path)

    def go_on(self, step: NextStep) -> None:
        """Do what the next step says: a form at its field, a view, or what was found."""
        if step.action.command:
            self.act(step.action)
        elif step.finding is not None:
            self.document.check_alone(None)
            self.findings.set_areas(())
            self.document.select_finding(step.finding.key)
            self.docks.show("findings")
            self.diagram.show_finding(step.finding.key)

    def type_property(self) -> None:
        """Put the focus into the first field of Properties."""
        self.docks["properties"].show()
        self.docks["properties"].raise_()
        self.properties.focus_first()

    def type_window(self) -> None:
        """Put the focus into the window of the selected block."""
        self.type_property()
        self.properties.block.earliest.setFocus(Qt.FocusReason.ShortcutFocusReason)

    def choose_sample(self) -> None:
        """Offer the samples below the button of the start page."""
        menu = Menu(self)
        self.groups.files.fill_samples(menu)
        button = self.start_page.sample
        menu.popup(button.mapToGlobal(button.rect().bottomLeft()))

    def set_grid(self, deg: float) -> None:
        """Set the grid, degrees."""
        self.toolbar.grid.set_shown(deg)
        self.groups.views.set_habits(grid_deg=deg)

    def show_menu(self, place: QPoint) -> None:
        """Show the menu of what is selected in the diagram."""
        self.groups.timing.look_at_clipboard()
        self.show_state()
        of_block = bool(self.document.selection.blocks)
        context_menu(self, self.actions_table, of_block=of_block).popup(place)

    # Place and size

    def fit(self) -> None:
        """Take the size of the theme's text."""
        px = self.theme.px
        self._placement.fit()
        self.menuBar().setFixedHeight(px(28))
        self.toolbar.setFixedHeight(px(44))
        self.show_playing(self.player.is_playing)

    def showEvent(self, event: QShowEvent) -> None:
        """Arrange the docks once the window has its size."""
        super().showEvent(event)
        self._placement.on_shown()

    # Leaving

    def close_at_once(self) -> None:
        """Close without asking; changes that are not saved are lost."""
        self._may_close = True
        self.close()

    def closeEvent(self, event: QCloseEvent) -> None:
        """Ask about changes first; then remember the arrangement and stop what runs."""
        if not self._may_close and (self.document.is_modified or self.has_unapplied):
            event.ignore()
            self.groups.files.quit()
            return
        self.player.pause()
        self._placement.remember()
        self.drafting.end()
        self.groups.keeping.leave()
        self.store.open_files.release_all_but(None)
        self.jobs.close()
        self._memory.end()
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
            self.groups.files.open(path)

    def focusNextPrevChild(self, forward: bool) -> bool:
        """Let Tab go through toolbar, diagram, right column, bottom row and status bar."""
        containers = (self.toolbar, *self._bars, self.centre, *self.docks.in_tab_order())
        stop = next_stop((*containers, self.next_step, self.status), self.focusWidget(), 1 if forward else -1)
        if stop is not None:
            reason = Qt.FocusReason.TabFocusReason if forward else Qt.FocusReason.BacktabFocusReason
            stop.setFocus(reason)
        return stop is not None

    def changeEvent(self, event: QEvent) -> None:
        """Look whether somebody else wrote the file, whenever the window comes to the front."""
        super().changeEvent(event)
        if event.type() == QEvent.Type.ActivationChange and self.isActiveWindow():
            self.groups.keeping.look_at_disk()

    def _on_event(self, event: QEvent) -> bool:
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


def _dropped(data: QMimeData) -> Path | None:
    """Return the one file that is dragged, if it is one."""
    paths = [Path(url.toLocalFile()) for url in data.urls() if url.isLocalFile()]
    return paths[0] if len(paths) == 1 and paths[0].is_file() else None
