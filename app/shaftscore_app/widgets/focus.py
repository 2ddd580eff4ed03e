"""The order in which Tab goes through the window: whole views one after the other.

Qt's own chain of focus follows the order in which widgets were made, and docks, tabs and views that are
made late tangle it; here the order is that of the containers, and within each that of its controls.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QToolBar, QToolButton, QWidget

LINE = 12
"""Widgets whose tops are nearer than this stand in one line, px."""


def next_stop(containers: Iterable[QWidget], holder: QWidget | None, by: int) -> QWidget | None:
    """Return the control after (by = 1) or before (-1) the one that holds the focus, round at the ends.

    Returns the first or last one where `holder` is none of them, None where there is none at all.
    """
    return _next([stop for container in containers for stop in tab_stops(container)], holder, by)


def next_by_place(container: QWidget, holder: QWidget | None, by: int) -> QWidget | None:
    """Return the control after or before the one that holds the focus, in the order in which they are read.

    Forms replace rows while they are filled in; a row that is made late still has the place where it is seen.
    """
    return _next([widget for widget in _read(container) if _stops(widget)], holder, by)


def _read(container: QWidget) -> Iterator[QWidget]:
    """Yield all widgets of a container, line by line, each before what is in it."""
    inner = container.findChildren(QWidget, options=Qt.FindChildOption.FindDirectChildrenOnly)
    shown = [widget for widget in inner if not widget.isHidden() and not widget.isWindow()]
    for widget in sorted(shown, key=_place):
        yield widget
        yield from _read(widget)


def _place(widget: QWidget) -> tuple[int, int]:
    """Return line and place in it; widgets of one line differ a little in height."""
    return round(widget.geometry().top() / LINE), widget.geometry().left()


def _next(stops: Sequence[QWidget], holder: QWidget | None, by: int) -> QWidget | None:
    if not stops:
        return None
    if holder not in stops:
        return stops[0 if by > 0 else -1]
    place = stops.index(holder) + by
    return stops[place] if 0 <= place < len(stops) else stops[0 if by > 0 else -1]


def tab_stops(container: QWidget) -> list[QWidget]:
    """Return the controls in a container (or itself) that Tab can stop at now."""
    widgets = [container, *container.findChildren(QWidget)]
    return [widget for widget in widgets if _stops(widget)]


def _stops(widget: QWidget) -> bool:
    wants = bool(widget.focusPolicy() & Qt.FocusPolicy.TabFocus) and widget.focusProxy() is None
    return wants and widget.isVisible() and widget.isEnabled()


def let_tab_reach(toolbar: QToolBar) -> None:
    """Let Tab reach the buttons of a toolbar, which Qt leaves out; a click gives them no focus."""
    for button in toolbar.findChildren(QToolButton):
        if button.focusPolicy() == Qt.FocusPolicy.NoFocus:
            button.setFocusPolicy(Qt.FocusPolicy.TabFocus)
