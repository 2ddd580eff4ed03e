"""Makes the picture at the head of the README: the editor, two pages of the manual, and discs.

Run where there is a display, after `make_pictures.py`: `xvfb-run -a .venv/bin/python docs/make_hero.py`.
"""

from __future__ import annotations

import io
import sys
from collections.abc import Iterator
from pathlib import Path

import pypdfium2
from PIL import Image
from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QImage, QPainter, QPainterPath, QPen
from PySide6.QtWidgets import QApplication

from shaftscore.base.progress import Silent
from shaftscore.base.samples import sample_folder
from shaftscore.judge.report import examine
from shaftscore.make import manual
from shaftscore.make.drawing.paper_sizes import A4
from shaftscore.make.drawing.pictures.machine import PicturedMachine, PicturedPart, prisms_of
from shaftscore.make.drawing.pictures.projecting import painted
from shaftscore.make.drawing.pictures.stack_parts import hub, layers, rod
from shaftscore.make.drawing.scene import Scene, scene
from shaftscore.make.exporting.gather import gather
from shaftscore.make.files.order import MakeOrder
from shaftscore.model import load_project
from shaftscore_app.theme import Theme
from shaftscore_app.theme.scenes import PaperColours, ScenePainting

PICTURES = Path(__file__).resolve().parent / "guide" / "pictures"
SAMPLE = "tea_blender.shaft"
SIZE = (1600, 880)
WINDOW = QRectF(56, 186, 1010, 631)
PAGES = (("Assembly of the shaft", QRectF(1330, 96, 214, 303)), ("Cover", QRectF(1262, 58, 226, 320)))
SHAFT = QRectF(1096, 396, 420, 460)
"""Where window, pages (the rear one first) and discs are, px."""

GROUND, FLOOR = QColor("#ecebf2"), QColor("#dfdee9")


def discs(order: MakeOrder) -> Scene:
    """Return the picture of the first shaft of a machine with its discs."""
    machine = PicturedMachine(order.report.solution, tuple(item.part for item in order.items))
    return scene(painted(prisms_of(_on_the_shaft(machine))))


def _on_the_shaft(machine: PicturedMachine) -> Iterator[PicturedPart]:
    stack = machine.stacks[0]
    yield rod(machine, stack)
    yield from layers(machine, stack)
    own = hub(machine, stack)
    if own is not None:
        yield own


def pages(order: MakeOrder) -> Iterator[tuple[QImage, QRectF]]:
    """Yield two pages of the manual and where they are, the rear one first."""
    document = pypdfium2.PdfDocument(manual.manual_bytes(order, A4, ()))
    for title, place in PAGES:
        number = next(one.get_dest().get_index() for one in document.get_toc() if one.get_title() == title)
        page = document[number]
        picture = page.render(scale=2.0 * place.width() / page.get_width()).to_pil().convert("RGB")
        written = io.BytesIO()
        picture.save(written, "PNG")
        yield QImage.fromData(written.getvalue()), place


def put(painter: QPainter, picture: QImage, place: QRectF, radius: float) -> None:
    """Paint a picture with round corners and a soft shadow."""
    painter.setPen(Qt.PenStyle.NoPen)
    for grown in range(14, 0, -2):
        painter.setBrush(QColor(40, 36, 70, 7))
        painter.drawRoundedRect(
            place.adjusted(-grown, -grown + 8, grown, grown + 8), radius + grown, radius + grown
        )
    outline = QPainterPath()
    outline.addRoundedRect(place, radius, radius)
    painter.save()
    painter.setClipPath(outline)
    painter.drawImage(place, picture)
    painter.restore()


def paint_discs(painter: QPainter, theme: Theme, drawing: Scene) -> None:
    """Paint the discs as large as their place allows."""
    bounds = drawing.bounds
    wide, high = bounds.right - bounds.left, bounds.top - bounds.bottom
    scale = min(SHAFT.width() / wide, SHAFT.height() / high)
    middle = complex(bounds.left + bounds.right, bounds.bottom + bounds.top) / 2
    origin = SHAFT.center() - QPointF(middle.real, -middle.imag) * scale
    ScenePainting(painter, PaperColours(theme, scale * 0.9), scale, origin).paint(drawing)


def paint_words(painter: QPainter, theme: Theme) -> None:
    """Paint the name, and what it is for."""
    for text, top, size, weight, colour in (
        ("Shaftscore", 46, 54, 700, "#1f1d2b"),
        (
            "Draw what every lane does in one turn. Print discs that are proved to do it.",
            112,
            20,
            400,
            "#5c5970",
        ),
    ):
        font = theme.font(size, weight)
        font.setPixelSize(size)
        painter.setFont(font)
        painter.setPen(QPen(QColor(colour)))
        painter.drawText(QRectF(56, top, 1100, size * 1.4), Qt.AlignmentFlag.AlignLeft, text)


def main() -> int:
    """Make the picture."""
    app = QApplication(sys.argv[:1])
    theme = Theme(app, "light")
    report = examine(load_project(Path(str(sample_folder() / SAMPLE))))
    order = gather(report, ("pdf",), Silent(), True)
    made = QImage(*SIZE, QImage.Format.Format_RGB32)
    made.fill(GROUND)
    painter = QPainter(made)
    painter.setRenderHints(QPainter.RenderHint.Antialiasing | QPainter.RenderHint.SmoothPixmapTransform)
    painter.fillRect(QRectF(0, 590, SIZE[0], SIZE[1] - 590), FLOOR)
    paint_words(painter, theme)
    for picture, place in pages(order):
        put(painter, picture, place, 3.0)
    put(painter, QImage(str(PICTURES / "window_large_light.png")), WINDOW, 8.0)
    paint_discs(painter, theme, discs(order))
    painter.end()
    out = PICTURES / "hero.png"
    made.save(str(out))
    Image.open(out).convert("RGB").save(out, optimize=True)
    theme.leave()
    return 0


if __name__ == "__main__":
    sys.exit(main())
