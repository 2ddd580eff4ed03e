"""The drag tag: the worst clash and its cure, or the smallest margin, beside the held block.

It takes the first place that hides no coloured block and no column: below left, below right, above
left, above right, then beside what is held. It never lies over what is held while there is another place.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QPainter

from shaftscore_app.timing.layers.blocks import paint_shadow
from shaftscore_app.timing.layers.held import held_rects, lifted_rects
from shaftscore_app.timing.layers.look import DiagramStyle, Font
from shaftscore_app.timing.scene import DiagramScene, Tag

TEXT = Font(12.0, 600)
CURE = Font(12.0, 400)
HEIGHT = 25.0
"""Height of the tag, px of the design."""


def tag_size(look: DiagramStyle, tag: Tag) -> tuple[float, float]:
    """Return width and height of the tag, px."""
    u = look.u
    width = 24.0 * u + look.width(tag.text, TEXT)
    width += 18.0 * u if tag.severity else 0.0
    width += 10.0 * u + look.width(tag.cure, CURE) if tag.cure else 0.0
    return width, HEIGHT * u


def tag_places(held: QRectF, strip: QRectF, size: tuple[float, float], bounds: QRectF) -> list[QRectF]:
    """Return the places for the tag, the best first, each moved sideways into the bounds."""
    width, height = size
    lefts = (held.right() - width, held.left())
    tops = (strip.bottom() + 1.0, strip.top() - height - 2.0)
    places = []
    for top in tops:
        for left in lefts:
            inside = min(max(left, bounds.left() + 2.0), bounds.right() - width - 2.0)
            places.append(QRectF(inside, top, width, height))
    middle = held.center().y() - height / 2
    beside = (
        QRectF(left, middle, width, height) for left in (held.right() + 12.0, held.left() - width - 12.0)
    )
    within = (bounds.left() + 2.0, bounds.right() - 2.0)
    return [*places, *(one for one in beside if within[0] <= one.left() and one.right() <= within[1])]


HELD_WEIGHT = 1000.0
"""An area of what is held counts so much more than one of other blocks."""


def best_place(
    places: Sequence[QRectF], hidden: Iterable[QRectF], bounds: QRectF, held: Iterable[QRectF] = ()
) -> QRectF:
    """Choose the first place within the bounds that hides nothing, else the one that hides least.

    held: what must not be hidden at all while there is another place.
    """
    inside = [place for place in places if bounds.contains(place)] or list(places)
    obstacles = [*((other, 1.0) for other in hidden), *((other, HELD_WEIGHT) for other in held)]

    def cost(place: QRectF) -> float:
        shared = [(place.intersected(other), weight) for other, weight in obstacles]
        return sum(area.width() * area.height() * weight for area, weight in shared if area.isValid())

    return min(inside, key=cost)


def tag_rect(look: DiagramStyle, scene: DiagramScene) -> QRectF | None:
    """Return the place of the tag; None while nothing is held."""
    holding = scene.holding
    strip = scene.strip(holding.lane_id) if holding else None
    rects = held_rects(look, scene)
    if holding is None or holding.tag is None or strip is None or not rects:
        return None
    frame = scene.frame
    bounds = QRectF(
        frame.axis.left, frame.lanes_top, frame.axis.width, max(1.0, frame.lanes_bottom - frame.lanes_top)
    )
    area = QRectF(frame.axis.left, strip.top, frame.axis.width, strip.height)
    places = tag_places(_nearest(rects, bounds), area, tag_size(look, holding.tag), bounds)
    return best_place(places, _obstacles(scene, places), bounds, lifted_rects(look, scene))


def _nearest(rects: Sequence[QRectF], bounds: QRectF) -> QRectF:
    """Choose the copy of the held block that is seen best."""
    return max(rects, key=lambda rect: rect.intersected(bounds).width())


def _obstacles(scene: DiagramScene, places: Sequence[QRectF]) -> list[QRectF]:
    """Return what the tag must not hide: coloured blocks and columns, of the rows that it could lie over."""
    axis = scene.frame.axis
    top, bottom = min(place.top() for place in places), max(place.bottom() for place in places)
    blocks = [
        QRectF(piece.left, strip.y(shape.level.output_mm), piece.width, strip.body)
        for row in scene.frame.seen_rows()
        if row.lane_id is not None and (strip := scene.strip(row.lane_id)) is not None
        if strip.top < bottom and strip.top + strip.height > top
        for shape in scene.shapes(row.lane_id)
        if shape.level.rank
        for piece in axis.pieces(shape.start_deg, shape.length_deg)
    ]
    columns = [
        QRectF(made.left, made.top, made.right - made.left, made.bottom - made.top)
        for made in scene.drawn_columns
    ]
    return blocks + columns


def paint_tag(painter: QPainter, look: DiagramStyle, scene: DiagramScene, rect: QRectF | None) -> None:
    """Paint the tag with a line to the block."""
    holding = scene.holding
    if rect is None or holding is None or holding.tag is None:
        return
    u, tag = look.u, holding.tag
    _paint_leader(painter, look, scene, rect)
    paint_shadow(painter, look, rect, 4.0 * u)
    painter.setPen(look.pen("edge", 1.0 / u))
    painter.setBrush(look.color("raised"))
    painter.drawRoundedRect(rect.adjusted(0.5, 0.5, -0.5, -0.5), 4.0 * u, 4.0 * u)
    painter.setBrush(Qt.BrushStyle.NoBrush)
    x, middle = rect.left() + 12.0 * u, rect.center().y()
    if tag.severity is not None:
        look.sign(painter, x + 2.0 * u, middle, tag.severity.value)
        x += 18.0 * u
    look.text(painter, x, look.baseline(middle, TEXT), tag.text, look.color("text"), font=TEXT)
    x += look.width(tag.text, TEXT) + 10.0 * u
    look.text(painter, x, look.baseline(middle, CURE), tag.cure, look.color("accent"), font=CURE)


def _paint_leader(painter: QPainter, look: DiagramStyle, scene: DiagramScene, rect: QRectF) -> None:
    near = [
        held for held in held_rects(look, scene) if rect.left() <= held.left() + 7.0 * look.u <= rect.right()
    ]
    if not near:
        return
    held = near[0]
    x = min(held.left() + 7.0 * look.u, held.right())
    below = rect.top() >= held.bottom()
    y, end = (held.bottom(), rect.top()) if below else (held.top(), rect.bottom())
    painter.setPen(look.pen("accent", 1.5))
    painter.drawLine(QPointF(x, y), QPointF(x, end))
