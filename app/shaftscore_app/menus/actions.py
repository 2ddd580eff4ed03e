"""The one table of everything that can be done: menus, toolbar, shortcut sheet and tests come from it.

A *command* is a row: id, menu, title, shortcut, icon and what it does. Who does it is given when the
actions are made (`Actions`): a handler for each id, and for some a *reason*, which is the sentence why
it cannot be done now; an action with a reason is greyed and says it.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Literal

from PySide6.QtCore import QObject, QPoint, Qt, Signal
from PySide6.QtGui import QAction, QKeySequence
from PySide6.QtWidgets import QMenu, QMenuBar, QWidget

from shaftscore_app.theme import Theme
from shaftscore_app.views.table import VIEWS
from shaftscore_app.widgets.menu import Menu, menu_style

Reason = Callable[[], str]
"""Gives why a command cannot be done now; an empty text where it can."""

Standard = QKeySequence.StandardKey


@dataclass(frozen=True)
class Command:
    """A row of the table.

    id: "menu.word". title: as in the menu. does: one sentence for tooltip and status bar. keys: the
    first is shown; all work. where: keys that act in the whole window, or only while the diagram has
    the focus; "drawn" keys are the diagram's own, shown here and handled there. gap: a line before it in
    the menu. kind: an item, one that is on or off, or a submenu that is filled when it opens.
    """

    id: str
    title: str
    does: str
    keys: tuple[str | QKeySequence.StandardKey, ...] = ()
    icon: str = ""
    where: Literal["window", "diagram", "drawn"] = "window"
    gap: bool = False
    kind: Literal["item", "check", "menu"] = "item"

    @property
    def menu(self) -> str:
        """The menu that it is in."""
        return self.id.split(".")[0]


MENUS = {
    "file": "&File",
    "edit": "&Edit",
    "lane": "&Lane",
    "block": "&Block",
    "machine": "&Machine",
    "prove": "&Check",
    "view": "&View",
    "help": "&Help",
}
"""The menus, left to right."""

DIAGRAM_KEY = 9
"""Ctrl and this digit go to the timing diagram; the views have the digits before it."""

COMMANDS = (
    Command("file.new", "&New…", "Start a machine: its lanes, levels and steps", (Standard.New,), "new"),
    Command("file.samples", "New from sa&mple", "Start from a copy of a sample", kind="menu"),
    Command("file.open", "&Open…", "Open a .shaft file", (Standard.Open,), "open", gap=True),
    Command("file.recent", "Open &recent", "Open one of the last files", kind="menu"),
    Command("file.save", "&Save", "Save the project", (Standard.Save,), "save", gap=True),
    Command("file.save_as", "Save &as…", "Save the project under another name", ("Ctrl+Shift+S",)),
    Command("file.revert", "Rever&t to saved…", "Discard all changes since the last save"),
    Command("file.versions", "Earlier &versions", "Restore an earlier saved version", kind="menu"),
    Command(
        "file.export", "&Export discs…", "Write the files to print and cut", ("Ctrl+E",), "export", gap=True
    ),
    Command("file.diagram", "Export &diagram…", "Write the timing diagram as SVG, PDF or PNG"),
    Command("file.manual", "&Build manual…", "Write the manual from which the machine is built, as PDF"),
    Command("file.print", "&Print…", "Print the timing diagram", ("Ctrl+P",), "print"),
    Command("file.close", "&Close", "Close the file", (Standard.Close,), gap=True),
    Command("file.quit", "&Quit", "Quit Shaftscore", ("Ctrl+Q",)),
    Command("edit.undo", "&Undo", "Undo the last change", ("Ctrl+Z",), "undo"),
    Command("edit.redo", "&Redo", "Redo the change you undid", ("Ctrl+Shift+Z", "Ctrl+Y"), "redo"),
    Command(
        "edit.cut", "Cu&t", "Remove the selected blocks, to paste them", ("Ctrl+X",), "", "diagram", gap=True
    ),
    Command("edit.copy", "&Copy", "Copy the selected blocks", ("Ctrl+C",), "copy", "diagram"),
    Command("edit.paste", "&Paste", "Insert the copied blocks at the cursor", ("Ctrl+V",), "", "diagram"),
    Command(
        "edit.duplicate",
        "Dup&licate",
        "Copy blocks one step later, or lanes with rules, gates and load",
        ("Ctrl+D",),
    ),
    Command("edit.delete", "&Delete", "Delete the selected blocks", ("Del",), "delete", "drawn"),
    Command(
        "edit.select_all",
        "Select &all",
        "Select the lane; again: its group, then all",
        ("Ctrl+A",),
        "",
        "drawn",
        gap=True,
    ),
    Command(
        "edit.select_none",
        "Select &nothing",
        "Clear the selection: Properties shows the machine",
        ("Ctrl+Shift+A",),
    ),
    Command("edit.find", "&Find lane…", "Go to a lane by its name", ("Ctrl+F",), "search", gap=True),
    Command("edit.settings", "&Settings…", "Change appearance and behaviour", ("Ctrl+,",), gap=True),
    Command("lane.new", "&New lane…", "Add a lane below the selected one", ("Ctrl+Shift+N",), "add-lane"),
    Command("lane.rename", "&Rename", "Type another name for the lane", ("F2",)),
    Command("lane.levels", "&Levels…", "Change names and heights of the lane's levels"),
    Command("lane.follower", "&Follower…", "Choose the follower and how contact is maintained"),
    Command("lane.disc", "D&isc…", "Change size, material and rim of the lane's disc"),
    Command("lane.load", "L&oad…", "Set the mass, spring and friction that the lane carries"),
    Command("lane.program", "&Make program…", "Make states from pictures, truth tables or sequences"),
    Command(
        "lane.gates",
        "Gates for selected lanes…",
        "Let items out at levels of the selected lanes, in one step",
        ("Ctrl+Shift+E",),
    ),
    Command("lane.parts", "Follow&er parts…", "Choose slide or lever, its lengths and its bearing"),
    Command(
        "lane.compare", "&Compare laws…", "See every law on this lane, and which suits it best", gap=True
    ),
    Command("lane.point_table", "&Points…", "Define the motion by points, typed or pasted"),
    Command("lane.points", "Points from CS&V…", "Read the motion from a table of angles and outputs"),
    Command("lane.shift", "Shift in time…", "Shift whole lanes earlier or later", ("Ctrl+T",)),
    Command(
        "lane.as_built", "Correc&t from measurements…", "Correct discs by angles measured on the machine"
    ),
    Command(
        "lane.group",
        "&Group",
        "Group the selected lanes, or dissolve a group",
        ("Ctrl+Shift+G",),
        gap=True,
    ),
    Command("lane.up", "Move &up", "Move the lane before the one above it", ("Alt+Up",), "", "drawn"),
    Command("lane.down", "Move do&wn", "Move the lane behind the one below it", ("Alt+Down",), "", "drawn"),
    Command("lane.isolate", "Isol&ate", "Show only the selected lanes", ("I",), "isolate", "drawn"),
    Command("lane.hide", "&Hide", "Hide the selected lanes", ("H",), "hide", "drawn"),
    Command("lane.show_all", "&Show all", "Show all lanes again", ("Shift+H",), "", "drawn"),
    Command("lane.delete", "&Delete lane", "Delete the lane with its blocks", (), "delete", gap=True),
    Command("block.add", "&Add", "Add a block at the cursor", ("Ins", "A"), "add-block", "drawn"),
    Command("block.values", "Set &values…", "Type the block's start", ("Return",), "", "drawn"),
    Command(
        "block.up", "Level &up", "Move the blocks to the next higher level", ("Up",), "", "drawn", gap=True
    ),
    Command("block.down", "Level &down", "Move the blocks to the next lower level", ("Down",), "", "drawn"),
    Command(
        "block.edge",
        "Switch &edge",
        "Choose what the arrow keys move: start, end or the whole block",
        ("E",),
        "",
        "drawn",
    ),
    Command(
        "block.lock",
        "&Lock",
        "Locked blocks do not move, stretch or shrink",
        ("Ctrl+L",),
        "lock",
        gap=True,
        kind="check",
    ),
    Command("block.window", "Wi&ndow…", "Set from where to where the block's start may be"),
    Command(
        "block.law", "La&w of the move", "Motion law of the move to the block", ("Ctrl+Shift+L",), kind="menu"
    ),
    Command("block.rule", "Rule from &blocks…", "Make a rule of the states of the selected blocks", gap=True),
    Command("block.gates", "&Gates from blocks…", "Let items out while the lanes are as the selected blocks"),
    Command(
        "block.repeat",
        "&Repeat round the turn…",
        "Insert copies of the blocks at equal distances",
        ("Ctrl+R",),
        "repeat",
        gap=True,
    ),
    Command(
        "block.mirror",
        "M&irror in time",
        "Mirror the selected blocks, or the lane, in time",
        ("Ctrl+Shift+M",),
        "mirror",
    ),
    Command(
        "block.insert_time",
        "Insert &time…",
        "Move everything after an angle later",
        ("Ctrl+I",),
        "insert-time",
    ),
    Command(
        "block.keep",
        "&Keep move lengths",
        "Dwells beside a moved block grow or shrink",
        gap=True,
        kind="check",
    ),
    Command(
        "block.snap",
        "&Snap",
        "Snap to the grid and to other blocks while dragging",
        ("G",),
        "snap",
        "diagram",
        kind="check",
    ),
    Command(
        "block.zones",
        "&Free zones",
        "Show where a held block could be without any finding",
        ("Z",),
        "free-zones",
        "diagram",
        kind="check",
    ),
    Command("machine.shaft", "&Shaft and steps…", "Change rotation, speed and steps"),
    Command("machine.drive", "&Motor and drive train…", "Choose motor or crank, and the drive train"),
    Command("machine.stacks", "Stac&ks and order…", "Set which shafts carry which discs, in which order"),
    Command(
        "machine.rules",
        "R&ules between lanes…",
        "Define which states exclude, require or follow one another",
        gap=True,
    ),
    Command("machine.flow", "Flo&w…", "Define supplies, magazines, gates, channels and outlets"),
    Command("machine.tolerances", "&Tolerances…", "Set manufacturing and timing tolerances", gap=True),
    Command("machine.limits", "&Limits…", "Change pressure angle, wall, radius and other limits"),
    Command("machine.materials", "M&aterials…", "Add materials, or give known ones other values"),
    Command("machine.fit", "Set fit &clearance…", "Set the clearance from the hole of the coupon that fits"),
    Command("machine.print", "&Printer…", "Set the print volume and dimensional corrections"),
    Command("machine.frame", "F&rame…", "Describe plates, pillars and the place of the motor"),
    Command("machine.duty", "&Duty…", "State how many hours, days and years the machine runs"),
    Command("machine.not_needed", "Areas n&ot needed…", "Choose what the verdict leaves out"),
    Command("machine.notes", "&Name and notes…", "Name the machine and write down what it is for"),
    Command("machine.table", "State table from a fil&e…", "Read a table that a spreadsheet saved", gap=True),
    Command("machine.sizes", "Size &base circles", "Make every disc as small as its limits allow", gap=True),
    Command("machine.fastest", "&Fastest safe speed…", "Find the highest speed at which no check fails"),
    Command(
        "machine.stacking", "F&ind stack order…", "Find a disc order, and stations, without interference"
    ),
    Command(
        "machine.spread",
        "Spread followers o&ver stations…",
        "Find the fewest stations without interference",
    ),
    Command("prove.next", "&Next finding", "Go to the next finding", ("F8",)),
    Command("prove.previous", "&Previous finding", "Go to the finding before", ("Shift+F8",)),
    Command(
        "prove.cure",
        "Apply &fix",
        "Apply the fix suggested for the selected finding",
        ("Ctrl+Return",),
        "check",
        gap=True,
    ),
    Command(
        "prove.arrange",
        "&Arrange timing…",
        "Place the blocks by the rules",
        ("Ctrl+Shift+R",),
        "arrange",
    ),
    Command(
        "prove.chance",
        "Chance of &working…",
        "See how many of the machines drawn would work",
        (),
        "prove",
        gap=True,
    ),
    Command(
        "prove.bring_up",
        "&Bring-up…",
        "Crank the machine, tick what each lane does, see likely causes",
        gap=True,
    ),
    Command("prove.stuck", "Stuc&k lane…", "See what a jam of each lane breaks, and what protects it"),
    Command("prove.feed", "Fee&d planner…", "Find rate, capacity and initial count of every supply"),
    Command(
        "prove.home", "H&ome and restart…", "See where home is, and the way back to it after a power loss"
    ),
    Command("prove.wear", "Wea&r…", "See what wears out first, and when to inspect"),
    Command(
        "prove.check_exported",
        "Check e&xported files…",
        "Run the roller over files that were exported",
        gap=True,
    ),
    Command(
        "prove.alone",
        "Check these &lanes alone",
        "Show findings and flow of the selected lanes only; the file stays whole",
        icon="isolate",
        gap=True,
        kind="check",
    ),
    Command("prove.made_again", "Parts to reprin&t…", "List the parts that changed since the last export"),
    Command("prove.log", "Lo&g-book…", "Read and write notes of what was printed, measured and changed"),
    *(
        Command(f"view.{row.name}", row.menu, row.tip, (f"Ctrl+{number}",) if number < DIAGRAM_KEY else ())
        for number, row in enumerate(VIEWS, 1)
    ),
    Command("view.diagram", "&Timing diagram", "Go to the timing diagram", (f"Ctrl+{DIAGRAM_KEY}",)),
    Command("view.next", "Ne&xt view", "Go to the next view", ("F6",)),
    Command("view.previous", "Previous view", "Go to the view before", ("Shift+F6",)),
    Command(
        "view.float",
        "Float view",
        "Make the view that has the focus a window, or dock it",
        ("F9",),
        gap=True,
    ),
    Command("view.close", "Close view", "Close the view with the focus", ("Shift+F9",)),
    Command("view.wider", "Wider view", "Make the view with the focus wider", ("F7",)),
    Command("view.narrower", "Narrower view", "Make the view with the focus narrower", ("Shift+F7",)),
    Command("view.taller", "Taller view", "Make the view with the focus taller", ("Ctrl+F7",)),
    Command("view.shorter", "Shorter view", "Make the view with the focus shorter", ("Ctrl+Shift+F7",)),
    Command("view.zoom_in", "Zoo&m in", "Show fewer degrees", ("Ctrl++", "Ctrl+="), "zoom-in", gap=True),
    Command("view.zoom_out", "Zoom out", "Show more degrees", ("Ctrl+-",), "zoom-out"),
    Command("view.whole_turn", "Whole turn", "Show the whole turn", ("Ctrl+0",), "fit"),
    Command("view.fit_lanes", "Fit lanes", "Give every lane its default height", ("Ctrl+Shift+0",)),
    Command(
        "view.play",
        "Pla&y",
        "Rotate the shaft at the machine's speed",
        ("Space",),
        "play",
        "diagram",
        gap=True,
    ),
    Command("view.rate", "Playback spee&d", "At the machine's speed, or slower to look closely", kind="menu"),
    Command(
        "view.step_back", "Step &back", "Go to the start of the step before", ("PgUp",), "step-back", "drawn"
    ),
    Command(
        "view.step_forward",
        "Step fo&rward",
        "Go to the start of the next step",
        ("PgDown",),
        "step-forward",
        "drawn",
    ),
    Command("view.go_to", "&Go to angle…", "Type the shaft's angle", ("Ctrl+G",)),
    Command("view.theme", "T&heme", "Light, dark or the system's", kind="menu", gap=True),
    Command("view.text_size", "Text si&ze", "Scale the whole interface", kind="menu"),
    Command(
        "view.reduce_motion", "Redu&ce motion", "No animations; playback advances step by step", kind="check"
    ),
    Command(
        "view.next_step", "Next step", "Show what comes next, above the status bar", ("Ctrl+J",), kind="check"
    ),
    Command("view.default", "Default arra&ngement", "Restore the default positions of all views", gap=True),
    Command("view.full_screen", "Full screen", "Use the whole screen", ("F11",), kind="check"),
    Command("help.guide", "&Guide", "How to build a machine with Shaftscore", ("F1",)),
    Command("help.shortcuts", "&Shortcuts", "All keys and mouse moves", ("Ctrl+/",), "shortcuts"),
    Command("help.samples", "Sa&mples", "Start from a copy of a sample", kind="menu"),
    Command("help.cautions", "&Cautions", "Hazards of such machines, and precautions"),
    Command("help.about", "A&bout", "Version and licence"),
)
"""Every command, in the order of the menus."""

MOUSE = (
    ("select a block", "click; Ctrl+Left, Right, Up, Down"),
    ("add to the selection", "Ctrl+click; Shift+click: all between; Shift+Ctrl+arrows"),
    ("select many", "drag a rectangle on empty ground; Ctrl+A again and again: lane, group, all"),
    ("re-time", "drag sideways; Left, Right by the grid, with Alt by 0.1°"),
    ("change level", "drag up or down; Up, Down"),
    ("stretch", "drag an edge; E switches start, end, whole; then arrows"),
    ("exact value", "double-click a block; Enter"),
    ("add a block", "double-click an empty place; Insert or A at the cursor"),
    ("copy by hand", "Ctrl+drag; Ctrl+D: one step later"),
    ("leave the grid", "Alt"),
    ("leave the neighbours where they are", "Shift"),
    ("insert or remove time", "Ctrl+drag on the degree ruler; Ctrl+I"),
    ("move the cursor", "drag its flag, click a ruler, drag the dial; comma and full stop: one degree"),
    ("cursor to 0°", "Home"),
    ("zoom the axis", "Ctrl+wheel, pinch"),
    ("zoom the strips", "Ctrl+Shift+wheel; Ctrl+Shift+plus, minus"),
    ("scroll lanes", "wheel; Shift+PgUp, PgDn"),
    ("scroll the axis without end", "Shift+wheel, two fingers sideways, middle-drag; Ctrl+PgUp, PgDn"),
    ("select, rename, move a lane", "click, double-click, drag its header; F2; Alt+Up, Down"),
    ("resize a strip", "drag the header's lower border; plus, minus"),
    ("fit lanes", "double-click the corner"),
    ("open, close a group", "click its row; Left, Right"),
    ("menu of a thing", "right click; Menu, Shift+F10"),
    (
        "cancel what runs, then check all lanes again, then clear the selection",
        "Esc; right click while dragging",
    ),
)
"""What mouse and bare keys do in the diagram, for the shortcut sheet."""

TABLE = (
    ("write a level", "its name or first letters, then Enter, Tab or arrows; all chosen cells at once"),
    ("go to the next level with that letter", "the letter again"),
    ("visit a level within its step", "“amber, then release”; “amber, then” goes back"),
    ("change what is there", "F2, double-click; Esc leaves it"),
    ("as the step before; the usual length", "Del"),
    ("copy, cut, paste cells or a whole table", "Ctrl+C, Ctrl+X, Ctrl+V"),
    ("turn the shaft to a step", "click its head"),
)
"""What mouse and keys do in the state table, for the shortcut sheet."""

PROGRAM = (
    ("paint; rest", "click or drag; right-click or right-drag"),
    ("go by cell, on into the next frame", "arrows"),
    ("paint a level by its rank; repeat; rest", "1 to 9; Space; Backspace"),
    ("choose a frame; move it", "Ctrl+Left, Ctrl+Right; Alt+Left, Alt+Right"),
    ("copy, cut, paste, duplicate a frame", "Ctrl+C, Ctrl+X, Ctrl+V, Ctrl+D"),
    ("mirror; shift the picture", "M; S then an arrow, with Shift it wraps"),
    ("name a frame", "F2, double-click its name"),
    ("move a lane to another place; leave it out", "drag, Ctrl+arrows; Del, drag below the grid"),
)
"""What mouse and keys do in the Program maker, for the shortcut sheet."""

BENCH = (
    ("go to the next check; to the one before", "Enter; Backspace"),
    ("tick all that is not ticked yet as expected", "A"),
    ("go by lane", "arrows"),
    ("tick a level by its rank", "1 to 9; click its part of the switch"),
    ("cannot see; type a measured output; clear", "X; M; Del, click again"),
    ("go back to a check", "click its row or its dot; Enter on its row"),
)
"""What mouse and keys do in the Bring-up view, for the shortcut sheet."""

NETWORK = (
    ("select, add to the selection", "click, Ctrl+click, rectangle; arrows, Shift+arrows"),
    ("along the lines; in the column", "Left, Right; Up, Down"),
    ("add in this column", "+ at its heading; Insert"),
    ("fields; name", "Enter; F2, double-click"),
    ("connect", "drag a port; C (again: the next port), arrows, Enter"),
    ("duplicate; remove", "Ctrl+D; Del"),
    ("fold, open a bank", "click its heading; Left, Right on it"),
    ("leave what is being drawn, then the selection", "Esc; right click while dragging"),
)
"""What mouse and keys do in the network of the flow, for the shortcut sheet."""


def key_text(command: Command) -> str:
    """Return a command's keys as people read them."""
    sequences = [QKeySequence(key) for key in command.keys]
    return ", ".join(text for s in sequences if (text := s.toString(QKeySequence.SequenceFormat.NativeText)))


