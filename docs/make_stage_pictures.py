"""Makes the pictures of single views for the guide's stage pages, from the samples, in both themes.

Run where there is a display: `xvfb-run -a -s "-screen 0 1920x1200x24 +extension GLX" .venv/bin/python
docs/make_stage_pictures.py [name ...]`; all pictures if none is named.
"""

from __future__ import annotations

import sys
import tempfile
from collections.abc import Callable
from dataclasses import dataclass
from importlib import resources
from pathlib import Path

from make_pictures import settle
from PIL import Image
from PySide6.QtWidgets import QApplication, QWidget

from shaftscore.base.samples import sample_folder
from shaftscore.model import load_project
from shaftscore.placing import Arrangement, arrange
from shaftscore_app.document import Document
from shaftscore_app.runtime.jobs import Jobs
from shaftscore_app.theme import Theme
from shaftscore_app.timing.widget import TimingDiagram
from shaftscore_app.views.table import VIEWS, SeenView

PICTURES = Path(__file__).resolve().parent / "guide" / "pictures"
CLEAN, DRAFT = "tea_blender.shaft", "tea_blender_first_draft.shaft"
COLOURS = 128

Preparation = Callable[[Document, QWidget], None]
"""What is done with a document and its view before the picture."""


@dataclass(frozen=True)
class StagePicture:
    """A picture: of which view (empty: the timing diagram) and sample, its size, what is done before."""

    name: str
    view: str
    sample: str
    size: tuple[int, int]
    prepare: Preparation = lambda _document, _view: None


def chosen(lane: str, cursor_deg: float) -> Preparation:
    """Return what selects a lane and sets the cursor, master degrees."""

    def prepare(document: Document, _view: QWidget) -> None:
        document.select_lane(lane)
        document.set_cursor(cursor_deg)

    return prepare


def proposed(_document: Document, view: QWidget) -> None:
    """Draw over the diagram what Arrange proposes for a smaller torque."""
    assert isinstance(view, TimingDiagram)
    project = view.document.project
    found = arrange(project, "torque")
    assert isinstance(found, Arrangement), found
    after = found.project
    view.set_ghosts({lane.id: lane for lane in after.lanes if lane != project.lane(lane.id)})


STAGES = (
    StagePicture("state_table", "table", CLEAN, (900, 420)),
    StagePicture("timing", "", CLEAN, (1240, 620), chosen("ceylon", 120.0)),
    StagePicture("findings", "findings", DRAFT, (760, 420)),
    StagePicture("ghosts", "", CLEAN, (1240, 620), proposed),
    StagePicture("disc", "disc", CLEAN, (620, 560), chosen("flap", 60.0)),
    StagePicture("followers", "followers", CLEAN, (1000, 560), chosen("flap", 60.0)),
    StagePicture("torque", "load", CLEAN, (900, 420), chosen("flap", 60.0)),
    StagePicture("stack", "stack", CLEAN, (900, 620)),
    StagePicture("shaft", "shaft", CLEAN, (1000, 460)),
    StagePicture("wear", "operation", CLEAN, (900, 460)),
    StagePicture("motion", "motion", CLEAN, (900, 460), chosen("flap", 60.0)),
)


def made_view(name: str, document: Document, theme: Theme, jobs: Jobs) -> QWidget:
    """Return a view by its name; the timing diagram for an empty one."""
    if not name:
        return TimingDiagram(document, theme)
    return next(row for row in VIEWS if row.name == name).make(document, theme, jobs)


def picture(app: QApplication, stage: StagePicture, theme_name: str) -> Path:
    """Save a picture in a theme; returns its file."""
    theme, jobs = Theme(app, theme_name), Jobs()
    with resources.as_file(sample_folder() / stage.sample) as path:
        document = Document(load_project(path), jobs=jobs)
    view = made_view(stage.view, document, theme, jobs)
    theme.apply_to(view)
    view.resize(*stage.size)
    view.show()
    if isinstance(view, SeenView):
        view.set_seen(True)
    settle(app, document, jobs)
    stage.prepare(document, view)
    settle(app, document, jobs)
    out = PICTURES / f"{stage.name}_{theme_name}.png"
    with tempfile.TemporaryDirectory() as folder:
        raw = Path(folder) / "raw.png"
        view.grab().save(str(raw))
        with Image.open(raw) as image:
            image.convert("RGB").quantize(COLOURS, dither=Image.Dither.NONE).save(out, optimize=True)
    view.close()
    jobs.close()
    theme.leave()
    return out


def main(wanted: list[str]) -> int:
    """Make the pictures that are named, all if none is; the code is 1 for a name that is none."""
    unknown = sorted(set(wanted) - {stage.name for stage in STAGES})
    if unknown:
        print(f"there is no picture {', '.join(unknown)}", file=sys.stderr)
        return 1
    app = QApplication(sys.argv[:1])
    for stage in STAGES:
        for theme in ("light", "dark") if not wanted or stage.name in wanted else ():
            out = picture(app, stage, theme)
            print(out.name, f"{out.stat().st_size / 1000:.0f} kB")
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
