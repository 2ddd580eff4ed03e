"""Where the views stand: docks about the diagram, their title bars, and the two default arrangements.

A view is made when it is first in front or asked for; its dock is empty until then. A dock alone wears a
title bar that looks like its tab; docks that share a place have tabs, and then an empty title bar, so that
there is always one row and never two.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import partial
from itertools import pairwise
from typing import TypeVar

from PySide6.QtCore import QEvent, QObject, QPoint, QRect, QSize, Qt, Signal
from PySide6.QtGui import QGuiApplication, QPainter, QPaintEvent
from PySide6.QtWidgets import (
    QApplication,
    QDockWidget,
    QHBoxLayout,
    QMainWindow,
    QMenuBar,
    QTabBar,
    QTabWidget,
    QToolBar,
    QToolButton,
    QWidget,
)

from shaftscore_app.document import Document
from shaftscore_app.runtime.jobs import Jobs
from shaftscore_app.theme import Theme
from shaftscore_app.views.late_views import LateViews
from shaftscore_app.views.table import VIEWS, DockPlace, SeenView, names_in, tab_order

LAYOUT_VERSION = 8
"""Of the window's saved state; another version is not restored."""

WIDE = 1440
"""From this width of the window on the first arrangement is the default, px of the design."""

LARGE_WIDE, LARGE_HIGH = 860, 400
"""A view that needs room becomes a window of its own where its place is smaller, px of the design."""

FLOAT_SIZE, LEAST_FLOAT, FLOAT_DOWN = (760, 520), 520, 72
"""Size of a view that becomes a window of its own, its least width where it has to be narrow to be beside the
main window, and how far below the top of that it is, px of the design."""

NARROW = 1100
"""Under this width the right column starts closed."""

Area = Qt.DockWidgetArea

BOTTOM: tuple[DockPlace, ...] = ("bottom left", "bottom middle", "bottom right")
"""The groups of the bottom row, left to right; one group of tabs where there is little room."""

V = TypeVar("V", bound=QWidget)


@dataclass(frozen=True)
class DockSizes:
    """Sizes of a default arrangement, px of the design; tabs: whether the bottom row is one group of tabs."""

    right_width: int
    disc_height: int
    bottom_height: int
    findings_width: int
    load_width: int
    tabs: bool


LARGE = DockSizes(336, 372, 252, 430, 432, tabs=False)
SMALL = DockSizes(300, 300, 204, 0, 0, tabs=True)


class DockTitle(QWidget):
    """The title bar of a dock that stands alone: one tab, and buttons to float and to close."""

    def __init__(self, dock: QDockWidget, theme: Theme, toggle: Callable[[], object]) -> None:
        """Make the title bar of a dock; toggle: floats it, or docks it again."""
        super().__init__(dock)
        self._dock, self._theme = dock, theme
        self._hint = QSize()  # kept: the window asks thousands of times while it is laid out
        row = QHBoxLayout(self)
        row.setContentsMargins(0, 0, 0, 0)
        row.setSpacing(0)
        row.addStretch(1)
        self._float = _button(dock, f"Float {dock.windowTitle()}")
        self._close = _button(dock, f"Close {dock.windowTitle()}")
        self._float.clicked.connect(lambda _checked: toggle())
        self._close.clicked.connect(dock.close)
        row.addWidget(self._float)
        row.addWidget(self._close)
        theme.changed.connect(self._fit)
        self._fit()

    def sizeHint(self) -> QSize:
        """Return the height of a tab row."""
        return self._hint

    def minimumSizeHint(self) -> QSize:
        """Return the same."""
        return self._hint

    def _fit(self) -> None:
        self._hint = QSize(self._theme.px(160), self._theme.px(28))
        for button, icon in ((self._float, "float"), (self._close, "close")):
            button.setIcon(self._theme.icon(icon, 16))
            button.setIconSize(QSize(self._theme.px(16), self._theme.px(16)))
            button.setFixedSize(self._theme.px(24), self._theme.px(24))
        layout = self.layout()
        if layout is not None:
            layout.setContentsMargins(0, 0, self._theme.px(6), 0)
        self.updateGeometry()
        self.update()

    def paintEvent(self, event: QPaintEvent) -> None:  # noqa: ARG002 - Qt's signature
        """Draw the one tab."""
        painter = QPainter(self)
        theme = self._theme
        painter.fillRect(self.rect(), theme.color("window"))
        painter.setFont(theme.font(12, 600))
        text = self._dock.windowTitle()
        width = painter.fontMetrics().horizontalAdvance(text) + 2 * theme.px(12)
        tab = QRect(theme.px(8), 0, width, self.height())
        painter.fillRect(tab, theme.color("panel"))
        painter.fillRect(QRect(tab.left(), 0, tab.width(), theme.px(2)), theme.color("accent"))
        painter.setPen(theme.color("text"))
        painter.drawText(tab, Qt.AlignmentFlag.AlignCenter, text)


