"""What a chart shows, and where its words stand: plain numbers, no Qt.

A *chart* has curves over one turn of the master shaft, *rules* (level lines with a sentence on them) and
*marks* (a dot with a sentence). Words win over lines: each sentence takes, of the places about its
dot or line, the one that hides the least.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from shaftscore.base.angles import distinct

Floats = npt.NDArray[np.float64]

ROOM = 0.08
"""Room above and below the curves, as a share of their range."""

RULE_ROOM = 0.22
"""Room above the highest level line and below a mark under 0, for their words."""


@dataclass(frozen=True, eq=False)
class ChartLine:
    """A curve: angles (n,) rising, values (n,), nan where it has none; a colour token and a width.

    filled: the ground between it and zero is tinted. dashed: drawn in dashes.
    """

    theta_deg: Floats
    values: Floats
    token: str = "curve"
    width: float = 1.75
    filled: bool = False
    dashed: bool = False


@dataclass(frozen=True, eq=False)
class ChartBand:
    """A range over the turn: angles (n,) rising, least and greatest values (n,), nan where it has none."""

    theta_deg: Floats
    low: Floats
    high: Floats
    token: str = "l0-edge"


@dataclass(frozen=True)
class Rule:
    """A thick dashed level line with a sentence on it; brief: what it says where that has no room."""

    value: float
    text: str
    brief: str = ""


@dataclass(frozen=True)
class Mark:
    """A dot with a sentence; hollow: drawn as a ring. quiet: the sentence is secondary."""

    deg: float
    value: float
    text: str
    hollow: bool = False
    quiet: bool = False


@dataclass(frozen=True)
class Chart:
    """Everything that a chart shows; unit: of all its values. summary: all of it in one line."""

    unit: str
    lines: tuple[ChartLine, ...] = ()
    rules: tuple[Rule, ...] = ()
    marks: tuple[Mark, ...] = ()
    summary: str = ""
    bands: tuple[ChartBand, ...] = ()


@dataclass(frozen=True)
class ChartBox:
    """A rectangle, px."""

    x: float
    y: float
    width: float
    height: float

    def shared(self, other: ChartBox) -> float:
        """Return the area in common, px²."""
        wide = min(self.x + self.width, other.x + other.width) - max(self.x, other.x)
        high = min(self.y + self.height, other.y + other.height) - max(self.y, other.y)
        return max(0.0, wide) * max(0.0, high)


@dataclass(frozen=True)
class Scale:
    """Where values stand: `plot` spans 0 to 360 degrees and low to high."""

    plot: ChartBox
    low: float
    high: float

    def x(self, deg: float) -> float:
        """Return the place of an angle, px."""
        return self.plot.x + deg / 360.0 * self.plot.width

    def y(self, value: float) -> float:
        """Return the place of a value, px."""
        return self.plot.y + (self.high - value) / (self.high - self.low) * self.plot.height

    def places(self, theta_deg: Floats, values: Floats) -> Floats:
        """Return the places of finite values at angles, (n, 2) px."""
        finite = np.isfinite(values)
        x = self.plot.x + theta_deg[finite] / 360.0 * self.plot.width
        y = self.plot.y + (self.high - values[finite]) / (self.high - self.low) * self.plot.height
        return np.column_stack([x, y])

    def deg(self, x: float) -> float:
        """Return the angle at a place, 0 to 360."""
        return min(360.0, max(0.0, (x - self.plot.x) / self.plot.width * 360.0))


def value_range(chart: Chart) -> tuple[float, float]:
    """Return the values that all of a chart fits between, 0 among them."""
    drawn = [line.values for line in chart.lines] + [band.high for band in chart.bands]
    drawn += [band.low for band in chart.bands]
    tops = [float(np.nanmax(values)) for values in drawn if np.any(np.isfinite(values))]
    lows = [float(np.nanmin(values)) for values in drawn if np.any(np.isfinite(values))]
    others = [rule.value for rule in chart.rules] + [mark.value for mark in chart.marks]
    low, high = min([0.0, *lows, *others]), max([0.0, *tops, *others])
    room = ROOM * (high - low) or 1.0
    above = RULE_ROOM * (high - low) if any(rule.value + room > high for rule in chart.rules) else room
    below = RULE_ROOM * (high - low) if any(mark.value < 0 for mark in chart.marks) else room
    return low - (below if low < 0 else 0.0), high + above


def round_ticks(low: float, high: float, most: int) -> tuple[float, ...]:
    """Return round values from low to high, at most `most` of them, 0 among them: 1, 2 or 5 apart."""
    if not high > low or most < 2:
        return (0.0,)
    least = (high - low) / most
    power = 10.0 ** math.floor(math.log10(least))
    step = next(n * power for n in (1, 2, 5, 10) if n * power >= least * (1 - 1e-9))
    return tuple(n * step for n in range(math.ceil(low / step - 1e-9), math.floor(high / step + 1e-9) + 1))


def thinned(theta_deg: Floats, values: Floats, most: int) -> tuple[Floats, Floats]:
    """Return at most about `most` points of a curve: of each short stretch its least and greatest value.

    A drawing as many px wide as half of that is the same. What is not finite stays in its place.
    """
    size = -(-2 * len(values) // most) if most > 0 else 1
    if size <= 2:
        return theta_deg, values
    whole = len(values) // size * size
    stretches = np.where(np.isfinite(values[:whole]), values[:whole], -np.inf).reshape(-1, size)
    rows = np.arange(len(stretches)) * size
    high = rows + np.argmax(stretches, axis=1)
    low = rows + np.argmin(np.where(np.isneginf(stretches), np.inf, stretches), axis=1)
    gaps = np.flatnonzero(~np.isfinite(values))
    kept = distinct(np.concatenate([[0], high, low, gaps, np.arange(whole, len(values))]))
    return theta_deg[kept], values[kept]


def value_at(line: ChartLine, deg: float) -> float:
    """Return a curve's value at an angle."""
    return float(np.interp(deg, line.theta_deg, line.values))


