"""What the editor's tests draw on: a display, one for each process of a parallel run, or Qt's "offscreen"."""

from __future__ import annotations

import atexit
import os
import shutil
import subprocess
from functools import cache
from pathlib import Path

SCREEN = Path(__file__).with_name("offscreen.json")
"""The screen of Qt's platform "offscreen". Its own is 800 by 800 px, where the window has no room."""

SERVER = ("Xvfb", "-displayfd", "1", "-screen", "0", "1920x1200x24", "+extension", "GLX", "-nolisten", "tcp")


def is_offscreen() -> bool:
    """Return whether Qt is to draw into memory."""
    return os.environ.get("QT_QPA_PLATFORM", "").startswith("offscreen")


@cache
def choose() -> None:
    """Choose where this process and its children draw, before Qt is loaded.

    Focus and clipboard belong to a whole display: of the workers of pytest-xdist the first has the one that
    is there, the others have their own where Xvfb is installed, else none.
    """
    if "DISPLAY" in os.environ and os.environ.get("PYTEST_XDIST_WORKER", "gw0") != "gw0":
        os.environ.pop("WAYLAND_DISPLAY", None)
        display = _started() if shutil.which(SERVER[0]) else ""
        if display:
            os.environ["DISPLAY"] = display
        else:
            del os.environ["DISPLAY"]
    if "DISPLAY" not in os.environ and "WAYLAND_DISPLAY" not in os.environ:
        os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")
    if os.environ.get("QT_QPA_PLATFORM") == "offscreen" and ":" not in str(SCREEN):
        os.environ["QT_QPA_PLATFORM"] = f"offscreen:configfile={SCREEN}"  # a colon would end the path


def _started() -> str:
    """Start a display that ends with this process; returns its name, empty where it cannot start."""
    server = subprocess.Popen(SERVER, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True)
    atexit.register(_end, server)
    assert server.stdout is not None
    number = server.stdout.readline().strip()
    return f":{number}" if number else ""


def _end(server: subprocess.Popen[str]) -> None:
    server.terminate()
    server.wait()
