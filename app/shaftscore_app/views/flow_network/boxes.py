"""How each element of the network is painted: its box with what is written in it."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

from PySide6.QtCore import QPointF, QRectF
from PySide6.QtGui import QColor, QPainter, QPen

from shaftscore.judge.findings import Severity
from shaftscore.judge.flow.drawn import (
    ChannelElement,
    DiverterElement,
    FlowElement,
    GateElement,
    MagazineElement,
    OutletElement,
    PileElement,
    SupplyElement,
)
from shaftscore_app.timing.layers.blocks import paint_body, paint_edge
from shaftscore_app.timing.layers.look import DiagramStyle, Font
from shaftscore_app.views.flow_network.moment import RunMoment
from shaftscore_app.views.flow_network.places import Box
from shaftscore_app.views.flow_network.sizes import (
    CELLS,
    LINE,
    NAME,
    PITCH,
    RULE,
    channel_lines,
    outlet_lines,
    words_of,
)

NAMES, SMALL, STRONG = Font(12, 600), Font(11), Font(11, 600)

RADIUS, PAD, SIGN, MARK = 4.0, 9.0, 13.0, 14.0
"""Radius of a box, room at its sides, size of a sign and of a level's mark, px of the design."""

LEAST_CELL, CELL_GAP = 4.0, 2.0
"""A magazine with more cells than fit at this width shows one bar, px of the design."""


def rect_of(box: Box) -> QRectF:
    """Return a box as a rectangle of Qt."""
    return QRectF(box.left, box.top, box.width, box.height)


def paint_sign(
    painter: QPainter, look: DiagramStyle, at: tuple[float, float], severity: Severity, *, muted: bool
) -> None:
    """Paint the sign of a severity with its middle at a place; muted: faint."""
    painter.save()
    painter.setOpacity(painter.opacity() * (0.45 if muted else 1.0))
    look.icon(painter, *at, f"severity-{severity.value}", severity.value, size=SIGN)
    painter.restore()


