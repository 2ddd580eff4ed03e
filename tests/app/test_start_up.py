"""What the window loads before it is shown: nothing that only an export or a view out of sight needs."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]

LOADED = """
import sys
import shaftscore_app.frame.main_window
print("\\n".join(name for name in sys.modules if name.startswith("shaftscore.make.")))
"""


def test_the_window_loads_no_files_proofs_or_sheets() -> None:
    """They take 0.1 s and more, and nothing of them is seen before the first export."""
    done = subprocess.run(
        [sys.executable, "-c", LOADED], cwd=ROOT, capture_output=True, encoding="utf-8", check=True
    )
    rooms = {name.split(".")[2] for name in done.stdout.split()}
    assert "drawing" in rooms
    assert not rooms & {"assembly", "exporting", "files", "proof", "sheet"}


LATE = ("bring_up", "follower_parts", "operation", "program", "shaft", "stack", "state_table")
"""The modules of the views that are closed or behind a tab when the window opens."""


def test_the_window_loads_no_views_that_are_not_in_front() -> None:
    views = "print(*(name for name in sys.modules if name.startswith('shaftscore_app.views.')))"
    program = f"import sys, shaftscore_app.frame.running; {views}"
    done = subprocess.run(
        [sys.executable, "-c", program], cwd=ROOT, capture_output=True, encoding="utf-8", check=True
    )
    loaded = {name.removeprefix("shaftscore_app.views.") for name in done.stdout.split()}
    assert {"findings", "flow", "properties"} <= loaded
    assert loaded.isdisjoint(LATE)


READ = """
import linecache, sys
import PySide6.QtCore
from shaftscore_app.runtime.features import import_plainly

import_plainly()
asked = []
sys.setprofile(lambda frame, what, _: asked.append(frame.f_code) if what == "call" else None)
import chunk_of_words
from PySide6.QtSvg import QSvgRenderer
from PySide6.QtCore import QPointF
sys.setprofile(None)
print([name for name in linecache.cache if "chunk_of_words" in name])
print(sum("chunk_of_words" in code.co_filename for code in asked))
print([code.co_name for code in asked if code.co_name.startswith("feature_import")])
print(QPointF(1, 2).x(), QSvgRenderer(b"").isValid())
"""


def test_pyside_reads_no_sources_of_modules_and_is_not_asked_at_imports(tmp_path: Path) -> None:
    """It keeps all that it reads: 25 MiB of the whole editor."""
    (tmp_path / "chunk_of_words.py").write_text("import json\nWORDS = 3\n", encoding="utf-8")
    done = subprocess.run(
        [sys.executable, "-c", f"import sys; sys.path.insert(0, {str(tmp_path)!r}){READ}"],
        cwd=ROOT,
        capture_output=True,
        encoding="utf-8",
        check=True,
    )
    assert done.stdout.splitlines() == ["[]", "1", "[]", "1.0 False"]
