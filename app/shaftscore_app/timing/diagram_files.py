"""The timing diagram as a file (SVG, PDF, PNG) or on a printer: the sheets of `shaftscore_app.timing.paper`.

PDF and print hold as many pages of the chosen paper as the lanes need, lying on its side. SVG and PNG hold
one picture with all lanes.
"""

from __future__ import annotations

from collections.abc import Mapping

from PySide6.QtCore import QBuffer, QIODevice, QMarginsF, QRect, QSize, Qt
from PySide6.QtGui import (
    QImage,
    QImageWriter,
    QPagedPaintDevice,
    QPageLayout,
    QPageSize,
    QPainter,
    QPdfWriter,
)
from PySide6.QtSvg import QSvgGenerator

from shaftscore.judge.report import Report
from shaftscore_app.theme import Theme
from shaftscore_app.timing.paper import SHEET_WIDTH, PaperLook, PaperSheet, paint_sheet, sheets

PAPERS: Mapping[str, QPageSize.PageSizeId] = {
    "A4": QPageSize.PageSizeId.A4,
    "Letter": QPageSize.PageSizeId.Letter,
}
"""Papers by name."""

MARGIN_MM = 12.0
"""Margin on all sides; printers leave 5 mm or so white."""

PNG_SCALE = 2.0
"""Pixels of a PNG for one px of the design."""

MOST_PIXELS = 30_000
"""A PNG is not made higher than this; its scale goes down instead."""


def page_layout(paper: str) -> QPageLayout:
    """Return a paper lying on its side, with the margins."""
    margins = QMarginsF(MARGIN_MM, MARGIN_MM, MARGIN_MM, MARGIN_MM)
    landscape = QPageLayout.Orientation.Landscape
    return QPageLayout(QPageSize(PAPERS[paper]), landscape, margins, QPageLayout.Unit.Millimeter)


def paper_of(layout: QPageLayout) -> str | None:
    """Return the name of a layout's paper; None where it is another than ours."""
    return next((name for name, size in PAPERS.items() if size == layout.pageSize().id()), None)


def print_on(device: QPagedPaintDevice, theme: Theme, report: Report, *, resolution: float) -> int:
    """Paint the diagram on the pages of a printer or a PDF; returns how many.

    resolution: dots per inch of the device. Its page layout must be set before.
    """
    layout = device.pageLayout()
    area = layout.paintRect(QPageLayout.Unit.Inch)
    scale = area.width() * resolution / SHEET_WIDTH
    pages = sheets(report.project, report, area.height() * resolution / scale)
    look = PaperLook(theme)
    with QPainter(device) as painter:
        for sheet in pages:
            if sheet.number > 1:
                device.newPage()
            painter.save()
            painter.scale(scale, scale)
            paint_sheet(painter, look, sheet)
            painter.restore()
    return len(pages)


def pdf_bytes(theme: Theme, report: Report, paper: str) -> bytes:
    """Return the diagram as a PDF on a paper."""
    buffer = _opened()
    writer = QPdfWriter(buffer)
    writer.setResolution(1200)
    writer.setTitle(f"{report.project.name}: timing diagram")
    writer.setCreator("Shaftscore")
    writer.setPageLayout(page_layout(paper))
    print_on(writer, theme, report, resolution=1200)
    return bytes(buffer.data().data())


def svg_bytes(theme: Theme, report: Report) -> bytes:
    """Return the diagram as one SVG."""
    (sheet,) = sheets(report.project, report)
    buffer = _opened()
    drawing = QSvgGenerator(QSvgGenerator.SvgVersion.Svg11)  # the older one does not clip
    drawing.setOutputDevice(buffer)
    drawing.setSize(_size(sheet, 1.0))
    drawing.setViewBox(QRect(0, 0, *_size(sheet, 1.0).toTuple()))
    drawing.setResolution(96)
    drawing.setTitle(f"{report.project.name}: timing diagram")
    with QPainter(drawing) as painter:
        paint_sheet(painter, PaperLook(theme), sheet)
    return bytes(buffer.data().data())


def png_bytes(theme: Theme, report: Report) -> bytes:
    """Return the diagram as one PNG."""
    (sheet,) = sheets(report.project, report)
    scale = min(PNG_SCALE, MOST_PIXELS / sheet.height)
    image = QImage(_size(sheet, scale), QImage.Format.Format_RGB32)
    image.fill(Qt.GlobalColor.white)
    with QPainter(image) as painter:
        painter.scale(scale, scale)
        paint_sheet(painter, PaperLook(theme), sheet)
    buffer = _opened()
    QImageWriter(buffer, b"png").write(image)
    return bytes(buffer.data().data())


def diagram_bytes(kind: str, theme: Theme, report: Report, paper: str) -> bytes:
    """Return the diagram as a file of a kind: "svg", "pdf" or "png"."""
    if kind == "pdf":
        return pdf_bytes(theme, report, paper)
    return svg_bytes(theme, report) if kind == "svg" else png_bytes(theme, report)


def _opened() -> QBuffer:
    buffer = QBuffer()
    buffer.open(QIODevice.OpenModeFlag.WriteOnly)
    return buffer


def _size(sheet: PaperSheet, scale: float) -> QSize:
    return QSize(round(sheet.width * scale), round(sheet.height * scale))
