"""The timing diagram as a file (SVG, PDF, PNG) or on a printer: the sheets that the library draws.

PDF and print hold as many pages of the chosen paper as the lanes need, lying on its side. SVG and PNG hold
one picture with all lanes. Paper is always light.
"""

from __future__ import annotations

from collections.abc import Mapping

from PySide6.QtCore import QBuffer, QIODevice, QMarginsF, QPointF, QSize, Qt
from PySide6.QtGui import QImage, QImageWriter, QPagedPaintDevice, QPageLayout, QPageSize, QPainter

from shaftscore.judge.report import Report
from shaftscore.make.drawing.on_pdf import pdf_pages
from shaftscore.make.drawing.on_svg import svg_of
from shaftscore.make.drawing.timing.page import TimingPage
from shaftscore.make.drawing.timing.sheet import timing_sheets
from shaftscore_app.theme import Theme
from shaftscore_app.theme.scenes import PaperColours, ScenePainting

PAPERS: Mapping[str, QPageSize.PageSizeId] = {
    "A4": QPageSize.PageSizeId.A4,
    "Letter": QPageSize.PageSizeId.Letter,
}
"""Papers by name."""

SIZES_MM: Mapping[str, tuple[float, float]] = {"A4": (297.0, 210.0), "Letter": (279.4, 215.9)}
"""Papers lying on their side: ISO 216, and ANSI/ASME Y14.1 size A."""

MARGIN_MM = 12.0
"""Margin on all sides; printers leave 5 mm or so white."""

PICTURE_MM = 280.0
"""Width of the one picture of an SVG or PNG."""

EDGE_MM = 5.0
"""White edge of a PNG."""

PNG_PER_MM = 8.0
"""Pixels of a PNG for a mm."""

MOST_PIXELS = 30_000
"""A PNG is not made higher than this; it is coarser instead."""


def page_layout(paper: str) -> QPageLayout:
    """Return a paper lying on its side, with the margins."""
    margins = QMarginsF(MARGIN_MM, MARGIN_MM, MARGIN_MM, MARGIN_MM)
    landscape = QPageLayout.Orientation.Landscape
    return QPageLayout(QPageSize(PAPERS[paper]), landscape, margins, QPageLayout.Unit.Millimeter)


def paper_of(layout: QPageLayout) -> str | None:
    """Return the name of a layout's paper; None where it is another than ours."""
    return next((name for name, size in PAPERS.items() if size == layout.pageSize().id()), None)


def print_on(device: QPagedPaintDevice, theme: Theme, report: Report, *, resolution: float) -> int:
    """Paint the diagram on the pages of a printer; returns how many.

    resolution: dots per inch of the device. Its page layout must be set before.
    """
    area = device.pageLayout().paintRect(QPageLayout.Unit.Millimeter)
    pages = timing_sheets(report, area.width(), area.height())
    with QPainter(device) as painter:
        for page in pages:
            if page.number > 1:
                device.newPage()
            _paint(painter, theme, page, resolution / 25.4)
    return len(pages)


def pdf_bytes(report: Report, paper: str) -> bytes:
    """Return the diagram as a PDF on a paper."""
    wide, high = SIZES_MM[paper]
    pages = timing_sheets(report, wide - 2 * MARGIN_MM, high - 2 * MARGIN_MM)
    scenes = [page.scene.placed(1.0, complex(MARGIN_MM, high - MARGIN_MM - page.high_mm)) for page in pages]
    return pdf_pages(scenes, _title(report), (wide, high))


def svg_bytes(report: Report) -> bytes:
    """Return the diagram as one SVG."""
    (page,) = timing_sheets(report, PICTURE_MM)
    return svg_of(page.scene, _title(report))


def png_bytes(theme: Theme, report: Report) -> bytes:
    """Return the diagram as one PNG."""
    (page,) = timing_sheets(report, PICTURE_MM)
    wide, high = page.wide_mm + 2 * EDGE_MM, page.high_mm + 2 * EDGE_MM
    per_mm = min(PNG_PER_MM, MOST_PIXELS / high)
    size = QSize(round(wide * per_mm), round(high * per_mm))
    image = QImage(size, QImage.Format.Format_RGB32)
    image.fill(Qt.GlobalColor.white)
    with QPainter(image) as painter:
        painter.translate(EDGE_MM * per_mm, EDGE_MM * per_mm)
        _paint(painter, theme, page, per_mm)
    buffer = QBuffer()
    buffer.open(QIODevice.OpenModeFlag.WriteOnly)
    QImageWriter(buffer, b"png").write(image)
    return bytes(buffer.data().data())


def diagram_bytes(kind: str, theme: Theme, report: Report, paper: str) -> bytes:
    """Return the diagram as a file of a kind: "svg", "pdf" or "png"."""
    if kind == "pdf":
        return pdf_bytes(report, paper)
    return svg_bytes(report) if kind == "svg" else png_bytes(theme, report)


def _title(report: Report) -> str:
    return f"{report.project.name}: timing diagram"


def _paint(painter: QPainter, theme: Theme, page: TimingPage, per_mm: float) -> None:
    """Paint a page with its upper left corner at the origin."""
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    origin = QPointF(0.0, page.high_mm * per_mm)
    ScenePainting(painter, PaperColours(theme, per_mm), per_mm, origin).paint(page.scene)
