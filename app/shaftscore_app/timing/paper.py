"""The timing diagram on paper: the same layers as on the screen, painted as lines and letters.

A *sheet* holds the whole turn of some lanes, with a title above and a legend below; lanes that have no
room come on further sheets. Lengths are px of the design at 100 %; whoever paints scales them. Paper is
always light, and nothing is selected, held or pointed at on it.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from PySide6.QtCore import QByteArray, QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QFont, QFontMetricsF, QPainter, QPainterPath, QPen
from PySide6.QtSvg import QSvgRenderer

from shaftscore.base import wording
from shaftscore.judge.findings import Severity
from shaftscore.judge.report import Report
from shaftscore.make.drawing.timing.axis import Axis
from shaftscore.make.drawing.timing.frame import OVERVIEW, RULERS, WIDE, Frame
from shaftscore.make.drawing.timing.rows import Rows, Shown, lay_out
from shaftscore.model import Project
from shaftscore_app.document.selection import Selection
from shaftscore_app.runtime.kept import KeptThings
from shaftscore_app.theme import Theme, icon_text, parse_color, tokens
from shaftscore_app.timing.canvas import Canvas, clipped
from shaftscore_app.timing.layers.blocks import paint_body, paint_edge
from shaftscore_app.timing.layers.columns import paint_column, paint_columns
from shaftscore_app.timing.layers.headers import paint_corner
from shaftscore_app.timing.layers.look import HALO_PX, SMALL_FONT, DiagramStyle, Font
from shaftscore_app.timing.layers.rulers import paint_rail, paint_rulers
from shaftscore_app.timing.scene import DiagramScene

SHEET_WIDTH = 1120.0
"""Width of a sheet, px of the design: over the least at which headers name the levels."""

TITLE, LEGEND, FOOT = 46.0, 50.0, 26.0
"""Heights of the title, the legend and the caution below it."""

HEAD = Font(15.0, 600)

ORDINALS = {2: "nd", 3: "rd"}

CAUTION = (
    "Turning parts pinch, springs store energy, stalled motors grow hot. Cut the power before you reach in; "
    "follow local codes and licensed practice."
)


class PaperLook(DiagramStyle):
    """Colours of the light theme; text and icons are painted, not copied from pictures."""

    def __init__(self, theme: Theme) -> None:
        """Take the fonts of `theme`, at 100 %."""
        super().__init__(theme)
        self._u = 1.0

    def color(self, token: str, alpha: float = 1.0) -> QColor:
        """Return a token's colour on paper."""
        color = parse_color(tokens()["light"][token])
        if alpha < 1.0:
            color.setAlphaF(color.alphaF() * alpha)
        return color

    def _font(self, font: Font) -> tuple[QFont, QFontMetricsF]:
        if font not in self._fonts:
            made = self.theme.font(font.size, font.weight)
            made.setPixelSize(round(font.size))
            self._fonts[font] = (made, QFontMetricsF(made))
        return self._fonts[font]

    def text(
        self,
        painter: QPainter,
        x: float,
        baseline: float,
        text: str,
        color: QColor,
        *,
        font: Font = SMALL_FONT,
        halo: QColor | None = None,
    ) -> None:
        """Write a text with its left end at x."""
        if not text:
            return
        qfont, _ = self._font(font)
        place = QPointF(x, baseline)
        if halo is not None:
            path = QPainterPath()
            path.addText(place, qfont, text)
            pen = QPen(halo, HALO_PX)
            pen.setJoinStyle(Qt.PenJoinStyle.RoundJoin)
            painter.strokePath(path, pen)
        painter.setFont(qfont)
        painter.setPen(color)
        painter.drawText(place, text)

    def place(
        self,
        painter: QPainter,
        kept: KeptThings,
        *,
        name: tuple[str, str],
        objects: tuple[object, ...],
        key: object,
        area: QRectF,
        paint: Callable[[QPainter], None],
    ) -> None:
        """Paint into the area."""
        del kept, name, objects, key
        painter.save()
        painter.translate(area.topLeft())
        painter.setClipRect(QRectF(0.0, 0.0, area.width(), area.height()), Qt.ClipOperation.IntersectClip)
        paint(painter)
        painter.restore()

    def icon(
        self, painter: QPainter, x: float, y: float, name: str, token: str, *, size: float = 16.0
    ) -> None:
        """Draw an icon with its middle at a place."""
        drawing = QSvgRenderer(QByteArray(icon_text(name, token, "light").encode()))
        drawing.render(painter, QRectF(x - size / 2, y - size / 2, size, size))


