"""Size and place of the window: at first, least, and as the person left it."""

from __future__ import annotations

from PySide6.QtCore import QByteArray, Qt, QTimer
from PySide6.QtWidgets import QMainWindow

from shaftscore_app.runtime.settings import Settings
from shaftscore_app.theme import Theme
from shaftscore_app.views.layout import LAYOUT_VERSION, Docks

FIRST_SIZE = (1600, 1000)
LEAST_SIZE = (900, 560)
"""Size at first start, and the least; px of the design."""

FRAME = 40
"""Room that the system's title bar and frame may take, px."""


class WindowPlacement:
    """Restores and remembers the geometry of a window and the arrangement of its docks."""

    def __init__(self, window: QMainWindow, docks: Docks, theme: Theme, settings: Settings) -> None:
        """Serve a window; the geometry is kept in the settings."""
        self._window, self._docks, self._theme, self._settings = window, docks, theme, settings
        self._wants_default = False

    def fit(self) -> None:
        """Set the least size of the window, in the size of the theme's text."""
        px, room = self._theme.px, self._window.screen().availableSize()
        width, height = LEAST_SIZE
        self._window.setMinimumSize(min(px(width), room.width()), min(px(height), room.height()))

    def restore(self) -> None:
        """Restore the person's own arrangement, else the default for the size of the window."""
        values = self._settings.values
        if values.geometry:
            self._window.restoreGeometry(QByteArray.fromBase64(values.geometry.encode()))
        else:
            self._take_first_size()
        state = QByteArray.fromBase64(values.layout.encode())
        known = values.layout_version == LAYOUT_VERSION and not state.isEmpty()
        self._docks.arrange()
        self._wants_default = not (known and self._window.restoreState(state, LAYOUT_VERSION))
        self._docks.bring_into_sight()

    def remember(self) -> None:
        """Write geometry and arrangement to the settings."""
        self._settings.change(
            geometry=_text(self._window.saveGeometry()),
            layout=_text(self._window.saveState(LAYOUT_VERSION)),
            layout_version=LAYOUT_VERSION,
        )

    def on_shown(self) -> None:
        """Arrange the docks, now that the window has its size."""
        if self._wants_default:
            self._wants_default = False
            QTimer.singleShot(0, self._docks, self._docks.arrange)
        else:
            self._docks.settle()

    def _take_first_size(self) -> None:
        """Take the size of the design; where the screen has no room for it and a frame, all of the screen."""
        window, px = self._window, self._theme.px
        room = window.screen().availableSize()
        window.resize(min(FIRST_SIZE[0], room.width()), min(FIRST_SIZE[1], room.height() - px(FRAME)))
        if room.width() <= FIRST_SIZE[0] or room.height() < FIRST_SIZE[1] + px(FRAME):
            window.setWindowState(Qt.WindowState.WindowMaximized)


def _text(data: QByteArray) -> str:
    return bytes(data.toBase64().data()).decode()
