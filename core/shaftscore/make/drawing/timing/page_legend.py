"""What signs and fills of the timing diagram mean, below it on paper."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass

from shaftscore.judge.findings import Severity
from shaftscore.make.drawing.scene import Pattern, Stroke, Tone
from shaftscore.make.drawing.timing.axis import Axis
from shaftscore.make.drawing.timing.bodies import BodyBox, level_style
from shaftscore.make.drawing.timing.inking import PX_MM, Inking, baseline_of, text_width
from shaftscore.make.drawing.timing.page_lane import CURVE, EDGE, LEVELS, PATTERNS, SMALL
from shaftscore.make.drawing.timing.ticks import StepCell, step_cells, step_text
from shaftscore.model import Project

LINE, SWATCH, GAP = 19.0, 26.0, 18.0
"""Height of a line, width of a swatch, distance of two of them, px."""

LEAST = 9.4
"""Size of the least texts, px: 7 points."""

MOST_LEVELS = 6
"""The legend names levels up to this count."""

SEVERITIES: dict[Severity, Tone] = {
    Severity.ERROR: "error",
    Severity.WARNING: "warning",
    Severity.NOTE: "muted",
}
"""Tones of findings."""

_ORDINALS = {1: "lowest", 2: "2nd", 3: "3rd"}


@dataclass(frozen=True)
class LegendItem:
    """A sign, drawn with its left end and its middle at a place, px, and what it means."""

    draw: Callable[[Inking, float, float], None]
    text: str

    @property
    def wide(self) -> float:
        """Return the width that it takes, px."""
        return SWATCH + 6.0 + text_width(self.text, SMALL) + GAP


@dataclass(frozen=True)
class TimingLegend:
    """The legend: its lines of signs, and the lines that name the steps whose names have no room above."""

    lines: tuple[tuple[LegendItem, ...], ...]
    steps: tuple[str, ...]

    @property
    def high(self) -> float:
        """Return its height, px."""
        return LINE * (len(self.lines) + len(self.steps)) + 8.0

    def draw(self, ink: Inking, top: float) -> None:
        """Draw it under a height, px."""
        for line in self.lines:
            x = 0.0
            for item in line:
                item.draw(ink, x, top + LINE / 2)
                ink.text(x + SWATCH + 6.0, baseline_of(top + LINE / 2, SMALL), item.text, size=SMALL)
                x += item.wide
            top += LINE
        for text in self.steps:
            ink.text(0.0, baseline_of(top + LINE / 2, SMALL), text, size=SMALL, tone="muted")
            top += LINE


def timing_legend(project: Project, axis: Axis, *, findings: bool) -> TimingLegend:
    """Return the legend of a project's diagram; findings: whether they are drawn."""
    items = [*_levels(project), LegendItem(_curve, "output of the lane, to its own full travel")]
    if any(lane.guarded for lane in project.lanes):
        items.append(LegendItem(_guard, "guarded level"))
    if findings:
        items += [LegendItem(_finding(one), f"{one.value} on these lanes, here") for one in Severity]
    return TimingLegend(tuple(_broken(items, axis.right)), tuple(_step_names(project, axis)))


def _broken(items: list[LegendItem], wide: float) -> Iterator[tuple[LegendItem, ...]]:
    """Yield the lines that items take."""
    line: list[LegendItem] = []
    for item in items:
        if line and sum(one.wide for one in line) + item.wide - GAP > wide:
            yield tuple(line)
            line = []
        line.append(item)
    yield tuple(line)


def _levels(project: Project) -> Iterator[LegendItem]:
    most = max((len(project.levels_of(lane)) for lane in project.lanes), default=0)
    for rank in range(min(most, MOST_LEVELS)):
        yield LegendItem(_swatch(rank), f"{_ORDINALS.get(rank + 1, f'{rank + 1}th')} level")


def _swatch(rank: int) -> Callable[[Inking, float, float], None]:
    def draw(ink: Inking, x: float, y: float) -> None:
        style = level_style(rank)
        box = BodyBox(x, y - 6.5, SWATCH, 13.0)
        ink.rounded(box, LEVELS[style.number], EDGE, pattern=PATTERNS[style.pattern])

    return draw


def _curve(ink: Inking, x: float, y: float) -> None:
    ink.line(
        [x, x + 6.0, x + 11.0, x + 15.0, x + 20.0, x + 26.0],
        [y + 5, y + 4, y + 1, y - 1, y - 4, y - 5],
        CURVE,
    )


def _guard(ink: Inking, x: float, y: float) -> None:
    ink.line([x, x + SWATCH], [y, y], Stroke("muted", "hair", "dashed"))


def _finding(severity: Severity) -> Callable[[Inking, float, float], None]:
    def draw(ink: Inking, x: float, y: float) -> None:
        draw_column(ink, BodyBox(x, y - 7.0, 12.0, 14.0), severity)
        draw_sign(ink, x + 20.0, y, severity)

    return draw


def draw_column(ink: Inking, box: BodyBox, severity: Severity) -> None:
    """Draw the column of a finding: hatched for errors and warnings, dotted at its sides for notes."""
    tone = SEVERITIES[severity]
    if severity is Severity.NOTE:
        for x in (box.left, box.right):
            ink.line([x, x], [box.top, box.bottom], Stroke(tone, "hair", "dotted"))
        return
    pattern: Pattern = "falling" if severity is Severity.ERROR else "rising"
    ink.box(box, None, Stroke(tone, "hair"), pattern=pattern, name=f"column {severity.value}")


def draw_sign(ink: Inking, x: float, y: float, severity: Severity) -> None:
    """Draw the sign of a severity at a place, px: a full diamond, a triangle, or a ring."""
    tone = SEVERITIES[severity]
    if severity is Severity.ERROR:
        ink.area([x, x + 5.5, x, x - 5.5], [y - 5.5, y, y + 5.5, y], tone)
    elif severity is Severity.WARNING:
        ink.area([x, x + 5.5, x - 5.5], [y - 5.0, y + 4.5, y + 4.5], "paper", Stroke(tone))
    else:
        ink.rounded(BodyBox(x - 4.5, y - 4.5, 9.0, 9.0), "paper", Stroke(tone), radius=4.5)


# Steps


def cells_of(project: Project, axis: Axis) -> list[StepCell]:
    """Return the seen steps of a project."""
    shaft = project.shaft
    return list(step_cells(axis, shaft.step_starts_deg, shaft.step_names))


def paper_step_text(cell: StepCell) -> str:
    """Return what is written in the cell of a step on paper."""
    return step_text(cell, cell.piece.width, lambda text: text_width(text, LEAST), 1.5)


def _step_names(project: Project, axis: Axis) -> Iterator[str]:
    """Yield lines with the names of the steps that are left out in their cells."""
    left_out = [
        cell for cell in cells_of(project, axis) if cell.name and cell.name not in paper_step_text(cell)
    ]
    if not left_out:
        return
    # Loaded with the fonts, where a drawing is laid out.
    from shaftscore.make.drawing.fonts import wrapped

    said = ", ".join(dict.fromkeys(f"{cell.number} {cell.name}" for cell in left_out))
    yield from wrapped(f"Steps: {said}.", SMALL * 0.75, axis.right * PX_MM)
