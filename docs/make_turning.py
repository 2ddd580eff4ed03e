"""Makes the moving picture of the README: a sample's stack, turned through one cycle.

Run where there is a display: `xvfb-run -a -s "-screen 0 1920x1200x24 +extension GLX" .venv/bin/python
docs/make_turning.py`.
"""

from __future__ import annotations

import io
import sys
from importlib import resources
from pathlib import Path

from make_pictures import settle
from make_stage_pictures import CLEAN, PICTURES, made_view
from PIL import Image
from PySide6.QtCore import QBuffer, QIODevice
from PySide6.QtWidgets import QApplication, QWidget

from shaftscore.base.samples import sample_folder
from shaftscore.model import load_project
from shaftscore_app.document import Document
from shaftscore_app.runtime.jobs import Jobs
from shaftscore_app.theme import Theme
from shaftscore_app.views.table import SeenView

SIZE, SHOWN, STEP_DEG, FRAME_MS, COLOURS = (640, 520), (0, 0, 640, 400), 10, 90, 24
NAME = "stack_turning.gif"


def frame(view: QWidget) -> Image.Image:
    """Return what a view shows."""
    buffer = QBuffer()
    buffer.open(QIODevice.OpenModeFlag.WriteOnly)
    view.grab().save(buffer, "PNG")  # type: ignore[call-overload]

    with Image.open(io.BytesIO(bytes(buffer.data().data()))) as image:
        return image.convert("RGB").crop(SHOWN).quantize(COLOURS, dither=Image.Dither.NONE)


def main() -> int:
    """Make the picture."""
    app = QApplication(sys.argv[:1])
    theme, jobs = Theme(app, "light"), Jobs()
    with resources.as_file(sample_folder() / CLEAN) as path:
        document = Document(load_project(path), jobs=jobs)
    view = made_view("stack", document, theme, jobs)
    theme.apply_to(view)
    view.resize(*SIZE)
    view.show()
    if isinstance(view, SeenView):
        view.set_seen(True)
    settle(app, document, jobs)
    frames = []
    for angle in range(0, 360, STEP_DEG):
        document.set_cursor(float(angle))
        settle(app, document, jobs)
        frames.append(frame(view))
    out = Path(PICTURES) / NAME
    frames[0].save(out, save_all=True, append_images=frames[1:], duration=FRAME_MS, loop=0, optimize=True)
    print(out.name, len(frames), f"{out.stat().st_size / 1000:.0f} kB")
    view.close()
    jobs.close()
    theme.leave()
    return 0


if __name__ == "__main__":
    sys.exit(main())