def sentences(chart: Chart, scale: Scale, measure: Callable[[str], float], height: float) -> tuple[str, ...]:
    """Return what is written, of the rules first, then of the marks; what has no room is left empty.

    measure: the width of a sentence, px. height: of a line of text. Marks come first, then rules, then marks
    that are quiet; each needs two lines' height.
    """
    room = max(1, int(scale.plot.height / (2 * height)))
    loud = [mark for mark in chart.marks if not mark.quiet]
    rules_shown, quiet_shown = room - len(loud), room - len(loud) - len(chart.rules)
    rules = (
        ""
        if number >= rules_shown
        else rule.text
        if measure(rule.text) + 4 <= scale.plot.width
        else rule.brief
        for number, rule in enumerate(chart.rules)
    )
    return (*rules, *("" if mark.quiet and quiet_shown <= 0 else mark.text for mark in chart.marks))


def placed(
    chart: Chart, scale: Scale, measure: Callable[[str], float], height: float, gap: float
) -> tuple[ChartBox, ...]:
    """Return the place of every one of the `sentences`.

    measure: the width of a sentence, px. height: of a line of text. gap: from the dot to the text, px.
    """
    points = np.concatenate(
        [np.empty((0, 2)), *(scale.places(line.theta_deg[::10], line.values[::10]) for line in chart.lines)]
    )
    taken: list[ChartBox] = []
    lines = [ChartBox(scale.plot.x, scale.y(rule.value) - 1, scale.plot.width, 2) for rule in chart.rules]
    words = sentences(chart, scale, measure, height)
    for rule, text in zip(chart.rules, words, strict=False):
        places = _about_rule(rule, scale, measure(text), height, gap)
        taken.append(_best(places, scale, points, [*taken, *lines]))
    dots = [ChartBox(scale.x(m.deg) - 4, scale.y(m.value) - 4, 8, 8) for m in chart.marks]
    for mark, text in zip(chart.marks, words[len(chart.rules) :], strict=True):
        places = _about_mark(mark, scale, measure(text), height, gap)
        taken.append(_best(places, scale, points, [*taken, *lines, *dots]))
    return tuple(taken)


def _about_rule(rule: Rule, scale: Scale, width: float, height: float, gap: float) -> list[ChartBox]:
    y, plot = scale.y(rule.value), scale.plot
    columns = (plot.x + gap, plot.x + plot.width - width - gap, plot.x + (plot.width - width) / 2)
    return [ChartBox(x, top, width, height) for top in (y - height - 2, y + 3) for x in columns]


def _about_mark(mark: Mark, scale: Scale, width: float, height: float, gap: float) -> list[ChartBox]:
    x, y = scale.x(mark.deg), scale.y(mark.value)
    rows = (y - height / 2, y - height - 2, y + 2, y - 1.8 * height, y + 0.8 * height)
    columns = (x + gap, x - gap - width, x - width / 2)
    apart = [ChartBox(left, top, width, height) for top in rows for left in columns[:2]]
    over = [ChartBox(columns[2], top, width, height) for top in (y - height - gap, y + gap)]
    return [*apart, *over]


def _best(places: Sequence[ChartBox], scale: Scale, points: Floats, taken: Iterable[ChartBox]) -> ChartBox:
    """Choose the place that hides the least; what is outside the plot is pushed in first."""
    fixed = tuple(taken)
    inside = [_pushed_in(place, scale.plot) for place in places]

    def cost(place: ChartBox) -> float:
        inside_it = (points >= (place.x, place.y)) & (
            points <= (place.x + place.width, place.y + place.height)
        )
        hidden = int(np.count_nonzero(inside_it.all(axis=1)))
        return 50.0 * sum(place.shared(other) for other in fixed) + hidden

    return min(inside, key=cost)


def _pushed_in(box: ChartBox, plot: ChartBox) -> ChartBox:
    x = min(max(box.x, plot.x + 2), plot.x + plot.width - box.width - 2)
    y = min(max(box.y, plot.y), plot.y + plot.height - box.height)
    return ChartBox(x, y, box.width, box.height)
