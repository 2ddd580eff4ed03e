"""The menu entry of Linux desktops: written for the present user, and taken away again."""

from __future__ import annotations

import configparser
import os
import subprocess
import sys
from pathlib import Path
from xml.etree import ElementTree

import pytest

pytestmark = pytest.mark.skipif(not sys.platform.startswith("linux"), reason="Linux desktops only")


def desktop(folder: Path, *arguments: str) -> list[str]:
    done = subprocess.run(
        [sys.executable, "-m", "shaftscore_app", "desktop", *arguments],
        capture_output=True,
        text=True,
        check=True,
        env=os.environ | {"XDG_DATA_HOME": str(folder)},
    )
    return done.stdout.splitlines()


def test_it_writes_entry_icon_and_file_type_and_takes_them_away(tmp_path: Path) -> None:
    assert len(desktop(tmp_path)) == 3
    entry = configparser.ConfigParser(interpolation=None)
    entry.read(tmp_path / "applications" / "shaftscore.desktop")
    command = entry["Desktop Entry"]["Exec"]
    assert command.endswith(" %f")
    assert Path(command.split('"')[1]).exists()
    kind = ElementTree.parse(tmp_path / "mime" / "packages" / "shaftscore.xml")
    names = {"m": "http://www.freedesktop.org/standards/shared-mime-info"}
    mime = kind.find("m:mime-type", names)
    assert mime is not None
    assert entry["Desktop Entry"]["MimeType"] == f"{mime.attrib['type']};"
    assert (tmp_path / "icons" / "hicolor" / "scalable" / "apps" / "shaftscore.svg").exists()
    assert len(desktop(tmp_path, "--remove")) == 3
    assert not list(tmp_path.rglob("shaftscore.*"))
    assert desktop(tmp_path, "--remove") == []
