"""Heights of what is drawn of a network, by what is written on it; px of the design."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from shaftscore.judge.flow.drawn import (
    ChannelElement,
    DiverterElement,
    ElementKind,
    FlowElement,
    MagazineElement,
    OutletElement,
)

PITCH = 24.0
"""Height of a row of a gate; also the least hit area."""

LINE = 17.0
"""Height of a line of small text."""

NAME, FOOT, SLIM_FOOT = 25.0, 6.0, 2.0
"""Height of the line with a box's name, and of the room below its last line: less where there is but one."""

CELLS = 14.0
"""Height of the line with a magazine's cells."""

PILE, SHEETS = 40.0, 6.0
"""Height of a pile, and by how much its sheets show behind its row."""

RULE = 7.0
"""Height of the hairline between what a channel is and what is found about it."""

ROWS: Mapping[ElementKind, float] = {ElementKind.GATE: PITCH, ElementKind.PILE: PILE}
"""Heights of what has one row."""

WIDTHS: Mapping[ElementKind, float] = {
    ElementKind.SUPPLY: 142.0,
    ElementKind.MAGAZINE: 196.0,
    ElementKind.GATE: 196.0,
    ElementKind.CHANNEL: 158.0,
    ElementKind.DIVERTER: 136.0,
    ElementKind.OUTLET: 168.0,
}
"""Width of the boxes of a column."""


def height_of(element: FlowElement, *, brief: bool = False) -> float:
    """Return the height of an element's box; brief: its bank is folded, and magazines show no cells."""
    if element.kind in ROWS:
        return ROWS[element.kind]
    if isinstance(element, DiverterElement):
        return NAME + PITCH * len(element.ways) + LINE * len(words_of(element)) + FOOT
    if isinstance(element, ChannelElement):
        rule = RULE if element.closest_text or words_of(element) else 0.0
        return NAME + LINE * sum(1 for _ in channel_lines(element)) + rule + FOOT
    if isinstance(element, MagazineElement):
        return NAME + LINE + (SLIM_FOOT if brief else FOOT + CELLS)
    if isinstance(element, OutletElement):
        return NAME + LINE * len(outlet_lines(element)) + FOOT
    return NAME + LINE + LINE * len(words_of(element)) + SLIM_FOOT


def words_of(element: FlowElement) -> tuple[str, ...]:
    """Return the words of what is found about an element: one or none."""
    return (element.mark.words,) if element.mark is not None and element.mark.words else ()


def channel_lines(channel: ChannelElement) -> Iterator[tuple[str, str]]:
    """Yield the lines of a channel: the figure, and what it is."""
    if channel.travel_text:
        yield channel.travel_text, "travel"
    if channel.headway_text:
        yield channel.headway_text, "headway"
    if channel.closest_text:
        yield f"closest {channel.closest_text}", channel.closest_pair
    for words in words_of(channel):
        yield words, ""


def outlet_lines(outlet: OutletElement) -> tuple[str, ...]:
    """Return the lines of an outlet below its name; what is found comes in the place of what it got."""
    found = words_of(outlet)
    got = () if found and outlet.is_short else (outlet.got_text,)
    return tuple(line for line in (outlet.expects_text, *got, *found) if line)