class Actions(QObject):
    """The actions made from the table.

    Signals: menu_wanted(id) when a submenu is asked for by its keys; `pop_up` shows it. opening() when a
    menu of the menu bar is about to show, before it is known what can be done.
    """

    menu_wanted = Signal(str)
    opening = Signal()

    def __init__(
        self,
        window: QWidget,
        diagram: QWidget,
        theme: Theme,
        handlers: Mapping[str, Callable[..., object]],
        reasons: Mapping[str, Reason],
    ) -> None:
        """Make an action for each command.

        handlers: by id; of an item without argument, of a check with the new state, of a submenu with
        the QMenu to fill. reasons: by id. Raises KeyError for a command without a handler.
        """
        super().__init__(window)
        self._theme = theme
        self._reasons = reasons
        self._handlers = handlers
        self._actions: dict[str, QAction] = {}
        self._menus: dict[str, QMenu] = {}
        self._told: dict[str, tuple[str, str]] = {}
        for command in COMMANDS:
            home = diagram if command.where == "diagram" else window
            self._actions[command.id] = self._made(command, window, home)
        theme.changed.connect(self._apply_style)
        self._apply_style()

    def __getitem__(self, command_id: str) -> QAction:
        """Return an action by its id."""
        return self._actions[command_id]

    def fill(self, bar: QMenuBar) -> None:
        """Fill the menu bar."""
        menus = {name: Menu(bar, title) for name, title in MENUS.items()}
        bar.setStyle(menu_style())
        for menu in menus.values():
            bar.addMenu(menu)
            menu.setToolTipsVisible(True)
            menu.aboutToShow.connect(self.opening)
            menu.aboutToShow.connect(self.refresh)
        for command in COMMANDS:
            menu = menus[command.menu]
            if command.gap:
                menu.addSeparator()
            menu.addAction(self._actions[command.id])

    def refresh(self) -> None:
        """Grey what cannot be done now, and say why."""
        for command in COMMANDS:
            reason = self._reasons.get(command.id, _no_reason)()
            action = self._actions[command.id]
            told = (action.text(), reason)
            if self._told.get(command.id) == told:
                continue
            self._told[command.id] = told
            action.setEnabled(not reason)
            action.setStatusTip(reason or command.does)
            action.setToolTip(self._tip(command, action, reason))

    # Inside

    def _made(self, command: Command, window: QWidget, home: QWidget) -> QAction:
        action = QAction(command.title, window)
        action.setObjectName(command.id)
        handler = self._handlers[command.id]
        if command.kind == "menu":
            self._add_submenu(action, command, handler, window)
            return action
        action.setCheckable(command.kind == "check")
        if command.kind == "check":
            action.triggered.connect(handler)  # not toggled: only what the person does
        else:
            action.triggered.connect(lambda _checked=False: handler())
        self._add_keys(action, command, home)
        return action

    def _add_submenu(
        self, action: QAction, command: Command, fill: Callable[[QMenu], object], window: QWidget
    ) -> None:
        menu = Menu(window, command.title)

        def refill() -> None:
            menu.clear()
            fill(menu)

        menu.aboutToShow.connect(refill)
        action.setMenu(menu)
        self._menus[command.id] = menu
        if command.keys:
            action.setText(f"{command.title}\t{key_text(command)}")
            opener = QAction(window)
            opener.setShortcuts([QKeySequence(key) for key in command.keys])
            opener.triggered.connect(lambda: self.menu_wanted.emit(command.id))
            window.addAction(opener)

    def pop_up(self, command_id: str, place: QPoint) -> None:
        """Show a submenu at a place of the screen, unless there is a reason against it."""
        if not self._reasons.get(command_id, _no_reason)():
            self._menus[command_id].popup(place)

    def _add_keys(self, action: QAction, command: Command, home: QWidget) -> None:
        if command.where == "drawn":
            action.setText(f"{command.title}\t{key_text(command)}")
            action.setIconText(command.title.replace("&", "").rstrip("…"))  # of its button: without the keys
            return
        action.setShortcuts([QKeySequence(key) for key in command.keys])
        if command.where == "diagram":
            action.setShortcutContext(Qt.ShortcutContext.WidgetWithChildrenShortcut)
        home.addAction(action)

    def _tip(self, command: Command, action: QAction, reason: str) -> str:
        name = action.text().split("\t")[0].replace("&", "").rstrip("…")
        keys = key_text(command)
        return f"{name} ({keys}): {reason or command.does}" if keys else f"{name}: {reason or command.does}"

    def _apply_style(self) -> None:
        for command in COMMANDS:
            if command.icon:
                on = "accent" if command.kind == "check" else None  # the others are never on
                self._actions[command.id].setIcon(self._theme.icon(command.icon, on=on))
        self.refresh()


def _no_reason() -> str:
    return ""