class PaperCanvas(Canvas):
    """Paints what paper shows of a scene: no cursor, nothing held, no buttons, no read-outs."""

    def paint(self, painter: QPainter, scene: DiagramScene) -> None:
        """Paint a scene at the origin."""
        look, frame = self._look, scene.frame
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.fillRect(QRectF(0.0, 0.0, frame.width, frame.strips_bottom), look.color("panel"))
        overs = self._overs(scene, [], [], None)
        strips = QRectF(frame.axis.left, frame.lanes_top, frame.axis.width, frame.seen_height)
        with clipped(painter, QRectF(0.0, frame.lanes_top, frame.width, frame.seen_height)):
            restless = self._paint_rows(painter, scene, overs)
        paint_rulers(painter, look, scene, [])
        with clipped(painter, strips):
            paint_columns(painter, look, scene)
        with clipped(painter, QRectF(frame.axis.left, 0.0, frame.axis.width, frame.lanes_bottom)):
            paint_rail(painter, look, scene)
        with clipped(painter, strips):
            self._paint_labels(painter, scene, restless, overs)
        paint_corner(painter, look, scene, buttons=False)
        self._paint_borders(painter, scene)

    def _paint_readout(self, painter: QPainter, scene: DiagramScene, lane_id: str) -> None:
        """Leave the read-outs out: there is no cursor."""


@dataclass(frozen=True)
class PaperSheet:
    """One sheet: its scene, its number of how many, and its size in px of the design."""

    scene: DiagramScene
    number: int
    count: int
    width: float
    height: float


def sheets(project: Project, report: Report, height: float | None = None) -> list[PaperSheet]:
    """Lay the whole turn out on sheets of a height; None: on one sheet as high as it must be."""
    rows = lay_out(project, Shown({}, frozenset(), frozenset()))
    rulers = round(sum(RULERS))
    needed = TITLE + rulers + rows.height + LEGEND + FOOT
    room = (needed if height is None else height) - TITLE - rulers - LEGEND - FOOT
    parts = _parts(rows, max(room, 120.0))
    made = []
    for number, (first, last) in enumerate(parts, start=1):
        headers = WIDE[0]
        axis = Axis.whole(headers, SHEET_WIDTH - headers)
        seen = rulers + (last - first)
        frame = Frame(SHEET_WIDTH, seen + round(OVERVIEW), axis, rows, first, 1.0)
        scene = DiagramScene(frame, project, report, Selection(), 0.0)
        total = TITLE + seen + LEGEND + FOOT if height is None else height
        made.append(PaperSheet(scene, number, len(parts), SHEET_WIDTH, total))
    return made


def _parts(rows: Rows, room: float) -> list[tuple[float, float]]:
    """Cut the rows into stretches that have room, between two rows; at least one, at least one row each."""
    parts: list[tuple[float, float]] = []
    top = 0.0
    bottom = 0.0
    for row in rows.rows:
        if row.bottom - top > room and bottom > top:
            parts.append((top, bottom))
            top = bottom
        bottom = row.bottom
    return [*parts, (top, bottom)]


def paint_sheet(painter: QPainter, look: PaperLook, sheet: PaperSheet) -> None:
    """Paint a sheet at the origin."""
    painter.fillRect(QRectF(0.0, 0.0, sheet.width, sheet.height), QColor("white"))
    _paint_title(painter, look, sheet)
    painter.save()
    painter.translate(0.0, TITLE)
    PaperCanvas(look).paint(painter, sheet.scene)
    painter.restore()
    bottom = TITLE + sheet.scene.frame.lanes_bottom
    _paint_legend(painter, look, sheet.scene, bottom)
    look.text(painter, 0.0, bottom + LEGEND + 16.0, CAUTION, look.color("muted"))