@dataclass
class BoxPainter:
    """Paints the elements of a network; `muted` while their figures are those of an earlier project."""

    painter: QPainter
    look: DiagramStyle
    muted: bool
    moment: RunMoment | None = None

    def paint(self, element: FlowElement, box: Box, *, selected: bool) -> None:
        """Paint an element in its box."""
        if isinstance(element, PileElement):
            self._pile(box)
        self._ground(element, box, selected=selected)
        _PAINTED[type(element)](self, element, box)

    # What they share

    def _u(self, size: float) -> float:
        return size * self.look.u

    def _found(self, token: str) -> str:
        """Return the token of a figure: muted while it is of an earlier project."""
        return "muted" if self.muted else token

    def _ground(self, element: FlowElement, box: Box, *, selected: bool) -> None:
        fails = bool(words_of(element)) and not self.muted
        quiet = isinstance(element, GateElement) and element.opens is False
        severity = element.mark.severity.value if element.mark is not None else ""
        token = "accent" if selected else severity if fails else "line" if quiet else "edge"
        fill = "accent-soft" if selected else "panel" if quiet else "raised"
        width = self._u(2.0 if selected else 1.5 if fails else 1.0)
        inset = width / 2
        self.painter.setPen(QPen(self.look.color(token), width))
        self.painter.setBrush(self.look.color(fill))
        radius = self._u(RADIUS)
        self.painter.drawRoundedRect(rect_of(box).adjusted(inset, inset, -inset, -inset), radius, radius)

    def _pile(self, box: Box) -> None:
        """Paint what lies behind the row of a pile."""
        self.painter.setPen(self.look.pen("edge"))
        self.painter.setBrush(self.look.color("raised"))
        for step in (self._u(6.0), self._u(3.0)):
            area = rect_of(box).translated(step, step).adjusted(0.5, 0.5, -0.5, -0.5)
            self.painter.drawRoundedRect(area, self._u(RADIUS), self._u(RADIUS))

    def _text(self, at: tuple[float, float], text: str, token: str, font: Font, *, room: float) -> float:
        """Write a text from a place on its middle line, cut to a room; returns where it ends."""
        (x, middle), shown = at, self.look.shortened(text, font, room)
        baseline = self.look.baseline(middle, font)
        self.look.text(self.painter, x, baseline, shown, self.look.color(token), font=font)
        return x + self.look.width(shown, font)

    def _right(self, right: float, middle: float, text: str, token: str, font: Font) -> float:
        """Write a text up to x; returns where it begins."""
        if not text:
            return right
        baseline = self.look.baseline(middle, font)
        self.look.text_right(self.painter, right, baseline, text, self.look.color(token), font=font)
        return right - self.look.width(text, font)

    def _sign(self, element: FlowElement, x: float, middle: float) -> float:
        """Paint the sign of what is found; returns where it ends."""
        if element.mark is None:
            return x
        middle_x = x + self._u(SIGN / 2 + 5.0)
        severity = element.mark.severity
        paint_sign(self.painter, self.look, (middle_x, middle), severity, muted=self.muted)
        return middle_x + self._u(SIGN / 2)

    def _sign_room(self, element: FlowElement) -> float:
        return self._u(SIGN + 8.0) if element.mark is not None else 0.0

    def _head(self, element: FlowElement, box: Box, remark: str = "") -> None:
        """Write the name of an element with its sign, and a remark at the right."""
        middle, pad = box.top + self._u(NAME / 2 + 1.0), self._u(PAD)
        begins = self._right(box.right - pad, middle, remark, self._found("muted"), SMALL)
        room = begins - box.left - pad - self._sign_room(element) - (self._u(6.0) if remark else 0.0)
        ends = self._text((box.left + pad, middle), element.name, "text", NAMES, room=room)
        self._sign(element, ends, middle)

    def _line(self, box: Box, number: float, text: str, token: str, *, remark: str = "") -> None:
        """Write a small line below the name; a remark in muted at its right, where there is room."""
        middle = box.top + self._u(NAME + LINE * (number + 0.5)) - self._u(1.0)
        pad = self._u(PAD)
        font = SMALL if token in ("text", "muted") else STRONG
        room = box.width - 2 * pad
        used = self.look.width(text, font) + self._u(8.0)
        if remark and used + self.look.width(remark, SMALL) <= room:
            self._right(box.right - pad, middle, remark, "muted", SMALL)
            room = room - self.look.width(remark, SMALL) - self._u(6.0)
        self._text((box.left + pad, middle), text, token, font, room=room)

    def _words(self, element: FlowElement, box: Box, number: float) -> None:
        """Write what is found about an element, where it is the cause."""
        for words in words_of(element):
            assert element.mark is not None
            self._line(box, number, words, self._words_token(element))

    def _words_token(self, element: FlowElement) -> str:
        """Return the token of what is found: warnings are never written in their colour."""
        severity = element.mark.severity.value if element.mark is not None else "note"
        return self._found("error" if severity == "error" else "text")

    def level(self, middle_x: float, middle_y: float, rank: int, height: float) -> None:
        """Paint the mark of a level: a body as high as the level is between the lowest and the highest."""
        side, look = self._u(MARK), self.look
        left, bottom = middle_x - side / 2, middle_y + side / 2
        high = side * (0.36 + 0.64 * height)
        body = QRectF(left, bottom - high, side, high)
        self.painter.setPen(look.pen("edge"))
        self.painter.drawLine(QPointF(left, bottom), QPointF(left + side, bottom))
        if rank < 0:  # a range of heights has no level's tint
            paint_edge(self.painter, body, look.color("edge"), 1.25 * look.u, look.u)
            return
        style = look.level(rank)
        paint_body(self.painter, look, body, style)
        paint_edge(self.painter, body, style.edge, 1.25 * look.u, look.u)

    # The kinds

    def _supply(self, element: SupplyElement, box: Box) -> None:
        self._head(element, box)
        self._line(box, 0, element.rate_text, self._found("error") if element.is_short else "muted")
        self._words(element, box, 1)

    def _magazine(self, element: MagazineElement, box: Box) -> None:
        self._head(element, box, element.demand_text)
        has_cells = box.height > self._u(NAME + LINE + CELLS)
        if has_cells:
            pad, top = self._u(PAD), box.top + self._u(NAME + 1.0)
            self._cells(element, QRectF(box.left + pad, top, box.width - 2 * pad, self._u(CELLS - 5.0)))
        row = CELLS / LINE if has_cells else 0.0
        found = words_of(element)
        text = found[0] if found else element.lowest_text
        token = self._words_token(element) if found else self._found("text")
        self._line(box, row, text, token, remark=element.start_text if has_cells else "")

    def _cells(self, element: MagazineElement, area: QRectF) -> None:
        """Paint a cell a place, filled to the lowest count of the run; the count now in accent below."""
        now = None if self.moment is None else self.moment.counts.get(element.id)
        fails = element.empty_turn is not None and bool(words_of(element))
        edge = self.look.color(self._found("error") if fails else "line")
        fill = self.look.color("l1", 0.5 if self.muted else 1.0)
        own = self.look.color("muted" if self.muted else "l1-edge")
        count, lowest = element.capacity, element.lowest_count or 0
        gap, least = self._u(CELL_GAP), self._u(LEAST_CELL)
        cell = (area.width() + gap) / count - gap
        if cell < least:
            self._bar(area, lowest / count, edge)
        for place in range(count if cell >= least else 0):
            body = QRectF(area.left() + place * (cell + gap), area.top(), cell, area.height())
            is_filled = place < lowest
            self.painter.setPen(QPen(own if is_filled else edge, self.look.u))
            self.painter.setBrush(fill if is_filled else self.look.color("field"))
            self.painter.drawRoundedRect(body, 2.0 * self.look.u, 2.0 * self.look.u)
        if now is not None:
            long = (area.width() + gap) * min(now, count) / count - (gap if now else 0.0)
            self.painter.fillRect(
                QRectF(area.left(), area.bottom() + self._u(1.5), max(0.0, long), self._u(2.0)),
                self.look.color("accent"),
            )

    def _bar(self, area: QRectF, share: float, edge: QColor) -> None:
        self.painter.setPen(QPen(edge, self.look.u))
        self.painter.setBrush(self.look.color("field"))
        self.painter.drawRoundedRect(area, 2.0 * self.look.u, 2.0 * self.look.u)
        filled = QRectF(area.left(), area.top(), area.width() * share, area.height())
        self.painter.fillRect(filled, self.look.color("l1", 0.5 if self.muted else 1.0))

    def _gate(self, element: GateElement, box: Box) -> None:
        never = element.opens is False
        middle, pad = box.middle, self._u(PAD)
        begins = self._right(box.right - pad, middle, element.per_turn_text, self._found("muted"), SMALL)
        self.level(box.left + self._u(15.0), middle, element.rank, element.height)
        token = "muted" if never else "text"
        x = self._text((box.left + self._u(29.0), middle), element.code, token, NAMES, room=box.width / 3)
        x += self._u(6.0)
        room = begins - x - self._sign_room(element) - self._u(6.0)
        x = self._text((x, middle), element.level, token, SMALL, room=max(0.0, room))
        self._sign(element, x, middle)

    def _pile_row(self, element: PileElement, box: Box) -> None:
        middle = box.middle
        begins = self._right(
            box.right - self._u(PAD), middle, element.count_text, self._found("muted"), SMALL
        )
        self.level(box.left + self._u(15.0), middle, element.rank, element.height)
        x = box.left + self._u(29.0)
        room = begins - x - self._sign_room(element) - self._u(6.0)
        lanes = element.name.removesuffix(element.level).strip()
        ends = self._text((x, middle), lanes, "text", NAMES, room=max(0.0, room)) + self._u(6.0)
        ends = self._text((ends, middle), element.level, "text", SMALL, room=max(0.0, room - (ends - x)))
        self._sign(element, ends, middle)

    def _channel(self, element: ChannelElement, box: Box) -> None:
        self._head(element, box)
        number = 0.0
        for text, remark in channel_lines(element):
            is_found = not remark and text in words_of(element)
            if (remark not in ("travel", "headway")) and number == int(number):
                self._rule(box, number)
                number += RULE / LINE
            token = self._words_token(element) if is_found else "text"
            if remark == element.closest_pair and element.is_close:
                token = self._words_token(element)
            self._line(box, number, text, token, remark=remark)
            number += 1
        self._items(element, box)

    def _rule(self, box: Box, number: float) -> None:
        y, pad = box.top + self._u(NAME + LINE * number + RULE / 2 - 1.0), self._u(PAD)
        self.painter.setPen(self.look.pen("line"))
        self.painter.drawLine(QPointF(box.left + pad, y), QPointF(box.right - pad, y))

    def _items(self, element: ChannelElement, box: Box) -> None:
        """Paint the items under way on the lower edge of a channel, where they are between its ends."""
        if self.moment is None:
            return
        self.painter.setPen(self.look.pen("raised"))
        self.painter.setBrush(self.look.color("accent"))
        radius = self._u(4.0)
        for share in self.moment.under_way.get(element.id, ())[:64]:
            self.painter.drawEllipse(QPointF(box.left + box.width * share, box.bottom), radius, radius)

    def _diverter(self, element: DiverterElement, box: Box) -> None:
        self._head(element, box, f"lane {element.code}")
        for number, way in enumerate(element.ways):
            middle = box.top + self._u(NAME + PITCH * (number + 0.5))
            self.level(box.left + self._u(17.0), middle, way.rank, way.height)
            pad = self._u(PAD)
            begins = self._right(box.right - pad, middle, way.per_turn_text, self._found("muted"), SMALL)
            x = box.left + self._u(32.0)
            self._text((x, middle), way.level, "text", SMALL, room=begins - x - self._u(6.0))
        self._words(element, box, PITCH * len(element.ways) / LINE)

    def _outlet(self, element: OutletElement, box: Box) -> None:
        self._head(element, box)
        found = words_of(element)
        for number, text in enumerate(outlet_lines(element)):
            token = "muted"
            if text in found or (text == element.got_text and element.is_short):
                token = self._words_token(element) if text in found else self._found("error")
            self._line(box, number, text, token)


_PAINTED: Mapping[type[FlowElement], Callable[..., None]] = {
    SupplyElement: BoxPainter._supply,
    MagazineElement: BoxPainter._magazine,
    GateElement: BoxPainter._gate,
    PileElement: BoxPainter._pile_row,
    ChannelElement: BoxPainter._channel,
    DiverterElement: BoxPainter._diverter,
    OutletElement: BoxPainter._outlet,
}
"""What paints each kind of element."""
