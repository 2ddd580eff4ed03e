"""The drawing of the network as a whole: banks, lines, boxes, ports, and what is being joined.

Only what meets the area that is asked for is painted, so that a thousand gates cost what is seen of them.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QPainter, QPainterPath, QPen

from shaftscore.base import wording
from shaftscore.judge.findings import Severity
from shaftscore.judge.flow.drawn import ElementKey, FlowNetwork, LineState
from shaftscore_app.timing.layers.look import DiagramStyle, Font
from shaftscore_app.views.flow_network.boxes import SMALL, BoxPainter, paint_sign, rect_of
from shaftscore_app.views.flow_network.moment import RunMoment
from shaftscore_app.views.flow_network.places import Box, NetworkPlaces
from shaftscore_app.views.flow_network.ports import Port
from shaftscore_app.views.flow_network.routes import LineRoute, LineRoutes, Spot

HEADING = Font(12, 600)
FADED = 0.4
"""Opacity of what a line that is being drawn cannot end at."""

WHOLE = 0.05
"""Items a minute nearer than this to a whole number are written as one."""


@dataclass(frozen=True)
class JoinDrag:
    """A line that is being drawn: its port, where its loose end is, what it may end at, and what it is at."""

    port: Port
    start: Spot
    at: Spot
    fitting: frozenset[ElementKey]
    target: ElementKey | None = None


@dataclass(frozen=True)
class NetworkScene:
    """What is painted: the network in its places, and what the person does with it.

    ports: those that are shown. join, band: the line or rectangle that is being drawn. ring: what the keys
    are at, while they are used. adders: the places of the + beside the headings; hot: the one pointed at.
    """

    network: FlowNetwork
    places: NetworkPlaces
    routes: LineRoutes
    selected: frozenset[ElementKey] = frozenset()
    open_banks: frozenset[str] = frozenset()
    ports: Sequence[Port] = ()
    moment: RunMoment | None = None
    join: JoinDrag | None = None
    band: Box | None = None
    ring: Box | None = None
    hot: Box | None = None
    adders: Sequence[Box] = field(default_factory=tuple)


class NetworkPainting:
    """Paints a scene with a style."""

    def __init__(self, painter: QPainter, look: DiagramStyle, scene: NetworkScene) -> None:
        """Paint with a painter whose origin is that of the network."""
        self._painter, self._look, self._scene = painter, look, scene

    def draw(self, area: Box) -> None:
        """Paint what meets an area."""
        painter, scene = self._painter, self._scene
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.fillRect(rect_of(area), self._look.color("strip"))
        self._draw_banks(area)
        self._draw_lines(area)
        self._draw_boxes(area)
        self._draw_ports(area)
        self._draw_join()
        self._draw_band()
        if scene.ring is not None:
            self._outline(scene.ring, "accent", 2.0, grow=3.0)

    def draw_heads(self, top: float) -> None:
        """Paint the headings of the columns on a strip whose upper edge is at `top`."""
        look, places = self._look, self._scene.places
        height = places.heads[0].height if places.heads else 0.0
        self._painter.fillRect(QRectF(0.0, top, places.width, height), look.color("strip"))
        for head, column, adder in zip(places.heads, places.columns, self._scene.adders, strict=True):
            baseline = look.baseline(top + head.height / 2, HEADING)
            look.text(self._painter, head.left, baseline, column.title, look.color("text"), font=HEADING)
            if self._scene.hot == adder:
                self._painter.setPen(Qt.PenStyle.NoPen)
                self._painter.setBrush(look.color("hover"))
                self._painter.drawRoundedRect(rect_of(adder).translated(0.0, top), 4 * look.u, 4 * look.u)
            if column.depth == 0:
                self._plus(adder, top)

    def _plus(self, adder: Box, top: float) -> None:
        arm = 5.0 * self._look.u
        x, y = round(adder.left + adder.width / 2) + 0.5, round(adder.middle + top) + 0.5
        self._painter.setPen(self._look.pen("text", 1.5))
        self._painter.drawLine(QPointF(x - arm, y), QPointF(x + arm, y))
        self._painter.drawLine(QPointF(x, y - arm), QPointF(x, y + arm))

    # Parts

    def _draw_banks(self, area: Box) -> None:
        look, u = self._look, self._look.u
        banks = {bank.key: bank for bank in self._scene.network.banks}
        for key, place in self._scene.places.banks.items():
            if not place.frame.meets(area):
                continue
            self._painter.setPen(look.pen("line"))
            self._painter.setBrush(look.color("panel"))
            self._painter.drawRoundedRect(rect_of(place.frame).adjusted(0.5, 0.5, -0.5, -0.5), 5 * u, 5 * u)
            middle, x = place.head.middle, place.head.left + 13.0 * u
            name = "chevron-down" if key in self._scene.open_banks else "chevron-right"
            look.icon(self._painter, x, middle, name, "text", size=14.0)
            bank, x = banks[key], x + 11.0 * u
            x = self._said(x, middle, bank.title, "text", HEADING) + 8.0 * u
            x = self._said(x, middle, bank.text, "muted", SMALL) + 12.0 * u
            if bank.worst is not None:
                self._sign(bank.worst, x, middle)

    def _said(self, x: float, middle: float, text: str, token: str, font: Font) -> float:
        look = self._look
        look.text(self._painter, x, look.baseline(middle, font), text, look.color(token), font=font)
        return x + look.width(text, font)

    def _sign(self, severity: Severity, x: float, middle: float) -> None:
        paint_sign(self._painter, self._look, (x, middle), severity, muted=self._scene.network.is_stale)

    def _draw_lines(self, area: Box) -> None:
        order = (LineState.NOTHING, LineState.FLOWS, LineState.FAILS)
        for route in sorted(self._scene.routes.within(area), key=lambda route: order.index(route.state)):
            self._draw_route(route)

    def _draw_route(self, route: LineRoute) -> None:
        self._painter.setBrush(Qt.BrushStyle.NoBrush)
        self._painter.setPen(self._line_pen(route))
        self._painter.setOpacity(FADED if self._scene.join is not None else 1.0)
        self._painter.drawPath(path_of(route.start, route.strokes))
        self._painter.setOpacity(1.0)
        if route.labelled:
            self._draw_rate(route)

    def _line_pen(self, route: LineRoute) -> QPen:
        stale = self._scene.network.is_stale
        if route.state is LineState.NOTHING:
            return self._look.dashes("edge", 1.0, 4.0, 4.0)
        token = "muted" if stale else "error" if route.state is LineState.FAILS else "curve"
        return self._look.pen(token, max(1.0, route.width))

    def _draw_rate(self, route: LineRoute) -> None:
        """Write the items a minute above the line to a channel, where there is room."""
        look, text = self._look, _per_minute(route.per_min)
        (x, y), (end, _) = route.start, route.end
        room = abs(end - x) - 4.0 * look.u
        if look.width(text, SMALL) <= room:
            baseline = y - (route.width / 2 + 4.0) * look.u
            token = "muted" if self._scene.network.is_stale else "text"
            look.text_right(
                self._painter,
                end - 3.0 * look.u,
                baseline,
                text,
                look.color(token),
                font=SMALL,
                halo=look.color("strip"),
            )

    def _draw_boxes(self, area: Box) -> None:
        scene = self._scene
        boxes = BoxPainter(self._painter, self._look, scene.network.is_stale, scene.moment)
        for key in scene.places.within(area):
            self._painter.setOpacity(1.0 if self._is_open_to(key) else FADED)
            element, box = scene.places.shown.by_key[key], scene.places.boxes[key]
            boxes.paint(element, box, selected=key in scene.selected)
            self._painter.setOpacity(1.0)
            if scene.join is not None and key in scene.join.fitting:
                strong = key == scene.join.target
                self._outline(box, "accent", 3.0 if strong else 2.0, grow=2.5)

    def _is_open_to(self, key: ElementKey) -> bool:
        join = self._scene.join
        return join is None or key in join.fitting or key == join.port.key

    def _draw_ports(self, area: Box) -> None:
        look = self._look
        self._painter.setPen(look.pen("accent", 1.5))
        self._painter.setBrush(look.color("field"))
        radius = 4.0 * look.u
        for port in self._scene.ports:
            if area.holds(*port.spot):
                self._painter.drawEllipse(QPointF(*port.spot), radius, radius)

    def _draw_join(self) -> None:
        join = self._scene.join
        if join is None:
            return
        self._painter.setPen(self._look.pen("accent", 2.0))
        self._painter.setBrush(Qt.BrushStyle.NoBrush)
        (x, y), (to_x, to_y) = join.start, join.at
        half = (to_x - x) / 2
        stroke = ((x + half, y), (to_x - half, to_y), (to_x, to_y))
        self._painter.drawPath(path_of((x, y), (stroke,)))
        self._painter.setBrush(self._look.color("accent"))
        self._painter.drawEllipse(QPointF(to_x, to_y), 3.5 * self._look.u, 3.5 * self._look.u)

    def _draw_band(self) -> None:
        if self._scene.band is not None:
            self._painter.setPen(self._look.pen("accent"))
            self._painter.setBrush(self._look.color("accent", 0.13))
            self._painter.drawRect(rect_of(self._scene.band))

    def _outline(self, box: Box, token: str, width: float, *, grow: float) -> None:
        by, radius = grow * self._look.u, (4.0 + max(0.0, grow)) * self._look.u
        self._painter.setPen(self._look.pen(token, width))
        self._painter.setBrush(Qt.BrushStyle.NoBrush)
        self._painter.drawRoundedRect(rect_of(box).adjusted(-by, -by, by, by), radius, radius)


def path_of(start: Spot, strokes: Sequence[Sequence[Spot]]) -> QPainterPath:
    """Return a path of Qt: straight lines and cubic curves."""
    path = QPainterPath(QPointF(*start))
    for stroke in strokes:
        points = [QPointF(*spot) for spot in stroke]
        draw: Callable[..., None] = path.lineTo if len(points) == 1 else path.cubicTo
        draw(*points)
    return path


def _per_minute(rate: float) -> str:
    """Return items a minute as they stand on a line: whole ones without decimals."""
    return wording.per_minute(rate, 0 if abs(rate - round(rate)) < WHOLE else 1)
