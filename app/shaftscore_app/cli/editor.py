"""Opening the editor where there is a display and Qt loads; one line where not."""

from __future__ import annotations

import os
import sys
from pathlib import Path

PACKAGES = (
    "libegl1 libgl1 libopengl0 libxkbcommon-x11-0 libxcb-cursor0 libxcb-icccm4 libxcb-keysyms1 "
    "libxcb-image0 libxcb-render-util0 libfontconfig1 libdbus-1-3"
)
"""What Qt needs of a Debian or Ubuntu system."""


def has_display() -> bool:
    """Return whether a window could be shown."""
    if sys.platform in ("win32", "darwin"):
        return True
    return bool(os.environ.get("DISPLAY") or os.environ.get("WAYLAND_DISPLAY"))


def why_no_editor() -> str:
    """Write in one line why no editor can open; empty where it can."""
    if not has_display():
        return "There is no display, so the editor was not opened."
    try:
        import PySide6.QtWidgets  # noqa: F401 - only whether its system libraries are there
    except ImportError as error:
        return f"The editor needs system libraries ({error}); try: apt-get install {PACKAGES}"
    return ""


def open_editor(file: Path | None) -> int:
    """Open the editor and give its exit code; 2 with one line on stderr where it cannot open."""
    reason = why_no_editor()
    if reason:
        print(reason, file=sys.stderr)
        return 2
    from shaftscore_app.runtime.features import import_plainly

    import_plainly()  # before the hundreds of modules of the window
    from shaftscore_app.frame.running import run

    return run(file)
