"""Whether the system asks programs to do without moving effects."""

from __future__ import annotations

import sys

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QApplication


def wants_less_motion(platform: str = sys.platform) -> bool:
    """Return whether the person has turned the system's effects off.

    Only Windows is asked: there Qt reads the system's own switch. Elsewhere (X11, Wayland, macOS; seen with
    Qt 6.11 on X11, GNOME and KDE) Qt calls the effects off whatever has been chosen, which would take the
    motion from everybody.
    """
    return platform == "win32" and not QApplication.isEffectEnabled(Qt.UIEffect.UI_General)
