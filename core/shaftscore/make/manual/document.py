"""The manual as a document: pages with head and foot, their numbers, and the bytes of the file.

The PDF has no clock and no random name in it: the same content gives the same bytes.
"""

from __future__ import annotations

import io
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from functools import partial
from typing import Any

from reportlab import rl_config
from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import BaseDocTemplate, Frame, PageTemplate

from shaftscore.make.drawing.fonts import face, register, shortened, visual, width_mm
from shaftscore.make.drawing.paper_sizes import PaperSize
from shaftscore.make.manual.flow import MM
from shaftscore.make.manual.paper import FOOT_MM, HEAD_MM, INK, MARGIN_MM, MUTED, SMALL_PT, room_mm

KIND = "Build manual"
"""What stands beside the name of the project."""


@dataclass(frozen=True)
class Edges:
    """What stands on every page: the name of the project, right of it which state of it, and the foot.

    kind: what the document is, beside the name.
    """

    name: str
    state: str
    foot: str
    kind: str = KIND


class NumberedCanvas(Canvas):  # type: ignore[misc]
    """A canvas that writes head and foot when the number of pages is known."""

    def __init__(self, *given: Any, edges: Edges, size: PaperSize, **named: Any) -> None:
        """Take what the canvas of the library takes, and what stands on every page."""
        super().__init__(*given, **named)
        self._edges, self._paper_size = edges, size
        self._states: list[dict[str, Any]] = []
        self._titles: list[str] = []

    def mark_section(self, title: str) -> None:
        """Let the outline of the document lead to this page by the title of a section."""
        self._titles.append(title)

    def showPage(self) -> None:
        """Keep the page until all are there."""
        self._states.append(dict(self.__dict__))
        self._titles = []
        self._startPage()

    def save(self) -> None:
        """Write head and foot of all pages, then the file."""
        states = self._states
        for number, state in enumerate(states, start=1):
            self.__dict__.update(state)
            self._write_edges(number, len(states))
            for title in self._titles:  # a page can be led to only while it is the one being written
                key = f"{number} {title}"
                self.bookmarkPage(key)
                self.addOutlineEntry(title, key, 0, closed=False)
            super().showPage()
        super().save()

    def _write_edges(self, number: int, count: int) -> None:
        """Write head and foot of a page."""
        edges, size = self._edges, self._paper_size
        left, right = MARGIN_MM, size.wide_mm - MARGIN_MM
        top = size.high_mm - MARGIN_MM
        room = right - left - width_mm(edges.state, SMALL_PT) - width_mm(edges.kind, SMALL_PT) - 10.0
        name = shortened(edges.name, SMALL_PT, room, True)
        self._line(left, top - 3.0, name, bold=True)
        self._line(left + width_mm(name, SMALL_PT, True) + 2.5, top - 3.0, edges.kind)
        self._line(right, top - 3.0, edges.state, align="right")
        self._rule(left, right, top - 5.5, 0.8, INK)
        page = f"{number} of {count}"
        self._rule(left, right, MARGIN_MM + 5.0, 0.3, MUTED)
        self._line(left, MARGIN_MM + 1.0, shortened(edges.foot, SMALL_PT, right - left - 25.0))
        self._line(right, MARGIN_MM + 1.0, page, bold=True, align="right")

    def _line(self, x_mm: float, y_mm: float, text: str, *, bold: bool = False, align: str = "left") -> None:
        self.setFont(face(bold), SMALL_PT)
        self.setFillColor(INK if bold else MUTED)
        draw = self.drawRightString if align == "right" else self.drawString
        draw(x_mm * MM, y_mm * MM, visual(text))

    def _rule(self, left: float, right: float, y_mm: float, width: float, colour: str) -> None:
        self.setStrokeColor(colour)
        self.setLineWidth(width)
        self.setDash([])
        self.line(left * MM, y_mm * MM, right * MM, y_mm * MM)


def document_bytes(story: Sequence[Any], size: PaperSize, title: str, edges: Edges) -> bytes:
    """Write a document; the same story gives the same bytes."""
    register()
    data = io.BytesIO()
    wide, high = room_mm(size)
    frame = Frame(
        MARGIN_MM * MM,
        (MARGIN_MM + FOOT_MM) * MM,
        wide * MM,
        high * MM,
        leftPadding=0,
        rightPadding=0,
        topPadding=0,
        bottomPadding=0,
    )
    document = BaseDocTemplate(
        data,
        pagesize=(size.wide_mm * MM, size.high_mm * MM),
        title=title,
        creator="Shaftscore",
        author="",
        invariant=1,
        pageCompression=1,
    )
    document.addPageTemplates([PageTemplate("page", [frame])])
    with _binary_streams():
        document.build(list(story), canvasmaker=partial(NumberedCanvas, edges=edges, size=size))
    return data.getvalue()


@contextmanager
def _binary_streams() -> Iterator[None]:
    """Let the library write streams as bytes: as letters they are larger by a quarter, and take long."""
    before = rl_config.useA85
    rl_config.useA85 = 0
    try:
        yield
    finally:
        rl_config.useA85 = before


assert HEAD_MM > 5.5, "the rule below the head lies within its height"
