"""Makes the pictures of the guide's page on the build manual: pages of the tea blender's, side by side.

Needs the packages of the tests: `.venv/bin/python docs/make_manual_pictures.py`.
"""

from __future__ import annotations

import sys
from collections.abc import Sequence
from pathlib import Path

import pypdfium2
from PIL import Image

from shaftscore.base.samples import sample_folder
from shaftscore.make.drawing.paper_sizes import A4
from shaftscore.make.exporting.alone import manual_alone
from shaftscore.model.loader import load_project

PICTURES = Path(__file__).resolve().parent / "guide" / "pictures"
SAMPLE = "tea_blender.shaft"

WIDE, COLOURS, EDGE = 520, 64, 1
"""Width of a page, px; colours of a picture; its edge, px."""

SHOWN = {
    "manual_cover.png": ("Cover", "Assembly of the shaft"),
    "manual_timing.png": ("Timing diagram", "Test cards for the hand crank"),
}
"""The files, each with the titles of its pages."""


def page_of(document: pypdfium2.PdfDocument, title: str) -> Image.Image:
    """Return the page on which a section starts. Raises ValueError if there is none."""
    for entry in document.get_toc():
        if entry.get_title() == title:
            page = document[entry.get_dest().get_index()]
            return page.render(scale=WIDE / page.get_width()).to_pil().convert("RGB")
    raise ValueError(f"the manual has no section {title}")


def beside(pages: Sequence[Image.Image]) -> Image.Image:
    """Return pages side by side, each with a thin edge."""
    wide = sum(page.width + 2 * EDGE for page in pages) + 12 * (len(pages) - 1)
    made = Image.new("RGB", (wide, pages[0].height + 2 * EDGE), "#ffffff")
    left = 0
    for page in pages:
        made.paste("#bbbbbb", (left, 0, left + page.width + 2 * EDGE, page.height + 2 * EDGE))
        made.paste(page, (left + EDGE, EDGE))
        left += page.width + 2 * EDGE + 12
    return made


def main() -> int:
    """Make all pictures."""
    project = load_project(Path(str(sample_folder() / SAMPLE)))
    document = pypdfium2.PdfDocument(manual_alone(project, A4))
    for name, titles in SHOWN.items():
        picture = beside([page_of(document, title) for title in titles])
        picture.quantize(COLOURS).save(PICTURES / name, optimize=True)
    return 0


if __name__ == "__main__":
    sys.exit(main())
