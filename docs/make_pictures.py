"""Makes the pictures of the docs from the sample projects, in both themes, so that they never go stale.

Run where there is a display: `xvfb-run -a .venv/bin/python docs/make_pictures.py`.
"""

from __future__ import annotations

import sys
import tempfile
from importlib import resources
from pathlib import Path

from PySide6.QtCore import QDeadlineTimer, QEventLoop
from PySide6.QtWidgets import QApplication

from shaftscore.base.samples import sample_folder
from shaftscore.model import load_project
from shaftscore_app.document import Document
from shaftscore_app.frame.main_window import MainWindow
from shaftscore_app.keeping import PersonStore
from shaftscore_app.runtime.jobs import Jobs
from shaftscore_app.runtime.settings import Settings
from shaftscore_app.theme import Theme
from shaftscore_app.views.bring_up import BringUpView
from shaftscore_app.views.flow import FlowView
from shaftscore_app.views.program import ProgramView

PICTURES = Path(__file__).resolve().parent / "guide" / "pictures"
SAMPLE = "tea_blender_first_draft.shaft"
PROGRAM_SAMPLE, PROGRAM_SIZE = "tea_blender.shaft", (1240, 780)
FLOW_SIZE = (1260, 700)
SIZES = {"large": (1600, 1000), "small": (1280, 800)}
WAIT_MS = 120_000


def settle(app: QApplication, document: Document, jobs: Jobs) -> None:
    """Let the window draw until everything shown belongs to the project shown. Raises TimeoutError."""
    deadline = QDeadlineTimer(WAIT_MS)
    while jobs.is_busy() or not document.is_late_current:
        app.processEvents(QEventLoop.ProcessEventsFlag.AllEvents, 50)
        if deadline.hasExpired():
            raise TimeoutError(f"the sample was not examined after {WAIT_MS} ms")
    for _ in range(30):
        app.processEvents(QEventLoop.ProcessEventsFlag.AllEvents, 50)


def picture(app: QApplication, theme_name: str, size: tuple[int, int], out: Path) -> None:
    """Open the sample in a window of a size and theme, and save what it shows."""
    with tempfile.TemporaryDirectory() as folder:
        settings = Settings(Path(folder) / "settings.json")
        theme, jobs = Theme(app, theme_name), Jobs()
        document = Document(jobs=jobs)
        window = MainWindow(document, theme, settings, jobs, store=PersonStore(Path(folder) / "data"))
        window.resize(*size)
        window.show()
        with resources.as_file(sample_folder() / SAMPLE) as path:
            document.open(path)
        settle(app, document, jobs)
        document.set_cursor(290.0)
        settle(app, document, jobs)
        window.grab().save(str(out))
        window.close_at_once()
        theme.leave()


def program_picture(app: QApplication, theme_name: str, out: Path) -> None:
    """Save what the Program maker shows of a sample."""
    theme = Theme(app, theme_name)
    with resources.as_file(sample_folder() / PROGRAM_SAMPLE) as path:
        document = Document(load_project(path))
    view = ProgramView(document, theme)
    theme.apply_to(view)
    view.resize(*PROGRAM_SIZE)
    view.show()
    view.set_seen(True)
    view.session.choose_cell(4, (0, 1))
    for _ in range(20):
        app.processEvents(QEventLoop.ProcessEventsFlag.AllEvents, 50)
    view.grab().save(str(out))
    view.close()
    theme.leave()


def flow_picture(app: QApplication, theme_name: str, out: Path) -> None:
    """Save the network of a sample whose ginger runs empty."""
    theme, jobs = Theme(app, theme_name), Jobs()
    with resources.as_file(sample_folder() / SAMPLE) as path:
        document = Document(load_project(path), jobs=jobs)
    view = FlowView(document, theme, jobs)
    theme.apply_to(view)
    view.resize(*FLOW_SIZE)
    view.show()
    view.set_seen(True)
    settle(app, document, jobs)
    view.network_face.session.select([("gate", "gate_ginger")])
    settle(app, document, jobs)
    view.grab().save(str(out))
    view.close()
    theme.leave()


def bring_up_picture(app: QApplication, theme_name: str, out: Path) -> None:
    """Save what the Bring-up view shows of a sample whose second and third disc are swapped."""
    theme, jobs = Theme(app, theme_name), Jobs()
    with resources.as_file(sample_folder() / PROGRAM_SAMPLE) as path:
        document = Document(load_project(path), jobs=jobs)
    view = BringUpView(document, theme, jobs)
    theme.apply_to(view)
    view.resize(*PROGRAM_SIZE)
    view.show()
    view.set_seen(True)
    settle(app, document, jobs)
    session = view.session
    session.set_power_off(True)
    session.set_springs_hooked(True)
    one, other = session.order[1:3]
    for place in range(6):
        session.go(place)
        for lane_id, its in ((one, other), (other, one)):
            due = session.expected(its)
            session.see(lane_id, due.level if due is not None else None)
        session.see_all()
    session.go(3)
    settle(app, document, jobs)
    view.grab().save(str(out))
    view.close()
    jobs.close()
    theme.leave()


def main() -> int:
    """Make all pictures."""
    app = QApplication(sys.argv[:1])
    PICTURES.mkdir(exist_ok=True)
    for theme in ("light", "dark"):
        for name, size in SIZES.items():
            picture(app, theme, size, PICTURES / f"window_{name}_{theme}.png")
        program_picture(app, theme, PICTURES / f"program_{theme}.png")
        flow_picture(app, theme, PICTURES / f"flow_network_{theme}.png")
        bring_up_picture(app, theme, PICTURES / f"bring_up_{theme}.png")
    return 0


if __name__ == "__main__":
    sys.exit(main())
