"""The entry in a Linux desktop's menu, the icon, and the file type *.shaft, for the present user.

What is written follows the freedesktop.org specifications: Desktop Entry, Icon Theme (folder hicolor) and
Shared MIME-info. The files are those of `resources/desktop`; the entry's command is replaced by the
full path of the program that runs, so that it works from any environment.
"""

from __future__ import annotations

import shutil
import subprocess
import sys
from importlib import resources
from pathlib import Path

import platformdirs

from shaftscore.base.errors import ShaftscoreError

PLACES = {
    "shaftscore.desktop": "applications",
    "shaftscore.xml": "mime/packages",
    "shaftscore.svg": "icons/hicolor/scalable/apps",
}
"""Where each file stands below the data folder."""

REFRESH = (("update-mime-database", "mime"), ("update-desktop-database", "applications"))
"""The desktop's own programs that take notice, and the folder that each is given."""


class DesktopError(ShaftscoreError):
    """There is no desktop of this kind here."""


def data_folder() -> Path:
    """Return the folder that the desktop reads for the present user. Raises DesktopError off Linux."""
    if not sys.platform.startswith("linux"):
        raise DesktopError(f"The menu entry is for Linux desktops; this system is {sys.platform}.")
    return Path(platformdirs.user_data_dir())


def program() -> str:
    """Return the command that starts the editor: the installed script, else this Python with the package."""
    script = Path(sys.executable).with_name("shaftscore")
    if getattr(sys, "frozen", False):
        return _quoted(sys.executable)
    return _quoted(str(script)) if script.exists() else f"{_quoted(sys.executable)} -m app"


def install(folder: Path) -> list[Path]:
    """Write entry, icon and file type below the folder; returns what was written."""
    written = []
    for name, place in PLACES.items():
        text = (resources.files("shaftscore_app.resources") / "desktop" / name).read_text(encoding="utf-8")
        target = folder / place / name
        target.parent.mkdir(parents=True, exist_ok=True)
        target.write_text(text.replace("Exec=shaftscore ", f"Exec={program()} "), encoding="utf-8")
        written.append(target)
    _refresh(folder)
    return written


def remove(folder: Path) -> list[Path]:
    """Remove what `install` wrote; returns what was there."""
    gone = [path for name, place in PLACES.items() if (path := folder / place / name).exists()]
    for path in gone:
        path.unlink()
    _refresh(folder)
    return gone


def _refresh(folder: Path) -> None:
    """Notify the desktop; where its programs are missing it notices by itself at the next login."""
    for name, place in REFRESH:
        command = shutil.which(name)
        if command and (folder / place).is_dir():
            subprocess.run([command, str(folder / place)], check=False, capture_output=True)


def _quoted(text: str) -> str:
    """Quote an argument as the Desktop Entry specification asks (section "The Exec key")."""
    escaped = "".join(f"\\{c}" if c in '"`$\\' else c for c in text).replace("%", "%%")
    return f'"{escaped}"'
