"""The toolbar, left to right: file, history, blocks, lanes, grid, shaft, Arrange, Chance, Export discs."""

from __future__ import annotations

from functools import partial

from PySide6.QtCore import QEvent, QObject, QSize, Qt
from PySide6.QtGui import QAction, QResizeEvent
from PySide6.QtWidgets import (
    QMenu,
    QSizePolicy,
    QToolBar,
    QToolButton,
    QWidget,
)

from shaftscore.edits import set_shaft
from shaftscore_app.document import Document
from shaftscore_app.document.binding import commit, show
from shaftscore_app.document.play import Player
from shaftscore_app.menus.actions import Actions
from shaftscore_app.theme import Theme
from shaftscore_app.widgets.dial import Dial
from shaftscore_app.widgets.field import Field, Quantity
from shaftscore_app.widgets.menu import Menu
from shaftscore_app.widgets.quantities import grid_quantity, master_angle, rpm_quantity

GROUPS = (
    ("file.new", "file.open", "file.save"),
    ("edit.undo", "edit.redo"),
    ("block.add", "lane.new", "block.lock", "block.repeat", "block.mirror", "block.insert_time"),
)

WITH_WORDS = 1440
"""From this width on Arrange and Chance have their words beside their icons, px of the design."""

WORDS = {"prove.arrange": "Arrange", "prove.chance": "Chance"}
"""Commands that stand before Export discs, and their words."""


MORE, QTS_MORE = 32, 12
"""Width of the button that shows what has no room, px of the design; and for which Qt leaves room, px."""


