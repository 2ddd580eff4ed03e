"""Builds the machine, and prints what each stage took."""

from __future__ import annotations

import argparse
import json
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

from PySide6.QtWidgets import QApplication

from benchmarks.by_hand import selectors
from benchmarks.by_hand.building import Builder
from benchmarks.by_hand.keystrokes import KeystrokeCount
from benchmarks.by_hand.person import HandsError, Person
from shaftscore.model import Project
from shaftscore_app.document import Document
from shaftscore_app.frame.main_window import MainWindow
from shaftscore_app.keeping import PersonStore
from shaftscore_app.runtime.jobs import Jobs
from shaftscore_app.runtime.settings import Settings
from shaftscore_app.theme import Theme


def built(folder: Path, pictures: Path | None = None) -> list[dict[str, Any]]:
    """Build the machine in a window of its own; returns a row a stage. Raises HandsError.

    pictures: a folder for a picture of the screen after each stage.
    """
    app = QApplication.instance() or QApplication([])
    assert isinstance(app, QApplication)
    jobs, theme = Jobs(), Theme(choice="light")
    window = MainWindow(
        Document(None, jobs=jobs),
        theme,
        Settings(folder / "settings.json"),
        jobs,
        store=PersonStore(folder / "data"),
    )
    window.resize(1600, 1000)
    window.show()
    window.activateWindow()
    rows = []
    try:
        person = Person(app, window)
        for number, (name, stage) in enumerate(Builder(app, window, person, folder).stages):
            rows.append(_measured(person, name, stage))
            if pictures is not None:
                app.primaryScreen().grabWindow(0).save(str(pictures / f"{number}.png"))
        _check(window.document.committed, folder / selectors.FOLDER)
    except HandsError:
        if pictures is not None:
            app.primaryScreen().grabWindow(0).save(str(pictures / "failed.png"))
        raise
    finally:
        window.close_at_once()
    return rows


def _check(project: Project, files: Path) -> None:
    """Raise HandsError where the machine is not as it was meant, or a file is not proved."""
    faults = list(selectors.faults_of(project))
    if faults:
        raise HandsError(f"not as meant: {'; '.join(faults)}")
    command = [sys.executable, "-m", "shaftscore_app", "verify", str(files)]
    done = subprocess.run(command, check=False, capture_output=True, text=True)
    if done.returncode:
        raise HandsError(f"the files are not proved: {done.stdout}{done.stderr}")


def _measured(person: Person, name: str, stage: Callable[[], None]) -> dict[str, Any]:
    """Do a stage and count it; person_s, waited_s, processor_s: seconds."""
    person.count = KeystrokeCount()
    worked = time.process_time()
    stage()
    count = person.count
    return {
        "stage": name,
        "keys": count.keys,
        "clicks": count.clicks,
        "person_s": round(count.person_s, 1),
        "waited_s": round(count.waited_s, 1),
        "processor_s": round(time.process_time() - worked, 1),
        "operators": dict(count.operators),
    }


def table_of(rows: Sequence[dict[str, Any]]) -> str:
    """Write the stages as lines, the sum last."""
    keys = ("keys", "clicks", "person_s", "waited_s", "processor_s")
    total = {key: round(sum(row[key] for row in rows), 1) for key in keys}
    lines = [f"{'':28}" + "".join(f"{key:>13}" for key in keys)]
    for row in (*rows, {"stage": "All", **total}):
        lines.append(f"{row['stage']:28}" + "".join(f"{row[key]:>13}" for key in keys))
    return "\n".join(lines)


def main() -> int:
    """Build, print; exit code 1 where something could not be done."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--json", action="store_true", help="print JSON as the last line")
    parser.add_argument("--pictures", type=Path, help="folder for a picture of the screen after each stage")
    options = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        try:
            rows = built(Path(folder), options.pictures)
        except HandsError as error:
            print(f"Not built: {error}", file=sys.stderr)
            return 1
    print(table_of(rows))
    if options.json:
        print(json.dumps(rows))
    return 0


if __name__ == "__main__":
    sys.exit(main())
