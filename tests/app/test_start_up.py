"""What the window loads before it is shown: nothing that only an export needs."""

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