class ToolBar(QToolBar):
    """The toolbar of the window."""

    def __init__(
        self, actions: Actions, document: Document, theme: Theme, player: Player, grid_deg: float
    ) -> None:
        """Make the toolbar; grid_deg is the grid that its field shows at first."""
        super().__init__("Toolbar")
        self._actions, self._document, self._theme, self._player = actions, document, theme, player
        self.setObjectName("toolbar")
        self.setMovable(False)
        self.setContextMenuPolicy(Qt.ContextMenuPolicy.PreventContextMenu)
        self.setToolButtonStyle(Qt.ToolButtonStyle.ToolButtonIconOnly)
        self._edges = (QWidget(), QWidget())
        self.addWidget(self._edges[0])
        for group in GROUPS:
            self.addActions([actions[name] for name in group])
            self.addSeparator()
        self.grid = self._field("Grid", grid_quantity(), 68)
        self.grid.set_shown(grid_deg)
        self._add_grid()
        self._add_shaft()
        self._add_export()
        self.addWidget(self._edges[1])
        self._add_undo_menu()
        document.cursor_changed.connect(self._show_cursor)
        document.project_changed.connect(self._show_project)
        theme.changed.connect(self._fit)
        self._fit()
        self._show_project()

    # Parts

    def _field(self, name: str, quantity: Quantity[float], width: int) -> Field[float]:
        field = Field(self._theme, name, quantity)
        field.setProperty("design-width", width)
        return field

    def _add_grid(self) -> None:
        self.addAction(self._actions["block.snap"])
        self.addWidget(self.grid)
        self.addAction(self._actions["block.zones"])
        self.addAction(self._actions["view.whole_turn"])
        self.addSeparator()

    def _add_shaft(self) -> None:
        for name in ("view.step_back", "view.play", "view.step_forward"):
            self.addAction(self._actions[name])
        self.dial = Dial(self._theme)
        self.dial.turned.connect(self._document.set_cursor)
        self.angle = self._field("Shaft angle", master_angle(self._document), 76)
        self.angle.entered.connect(self._go_to)
        self.speed = self._field("Speed", rpm_quantity(), 100)
        self.speed.entered.connect(self._set_speed)
        for widget in (self.dial, self.angle, self.speed):
            self.addWidget(widget)

    def _add_export(self) -> None:
        space = QWidget()
        space.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Preferred)
        self.addWidget(space)
        self._worded = {name: QToolButton() for name in WORDS}
        for name, button in self._worded.items():
            button.setDefaultAction(self._actions[name])
            self._actions[name].changed.connect(self._write_words)
            self.addWidget(button)
        self._export = QToolButton()
        self._export.setObjectName("filled")
        self._export.setToolButtonStyle(Qt.ToolButtonStyle.ToolButtonTextBesideIcon)
        action = self._actions["file.export"]
        self._export.setDefaultAction(action)
        self._export.setText("Export discs")
        action.changed.connect(self._name_export)
        self.addWidget(self._export)

    def _write_words(self) -> None:
        """Write words beside the icons where there is room."""
        wide = self.width() >= self._theme.px(WITH_WORDS)
        style = Qt.ToolButtonStyle.ToolButtonTextBesideIcon if wide else Qt.ToolButtonStyle.ToolButtonIconOnly
        for name, button in self._worded.items():
            button.setText(WORDS[name])
            button.setToolButtonStyle(style)

    @property
    def _more(self) -> QToolButton | None:
        return self.findChild(QToolButton, "qt_toolbar_ext_button")

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Let the button that shows what has no room be wide enough to be seen and hit."""
        moved = event.type() in (QEvent.Type.Resize, QEvent.Type.Move)
        if moved and isinstance(watched, QToolButton) and watched is self._more:
            self._widen(watched)
        return super().eventFilter(watched, event)

    def _keep_room(self) -> None:
        """Keep room for the wider button, and have none given to the lines between groups."""
        layout, right = self.layout(), self._theme.px(MORE) - QTS_MORE
        if layout is not None and layout.contentsMargins().right() != right:
            layout.setContentsMargins(0, 0, right, 0)
        for action in filter(QAction.isSeparator, self.actions()):
            line = self.widgetForAction(action)
            line.setMaximumWidth(line.sizeHint().width())

    def _widen(self, more: QToolButton) -> None:
        width = self._theme.px(MORE)
        more.setGeometry(self.width() - width, 0, width, self.height())

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Let words go where there is no room for them."""
        super().resizeEvent(event)
        self._keep_room()
        self._write_words()

    def _name_export(self) -> None:
        self._export.setText("Export discs")
        self._export.setIcon(self._theme.icon("export", token="on-accent"))

    def _add_undo_menu(self) -> None:
        button = self.widgetForAction(self._actions["edit.undo"])
        if isinstance(button, QToolButton):
            menu = Menu(button)
            menu.aboutToShow.connect(lambda: self._list_steps(menu))
            button.setMenu(menu)
            button.setPopupMode(QToolButton.ToolButtonPopupMode.DelayedPopup)

    def _list_steps(self, menu: QMenu) -> None:
        menu.clear()
        for count, name in enumerate(self._document.undo_names[:20], start=1):
            action = QAction(name, menu)
            action.triggered.connect(partial(self._undo_many, count))
            menu.addAction(action)

    def _undo_many(self, count: int) -> None:
        for _ in range(count):
            self._document.undo()

    # What it shows

    def _show_cursor(self, deg: float) -> None:
        show(self.dial, deg)
        show(self.angle, deg)

    def _show_project(self) -> None:
        self.angle.set_quantity(master_angle(self._document))
        show(self.speed, self._document.project.shaft.speed_rpm)
        self._show_cursor(self._document.cursor_deg)

    def _go_to(self, deg: float) -> None:
        self._document.set_cursor(deg)
        self.angle.set_shown(self._document.cursor_deg)

    def _set_speed(self, rpm: float) -> None:
        document = self._document
        fault = commit(document, lambda: set_shaft(document.committed, speed_rpm=rpm))
        self.speed.set_fault(fault)

    def _fit(self) -> None:
        px = self._theme.px
        self.setIconSize(QSize(px(20), px(20)))
        for edge in self._edges:
            edge.setFixedWidth(px(8))
        for field in (self.grid, self.angle, self.speed):
            field.setFixedWidth(px(field.property("design-width")))
        self._name_export()
        self._keep_room()
        more = self._more
        if more is not None:
            more.setIcon(self._theme.icon("more"))
            more.setIconSize(self.iconSize())
            more.setToolTip("More tools")
            more.setAccessibleName("More tools")
            more.installEventFilter(self)
            self._widen(more)