def _paint_title(painter: QPainter, look: PaperLook, sheet: PaperSheet) -> None:
    project = sheet.scene.project
    name = look.shortened(project.name, HEAD, sheet.width - 100.0)
    look.text(painter, 0.0, 17.0, name, look.color("text"), font=HEAD)
    shaft = project.shaft
    said = (
        f"One turn of the master shaft: {wording.rpm(shaft.speed_rpm)}, "
        f"{wording.seconds(60.0 / shaft.speed_rpm)} a turn, {shaft.turn} seen from the top. "
        "Angles run in the direction in which the machine runs."
    )
    look.text(painter, 0.0, 36.0, said, look.color("muted"))
    if sheet.count > 1:
        page = f"{sheet.number} of {sheet.count}"
        look.text_right(painter, sheet.width, 17.0, page, look.color("muted"))


def _paint_legend(painter: QPainter, look: PaperLook, scene: DiagramScene, top: float) -> None:
    """Explain what the shapes mean, in two lines."""
    _paint_line(painter, look, top + 18.0, _shapes(look, scene))
    _paint_line(painter, look, top + 38.0, _findings(look))


Item = tuple[Callable[[QPainter, float, float], None], float, str]
"""Draws a sign at (left, middle), its width, and what it means."""


def _paint_line(painter: QPainter, look: PaperLook, middle: float, items: Sequence[Item]) -> None:
    x = 0.0
    for draw, width, text in items:
        draw(painter, x, middle)
        look.text(painter, x + width + 6.0, look.baseline(middle), text, look.color("text"))
        x += width + 6.0 + look.width(text) + 20.0


def _shapes(look: PaperLook, scene: DiagramScene) -> list[Item]:
    """Return the levels that the machine has, lowest first, the curve, the stop, the guard."""
    most = max((len(scene.project.levels_of(lane)) for lane in scene.project.lanes), default=0)
    items: list[Item] = []
    for rank in range(min(most, 6)):
        items.append((_swatch(look, rank), 26.0, "lowest level" if rank == 0 else _ordinal(rank + 1)))
    return [*items, (_curve(look), 26.0, "output"), (_guard(look), 26.0, "guarded level")]


def _ordinal(number: int) -> str:
    return f"{number}{ORDINALS.get(number, 'th')} level"


def _swatch(look: PaperLook, rank: int) -> Callable[[QPainter, float, float], None]:
    def draw(painter: QPainter, x: float, y: float) -> None:
        style = look.level(rank)
        rect = QRectF(x, y - 7.0, 26.0, 14.0)
        paint_body(painter, look, rect, style)
        paint_edge(painter, rect, style.edge, 1.25, 1.0)

    return draw


def _curve(look: PaperLook) -> Callable[[QPainter, float, float], None]:
    def draw(painter: QPainter, x: float, y: float) -> None:
        path = QPainterPath(QPointF(x, y + 5.0))
        path.cubicTo(QPointF(x + 13.0, y + 5.0), QPointF(x + 13.0, y - 5.0), QPointF(x + 26.0, y - 5.0))
        painter.strokePath(path, look.pen("curve", 1.75))

    return draw


def _guard(look: PaperLook) -> Callable[[QPainter, float, float], None]:
    def draw(painter: QPainter, x: float, y: float) -> None:
        painter.setPen(look.dashes("edge", 1.0, 6.0, 3.0))
        painter.drawLine(QPointF(x, y), QPointF(x + 26.0, y))

    return draw


def _findings(look: PaperLook) -> list[Item]:
    """Return the signs and columns of findings."""

    def of(severity: Severity) -> Callable[[QPainter, float, float], None]:
        def draw(painter: QPainter, x: float, y: float) -> None:
            paint_column(painter, look, QRectF(x, y - 8.0, 14.0, 16.0), severity)
            look.sign(painter, x + 24.0, y, severity.value)

        return draw

    said = {Severity.ERROR: "error", Severity.WARNING: "warning", Severity.NOTE: "note"}
    items: list[Item] = [
        (of(severity), 34.0, f"{word} on these lanes, here") for severity, word in said.items()
    ]
    return items
