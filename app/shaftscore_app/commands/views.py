"""Commands of the menus Check, View and Help."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from functools import partial

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QActionGroup
from PySide6.QtWidgets import QDockWidget, QMenu, QWidget

from shaftscore.base import wording
from shaftscore_app.commands.services import CommandGroup, Services
from shaftscore_app.document.play import RATES, Player
from shaftscore_app.menus.actions import Reason
from shaftscore_app.theme import Choice
from shaftscore_app.timing.drag import DragHabits
from shaftscore_app.timing.widget import TimingDiagram
from shaftscore_app.views.findings import FindingsView
from shaftscore_app.views.layout import Docks

THEMES: tuple[tuple[str, Choice], ...] = (("As the system", "system"), ("Light", "light"), ("Dark", "dark"))
NO_VIEW = "Go to a view first (F6): the diagram itself stays where it is"
GROWN = {
    "wider": (48, Qt.Orientation.Horizontal),
    "narrower": (-48, Qt.Orientation.Horizontal),
    "taller": (48, Qt.Orientation.Vertical),
    "shorter": (-48, Qt.Orientation.Vertical),
}
"""By how many px of the design, and which way, the commands change the size of a view."""

SCALES = (0.8, 0.9, 1.0, 1.1, 1.25, 1.5, 1.75, 2.0)


class ViewCommands(CommandGroup):
    """The commands.

    Signals: settings_changed() when settings were changed by their form; angle_wanted() when the shaft's
    angle is to be typed; status_message(sentence) with why something could not be done.
    """

    angle_wanted = Signal()
    settings_changed = Signal()
    status_message = Signal(str)

    def __init__(
        self,
        services: Services,
        *,
        docks: Docks,
        diagram: TimingDiagram,
        findings: FindingsView,
        player: Player,
    ) -> None:
        """Serve a window and its views."""
        super().__init__(services)
        self._docks, self._diagram, self._findings, self._player = docks, diagram, findings, player

    def handlers(self) -> Mapping[str, Callable[..., object]]:
        """Return what each command does."""
        diagram = self._diagram
        shows = {f"view.{name}": partial(self._docks.show, name) for name in self._docks.names()}
        return shows | {
            "prove.bring_up": lambda: self._docks.show_large("bring_up"),
            "edit.delete": diagram.delete_selected,
            "edit.select_all": diagram.select_more,
            "edit.find": self.ask_lane,
            "edit.settings": self.ask_settings,
            "block.add": diagram.add_at_cursor,
            "block.up": diagram.level_up,
            "block.down": diagram.level_down,
            "block.keep": lambda on: self.set_habits(moves_keep=on),
            "block.snap": lambda on: self.set_habits(snap=on),
            "block.zones": lambda on: self.set_habits(zones=on),
            "prove.next": partial(self._findings.step, 1),
            "prove.previous": partial(self._findings.step, -1),
            "prove.cure": self.do_cure,
            "prove.alone": self.check_alone,
            "view.diagram": lambda: diagram.setFocus(Qt.FocusReason.ShortcutFocusReason),
            "view.next": partial(self.go_round, 1),
            "view.previous": partial(self.go_round, -1),
            "view.float": lambda: self._with_view(self._docks.toggle_float),
            "view.close": lambda: self._with_view(self.close_view),
            **{f"view.{name}": partial(self._grow, *grown) for name, grown in GROWN.items()},
            "view.zoom_in": diagram.zoom_in,
            "view.zoom_out": diagram.zoom_out,
            "view.whole_turn": diagram.whole_turn,
            "view.fit_lanes": diagram.fit_lanes,
            "view.play": self._player.toggle,
            "view.rate": self.fill_rates,
            "view.step_back": self._player.step_back,
            "view.step_forward": self._player.step_forward,
            "view.go_to": self.angle_wanted.emit,
            "view.theme": self.fill_themes,
            "view.text_size": self.fill_sizes,
            "view.reduce_motion": self.set_reduce_motion,
            "view.default": self._docks.arrange,
            "view.full_screen": self.set_full_screen,
            "help.guide": self.open_guide,
            "help.shortcuts": self.open_shortcuts,
            "help.cautions": self.open_cautions,
            "help.about": self.open_about,
        }

    def reasons(self) -> Mapping[str, Reason]:
        """Return why a command cannot be done now."""
        nothing = self._needs(lambda: bool(self._document.report.findings), "Nothing was found")
        started = self._needs(lambda: self._document.is_started, "No machine is open")
        return {
            "edit.find": self._needs(lambda: bool(self._document.project.lanes), "There are no lanes yet"),
            "prove.next": nothing,
            "prove.previous": nothing,
            "prove.alone": self._needs(self._has_lanes, "Select lanes, or blocks of them, first"),
            "prove.bring_up": self._needs(
                lambda: bool(self._document.project.lanes), "There are no lanes yet"
            ),
            "prove.cure": self._needs(self._has_cure, "Choose a finding whose cure is an edit first"),
            **{
                f"view.{name}": started
                for name in ("zoom_in", "zoom_out", "whole_turn", "fit_lanes", "diagram")
            },
        }

    @staticmethod
    def _needs(holds: Callable[[], bool], otherwise: str) -> Reason:
        return lambda: "" if holds() else otherwise

    def open_guide(self) -> None:
        """Open the guide, at the page of the chosen finding if there is one."""
        from shaftscore_app.dialogs.guide import GuideDialog  # late, as all dialogs here: the start is sooner
        from shaftscore_app.runtime.guide import FIRST, page_of

        chosen = self._findings.chosen
        GuideDialog(self._window, self._theme, FIRST if chosen is None else page_of(chosen.rule)).show()

    def open_shortcuts(self) -> None:
        """Show all keys."""
        from shaftscore_app.dialogs.helping import ShortcutsDialog

        ShortcutsDialog(self._window, self._theme).open()

    def open_cautions(self) -> None:
        """Show the cautions."""
        from shaftscore_app.dialogs.helping import CautionsDialog

        CautionsDialog(self._window, self._theme).open()

    def open_about(self) -> None:
        """Show what this program is, and its licences."""
        from shaftscore_app.dialogs.helping import AboutDialog

        AboutDialog(self._window, self._theme).open()

    # Findings

    def _has_cure(self) -> bool:
        chosen = self._findings.chosen
        return chosen is not None and chosen.cure is not None and chosen.cure.edit is not None

    def do_cure(self) -> None:
        """Apply the fix suggested for the selected finding."""
        fault = self._findings.do_cure()
        if fault:
            self.status_message.emit(fault)

    def _has_lanes(self) -> bool:
        return self._document.lanes is not None or bool(self._selected_lanes())

    def _selected_lanes(self) -> frozenset[str]:
        return frozenset(self._document.selection.lane_ids)

    def check_alone(self, alone: bool) -> None:
        """Check the selected lanes alone, or the whole machine again."""
        self._document.check_alone(self._selected_lanes() if alone else None)

    # Views

    def go_round(self, by: int) -> None:
        """Put the focus into the next (1) or previous (-1) view that is open and has something to focus."""
        stops: list[tuple[QWidget, Callable[[], object]]] = []
        central = self._window.centralWidget()
        if central is not None:
            stops.append((central, lambda: self._diagram.setFocus(Qt.FocusReason.ShortcutFocusReason)))
        for name in self._docks.names():
            if self._docks[name].isVisible():
                stops.append((self._docks[name], partial(self._docks.show, name)))
        holder = self._window.focusWidget()
        places = [i for i, (stop, _) in enumerate(stops) if holder is not None and stop.isAncestorOf(holder)]
        place = places[0] if places else -by
        for step in range(1, len(stops) + 1):
            stop, give_focus = stops[(place + by * step) % len(stops)]
            give_focus()
            holder = self._window.focusWidget()
            if holder is not None and (stop.isAncestorOf(holder) or stop is holder):
                return

    def _with_view(self, does: Callable[[QDockWidget], object]) -> None:
        """Do something with the view that has the focus, docked or floating."""
        dock = self._docks.focused
        if dock is None:
            self.status_message.emit(NO_VIEW)
        else:
            does(dock)

    def close_view(self, dock: QDockWidget) -> None:
        """Close a view; the diagram has the focus then."""
        dock.close()
        self._window.activateWindow()
        self._diagram.setFocus(Qt.FocusReason.ShortcutFocusReason)

    def _grow(self, by_px: int, way: Qt.Orientation) -> None:
        self._with_view(lambda dock: self._docks.grow(dock, by_px, way))

    def fill_themes(self, menu: QMenu) -> None:
        """List the themes."""
        group = QActionGroup(menu)
        for title, choice in THEMES:
            action = menu.addAction(title)
            action.setCheckable(True)
            action.setChecked(choice == self._theme.choice)
            group.addAction(action)
            action.triggered.connect(lambda _checked=False, c=choice: self.set_theme(c))

    def fill_rates(self, menu: QMenu) -> None:
        """List how fast play may be."""
        group = QActionGroup(menu)
        rpm = self._document.project.shaft.speed_rpm
        for title, rate in RATES:
            action = menu.addAction(f"{title}\t{wording.rpm(rate * rpm, 2)}")
            action.setCheckable(True)
            action.setChecked(rate == self._player.rate)
            group.addAction(action)
            action.triggered.connect(lambda _checked=False, r=rate: self.set_rate(r))

    def set_rate(self, rate: float) -> None:
        """Let play run at a part of the machine's speed; what runs goes on from where it is."""
        self._player.rate = rate

    def set_theme(self, choice: Choice) -> None:
        """Follow the system, or override it."""
        self._theme.set_choice(choice)
        self._settings.change(theme=choice)

    def fill_sizes(self, menu: QMenu) -> None:
        """List the text sizes."""
        group = QActionGroup(menu)
        for scale in SCALES:
            action = menu.addAction(f"{scale:.0%}".replace("%", " %"))
            action.setCheckable(True)
            action.setChecked(abs(scale - self._theme.scale) < 1e-6)
            group.addAction(action)
            action.triggered.connect(lambda _checked=False, s=scale: self.set_scale(s))

    def set_scale(self, scale: float) -> None:
        """Make the text, and everything with it, larger or smaller."""
        self._theme.set_scale(scale)
        self._settings.change(text_scale=scale)

    def set_habits(self, **values: bool | float) -> None:
        """Change how dragging works: moves_keep, snap, zones, grid_deg."""
        self._settings.change(**values)
        self.apply_settings()

    def apply_settings(self) -> None:
        """Let diagram and player work as the settings say."""
        values = self._settings.values
        self._diagram.set_habits(DragHabits(values.grid_deg, values.snap, values.moves_keep, values.zones))
        self._diagram.reduce_motion = values.reduce_motion
        self._player.reduce_motion = values.reduce_motion

    def set_reduce_motion(self, reduce: bool) -> None:
        """Let play go step by step, and nothing glide."""
        self._settings.change(reduce_motion=reduce)
        self.apply_settings()

    def ask_settings(self) -> None:
        """Ask for all settings."""
        from shaftscore_app.dialogs.settings import SettingsDialog

        SettingsDialog(self._window, self._theme, self._settings, self._use_settings).open()

    def _use_settings(self, changes: Mapping[str, object]) -> None:
        self._settings.change(**changes)
        self._theme.set_choice(self._settings.values.theme)
        self._theme.set_scale(self._settings.values.text_scale)
        self.apply_settings()
        self.settings_changed.emit()

    def ask_lane(self) -> None:
        """Ask for a lane and go there."""
        from shaftscore_app.dialogs.find_lane import FindLaneDialog

        FindLaneDialog(self._window, self._theme, self._document.project.lanes, self._go_to_lane).open()

    def _go_to_lane(self, lane_id: str) -> None:
        diagram = self._diagram
        diagram.set_group_closed(self._document.project.lane(lane_id).group, False)
        self._document.select_lane(lane_id)
        diagram.reveal_lane(lane_id)
        diagram.setFocus(Qt.FocusReason.ShortcutFocusReason)

    def set_full_screen(self, full: bool) -> None:
        """Use the whole screen, or not."""
        state = self._window.windowState()
        screen = Qt.WindowState.WindowFullScreen
        self._window.setWindowState(state | screen if full else state & ~screen)