def _button(parent: QWidget, name: str) -> QToolButton:
    button = QToolButton(parent)
    button.setObjectName("plain")
    button.setAccessibleName(name)
    button.setToolTip(name)
    button.setAutoRaise(True)
    button.setFocusPolicy(Qt.FocusPolicy.NoFocus)  # Tab goes by what the views hold
    return button


class TabButtons(QWidget):
    """Buttons at the end of a row of tabs: float and close the dock whose tab is in front.

    Titles are never shortened: a row that has no room for all of them scrolls, by two buttons before these.
    """

    def __init__(
        self,
        bar: QTabBar,
        docks: Mapping[str, QDockWidget],
        theme: Theme,
        toggle: Callable[[QDockWidget], object],
    ) -> None:
        """Stand on `bar`, a row of tabs that Qt made; docks: by title; toggle: floats a dock."""
        super().__init__(bar)
        self._bar, self._docks, self._theme = bar, docks, theme
        row = QHBoxLayout(self)
        row.setContentsMargins(0, 0, 0, 0)
        row.setSpacing(0)
        self._buttons = [_button(bar, "Float this view"), _button(bar, "Close this view")]
        self._buttons[0].clicked.connect(lambda: toggle(self._front()))
        self._buttons[1].clicked.connect(lambda: self._front().close())
        for button in self._buttons:
            row.addWidget(button)
        bar.setAccessibleName("Views")
        bar.setDrawBase(False)
        bar.setElideMode(Qt.TextElideMode.ElideNone)
        bar.setUsesScrollButtons(True)
        bar.installEventFilter(self)
        self._scrollers = [
            button for button in bar.findChildren(QToolButton) if button.objectName().startswith("Scroll")
        ]
        for scroller in self._scrollers:
            scroller.installEventFilter(self)
        theme.changed.connect(self._fit)
        self._fit()
        self.show()

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Follow the size of the row, and keep the buttons that scroll it beside these."""
        if event.type() in (QEvent.Type.Resize, QEvent.Type.LayoutRequest, QEvent.Type.Move):
            if watched is self._bar:
                self._place()
            self._place_scrollers()
        return super().eventFilter(watched, event)

    def _front(self) -> QDockWidget:
        return self._docks[self._bar.tabText(self._bar.currentIndex())]

    def _place(self) -> None:
        size = self.sizeHint()
        top = (self._bar.height() - size.height()) // 2
        self.setGeometry(
            self._bar.width() - size.width() - self._theme.px(6), top, size.width(), size.height()
        )

    def _place_scrollers(self) -> None:
        """Put the buttons that scroll, half as wide as Qt keeps room for them, before these buttons."""
        wide = self._theme.px(24)
        left = self.x() - len(self._scrollers) * wide
        for number, scroller in enumerate(self._scrollers):
            place = QRect(left + number * wide, 0, wide, self._bar.height())
            if scroller.geometry() != place:
                scroller.setGeometry(place)

    def _fit(self) -> None:
        px = self._theme.px
        for button, icon in zip(self._buttons, ("float", "close"), strict=True):
            button.setIcon(self._theme.icon(icon, 16))
            button.setIconSize(QSize(px(16), px(16)))
            button.setFixedSize(px(24), px(24))
        self._place()


class Docks(QObject):
    """The docks of a window by name.

    late: the views, made when they are first in front or asked for.

    Signals: shown_changed() when one was opened or closed; view_made(view) when a view was made. A view that
    works only while it is seen is told when it comes into sight or leaves it, to behind a tab or closed.
    """

    shown_changed = Signal()
    view_made = Signal(QWidget)
    _settle_wanted = Signal()
    _titles_wanted = Signal()
    # Queued signals, not single shots of a timer: a shot that never comes, since its docks went before,
    # keeps what it would have called, and with it the whole window.

    def __init__(self, window: QMainWindow, document: Document, theme: Theme, jobs: Jobs) -> None:
        """Make a dock for every view of the table."""
        super().__init__(window)
        self._window, self._theme = window, theme
        self._in_front: dict[str, bool] = {}
        self._told: dict[str, bool] = {}
        self._is_settled = self._is_arranging = self._is_retitling = False
        self._arranged_as: tuple[DockSizes, bool] | None = None
        self._default: tuple[object, ...] = ()
        window.setDockNestingEnabled(True)
        window.setCorner(Qt.Corner.BottomRightCorner, Area.RightDockWidgetArea)
        window.setTabPosition(Area.AllDockWidgetAreas, QTabWidget.TabPosition.North)
        self._docks = {row.name: self._dock(row.name, row.title) for row in VIEWS}
        self.late = LateViews(document, theme, jobs)
        self._scale = theme.u
        theme.changed.connect(self._rescale)
        self._focused: QDockWidget | None = None
        application = QApplication.instance()
        assert isinstance(application, QApplication)  # there are no widgets without one
        application.focusChanged.connect(self._take_focus)
        self._settle_wanted.connect(self._settle, Qt.ConnectionType.QueuedConnection)
        self._titles_wanted.connect(self._retitle, Qt.ConnectionType.QueuedConnection)
        window.tabifiedDockWidgetActivated.connect(lambda _dock: self._retitle_soon())

    def __getitem__(self, name: str) -> QDockWidget:
        """Return a dock by the name of its view."""
        return self._docks[name]

    def names(self) -> tuple[str, ...]:
        """Return all names in order."""
        return tuple(self._docks)

    def view(self, kind: type[V]) -> V:
        """Return the view of a class, made if it was not yet; raises KeyError if no dock holds one."""
        names = (row.name for row in VIEWS if row.kind == kind.__name__)
        view = next(map(self._made, names), None)
        if not isinstance(view, kind):
            raise KeyError(kind.__name__)
        return view

    def in_tab_order(self) -> list[QWidget]:
        """Return the views that no other one's tab hides, in the order in which Tab goes through them."""
        views = [self._docks[name].widget() for name in tab_order()]
        return [view for view in views if not self.is_behind(view)]

    def arrange(self) -> None:
        """Put every dock where it stands by default, by the width that the window has now."""
        self._arranged_as = sizes, is_narrow = self._kind()
        self._is_settled, self._is_arranging = False, True
        for dock in self._docks.values():
            dock.setFloating(False)
            self._window.removeDockWidget(dock)
        self._place(sizes)
        for row in VIEWS:
            self._docks[row.name].setVisible(row.is_open)
        self._resize(sizes)
        if is_narrow:
            for dock in (*self._group("right"), *self._group("right tabs")):
                dock.hide()
        self._retitle_soon()
        self.settle()

    def settle(self) -> None:
        """Report what is in front, once the window has laid its docks out.

        While docks are put into place each of them is in sight for a moment; nothing is told then.
        """
        self._settle_wanted.emit()

    def is_behind(self, view: QWidget) -> bool:
        """Return whether a view stands behind another one's tab."""
        names = [name for name, dock in self._docks.items() if dock.widget() is view]
        return any(not self._in_front.get(name, True) for name in names)

    def show(self, name: str) -> None:
        """Open a dock, bring it to the front, and give its view the focus."""
        dock = self._docks[name]
        dock.show()
        dock.raise_()
        dock.activateWindow()
        self._made(name).setFocus(Qt.FocusReason.ShortcutFocusReason)

    @property
    def focused(self) -> QDockWidget | None:
        """The dock that has the focus; while the menu bar has it, the one that had it before."""
        focus = QApplication.focusWidget()
        if not isinstance(focus, QMenuBar):
            self._take_focus(None, focus)
        return self._focused

    def _take_focus(self, _before: QWidget | None, now: QWidget | None) -> None:
        if now is not None and not isinstance(now, QMenuBar):
            docks = self._docks.values()
            self._focused = next((dock for dock in docks if dock.isAncestorOf(now)), None)

    def toggle_float(self, dock: QDockWidget) -> None:
        """Make a docked view a window of its own beside the main one, or dock it again."""
        focus = QApplication.focusWidget()
        within = focus is not None and dock.isAncestorOf(focus)
        dock.setFloating(not dock.isFloating())
        if dock.isFloating():
            dock.setGeometry(float_place(self._window, dock.size(), self._theme))
        if within:
            dock.window().activateWindow()
            dock.widget().setFocus(Qt.FocusReason.ShortcutFocusReason)

    def grow(self, dock: QDockWidget, by_px: int, way: Qt.Orientation) -> None:
        """Make a view wider or taller by so many px of the design (less: narrower or shorter)."""
        by, across = self._theme.px(by_px), way is Qt.Orientation.Horizontal
        if dock.isFloating():
            dock.resize(dock.width() + by * across, dock.height() + by * (not across))
        else:
            self._window.resizeDocks([dock], [(dock.width() if across else dock.height()) + by], way)

    def show_large(self, name: str) -> None:
        """Open a dock as `show` does; where its place is too small for it, as a window of its own."""
        self.show(name)
        dock, window, px = self._docks[name], self._window, self._theme.px
        if dock.isFloating() or (dock.width() >= px(LARGE_WIDE) and dock.height() >= px(LARGE_HIGH)):
            return
        wide = min(px(1240), round(window.width() * 0.94))
        high = min(px(780), round(window.height() * 0.9))
        dock.setFloating(True)
        dock.resize(wide, high)
        dock.move(window.frameGeometry().center() - QPoint(wide // 2, high // 2))

    def bring_into_sight(self) -> None:
        """Bring back floating docks that no screen shows (a screen was taken away)."""
        screens = [screen.availableGeometry() for screen in QGuiApplication.screens()]
        for dock in self._docks.values():
            if dock.isFloating() and not any(screen.intersects(dock.frameGeometry()) for screen in screens):
                dock.move(screens[0].center() - dock.rect().center())

    # Inside

    def _settle(self) -> None:
        self._is_settled = True
        self._default = self._shape() if self._is_arranging else self._default
        self._is_arranging = False
        self._tell()

    def _shape(self) -> tuple[object, ...]:
        """Return what a person changes by moving, floating and closing views; sizes are not of it."""
        area, tabs = self._window.dockWidgetArea, self._window.tabifiedDockWidgets
        return tuple(
            (
                name,
                dock.isHidden(),
                dock.isFloating(),
                area(dock),
                len(tabs(dock)),
            )
            for name, dock in self._docks.items()
        )

    def _kind(self) -> tuple[DockSizes, bool]:
        """Return the default arrangement for the width of the window: sizes, and whether it is narrow."""
        width = self._window.width() / self._theme.u
        return (LARGE if width >= WIDE else SMALL), width < NARROW

    def _set_front(self, name: str, in_front: bool) -> None:
        self._in_front[name] = in_front
        if self._is_settled:
            self._tell()

    def _tell(self) -> None:
        for name, in_front in self._in_front.items():
            if self._told.get(name, False) != in_front:
                self._told[name] = in_front
                view = self._made(name) if in_front else self._docks[name].widget()
                if isinstance(view, SeenView):
                    view.set_seen(in_front)

    def _rescale(self) -> None:
        """Let the docks grow and shrink with the text in them.

        A default arrangement that nobody changed gives way to the one that suits the new size.
        """
        ratio, self._scale = self._theme.u / self._scale, self._theme.u
        if ratio == 1.0:
            return
        if self._kind() != self._arranged_as and (self._is_arranging or self._shape() == self._default):
            self.arrange()
            return
        docks = [dock for dock in self._docks.values() if dock.isVisible() and not dock.isFloating()]
        widths, heights = [d.width() for d in docks], [d.height() for d in docks]
        self._window.resizeDocks(docks, [round(w * ratio) for w in widths], Qt.Orientation.Horizontal)
        self._window.resizeDocks(docks, [round(h * ratio) for h in heights], Qt.Orientation.Vertical)

    def _made(self, name: str) -> QWidget:
        """Return the view of a name; where it was not made yet it takes its dock's empty place."""
        dock = self._docks[name]
        if self.late.is_made(name):
            return dock.widget()
        empty, view = dock.widget(), self.late.make(name)
        view.setAttribute(Qt.WidgetAttribute.WA_StyledBackground)
        dock.setWidget(view)
        empty.deleteLater()  # Qt leaves it to us
        self.late.announce(name)
        self.view_made.emit(view)
        return view

    def _dock(self, name: str, title: str) -> QDockWidget:
        dock = QDockWidget(title, self._window)
        dock.setObjectName(f"dock-{name}")
        dock.setWidget(QWidget())
        dock.setTitleBarWidget(self._title(dock))
        dock.topLevelChanged.connect(lambda _floating: self._retitle_soon())
        dock.dockLocationChanged.connect(lambda _area: self._retitle_soon())
        dock.visibilityChanged.connect(lambda _shown: self._retitle_soon())
        dock.visibilityChanged.connect(lambda shown: self._set_front(name, shown))
        dock.toggleViewAction().toggled.connect(lambda _shown: self.shown_changed.emit())
        return dock

    def _place(self, sizes: DockSizes) -> None:
        """Put each group of the table where it belongs; its first view is in front."""
        window = self._window
        right, groups = self._group("right"), [self._group(place) for place in BOTTOM]
        window.addDockWidget(Area.RightDockWidgetArea, right[0])
        for above, dock in pairwise(right):
            window.splitDockWidget(above, dock, Qt.Orientation.Vertical)
        for dock in self._group("right tabs"):
            window.tabifyDockWidget(right[0], dock)
        for first, *_ in groups:
            window.addDockWidget(Area.BottomDockWidgetArea, first)
        if sizes.tabs:
            groups = [[dock for group in groups for dock in group]]
        for (left, *_), (dock, *_) in pairwise(groups):
            window.splitDockWidget(left, dock, Qt.Orientation.Horizontal)
        for first, *others in groups:
            for dock in others:
                window.tabifyDockWidget(first, dock)
        for first, *_ in reversed(groups):
            first.raise_()
        right[0].raise_()

    def _group(self, place: DockPlace) -> list[QDockWidget]:
        return [self._docks[name] for name in names_in(place)]

    def _resize(self, sizes: DockSizes) -> None:
        window, docks, px = self._window, self._docks, self._theme.px
        rest = max(px(100), window.height() - self._bars() - px(28 + 29 + 6 + sizes.disc_height))
        window.resizeDocks([docks["disc"]], [px(sizes.right_width)], Qt.Orientation.Horizontal)
        heights = [px(sizes.disc_height), rest]
        window.resizeDocks([docks["disc"], docks["properties"]], heights, Qt.Orientation.Vertical)
        window.resizeDocks([docks["findings"]], [px(sizes.bottom_height)], Qt.Orientation.Vertical)
        if not sizes.tabs:
            widths = [px(sizes.findings_width), px(sizes.load_width)]
            rest = window.width() - px(sizes.right_width) - 3 * px(8) - sum(widths)
            row = [self._group(place)[0] for place in BOTTOM]
            window.resizeDocks(row, [*widths, rest], Qt.Orientation.Horizontal)
            window.resizeDocks([docks["disc"]], [px(sizes.right_width)], Qt.Orientation.Horizontal)

    def _bars(self) -> int:
        """Return the height of the toolbars that are shown, whose heights are fixed."""
        bars = self._window.findChildren(QToolBar, options=Qt.FindChildOption.FindDirectChildrenOnly)
        return sum(bar.maximumHeight() for bar in bars if not bar.isHidden())

    def _retitle_soon(self) -> None:
        """Have the titles looked at once, however many docks move meanwhile."""
        if not self._is_retitling:
            self._is_retitling = True
            self._titles_wanted.emit()

    def _retitle(self) -> None:
        """Set an empty title bar on a dock among tabs, and its own on one alone."""
        self._is_retitling = False
        for dock in self._docks.values():
            tabbed = bool(self._window.tabifiedDockWidgets(dock)) and not dock.isFloating()
            titled = isinstance(dock.titleBarWidget(), DockTitle)
            if tabbed == titled:
                _set_title(dock, _empty(dock) if tabbed else self._title(dock))
        by_title = {dock.windowTitle(): dock for dock in self._docks.values()}
        for bar in self._window.findChildren(QTabBar, options=Qt.FindChildOption.FindDirectChildrenOnly):
            if not bar.findChildren(TabButtons):
                TabButtons(bar, by_title, self._theme, self.toggle_float)

    def _title(self, dock: QDockWidget) -> DockTitle:
        return DockTitle(dock, self._theme, partial(self.toggle_float, dock))


def float_place(window: QWidget, size: QSize, theme: Theme) -> QRect:
    """Return where a view that becomes a window opens: useful in size, beside the main window if possible."""
    room, px = window.screen().availableGeometry(), theme.px
    most = QSize(round(room.width() * 0.9), round(room.height() * 0.9))
    wanted = size.expandedTo(QSize(px(FLOAT_SIZE[0]), px(FLOAT_SIZE[1]))).boundedTo(most)
    whole, gap = window.frameGeometry(), px(8)
    beside = {room.right() - whole.right() - 2 * gap: 1, whole.left() - room.left() - 2 * gap: -1}
    widest = max(beside)
    left = room.right() - gap - wanted.width()  # no room on either side: over the window's right edge
    if widest >= min(wanted.width(), px(LEAST_FLOAT)):
        wanted.setWidth(min(wanted.width(), widest))
        left = whole.right() + gap if beside[widest] > 0 else whole.left() - gap - wanted.width()
    top = max(room.top(), min(whole.top() + px(FLOAT_DOWN), room.bottom() - wanted.height()))
    return QRect(QPoint(left, top), wanted)


def _set_title(dock: QDockWidget, bar: QWidget) -> None:
    """Replace a dock's title bar; the one before goes, which Qt leaves to us."""
    before = dock.titleBarWidget()
    dock.setTitleBarWidget(bar)
    before.deleteLater()


def _empty(dock: QDockWidget) -> QWidget:
    bar = QWidget(dock)
    bar.setFixedHeight(0)
    return bar
