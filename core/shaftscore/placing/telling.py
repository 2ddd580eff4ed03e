"""What is said of an arrangement and of a refusal, line by line."""

from __future__ import annotations

from collections.abc import Callable, Iterator

from shaftscore.base.angles import wrap
from shaftscore.base.wording import counted, degrees, listed, millimetres, newton_metres, number
from shaftscore.judge.findings.naming import block_text
from shaftscore.judge.spread.words import chance_text
from shaftscore.model import Project
from shaftscore.placing.figures import Arrangement, ArrangementFigures, Moved
from shaftscore.placing.why import Refusal

NONE = "none"

ENDED = "The search ended at its limit of work; this is the best found."

CANCELLED = "The search was cancelled; this is the best found until then."

NOTHING_BETTER = "Nothing better was found: the machine stays as drawn."

MORE_ROOM = "Let the order of steps change for more room."

BY = {
    "groups": "Whole groups are shifted; nothing else changes.",
    "lanes": "Whole lanes are shifted; nothing else changes.",
    "blocks": "Single blocks are moved.",
}
"""What changes, at each level."""


def figure_lines(found: Arrangement) -> Iterator[tuple[str, str, str]]:
    """Yield (what, before, after) of the comparison."""
    before, after = found.before, found.after
    yield "Chance of working", _chance(before), _chance(after)
    yield "Least margin", _margin(before), _margin(after)
    yield "Tightest rule", before.place or NONE, after.place or NONE
    yield "Peak torque", *_each(found, "peak_nm", newton_metres)
    yield "Largest disc", *_each(found, "largest_disc_mm", lambda radius: f"radius {millimetres(radius)}")
    yield "Shortest dwell", *_each(found, "shortest_dwell_deg", degrees)
    yield "Blocks moved", "0", str(len(found.moved))
    yield "Findings", _findings(before), _findings(after)


def _each(found: Arrangement, name: str, said: Callable[[float], str]) -> tuple[str, str]:
    values = (getattr(found.before, name), getattr(found.after, name))
    before, after = (NONE if value is None else said(value) for value in values)
    return before, after


def _chance(figures: ArrangementFigures) -> str:
    return NONE if figures.chance is None else chance_text(figures.chance)


def _margin(figures: ArrangementFigures) -> str:
    """Write the slack of the tightest rule, and how often it is the error that the rule must survive."""
    if figures.margin is None or figures.margin_deg is None:
        return NONE
    return f"{degrees(figures.margin_deg)}, {number(figures.margin, 2)} × error"


def _findings(figures: ArrangementFigures) -> str:
    counts = [(figures.errors, "error"), (figures.warnings, "warning")]
    return listed([counted(count, noun) for count, noun in counts if count]) or NONE


def best_line(found: Arrangement) -> str:
    """Describe what changes, and how near the best there is the answer is."""
    said = CANCELLED if found.cancelled else NOTHING_BETTER if found.by is None else BY[found.by]
    margin = found.after.margin
    tight = found.after.errors or (margin is not None and margin < 1)
    return f"{said} {MORE_ROOM}" if tight and not found.may.order else said


def moved_line(moved: Moved, project: Project) -> str:
    """Describe how a block changes: `Mint open: 161.0° to 169.0°, now 158.2° to 166.2°`."""
    old, new = (f"{degrees(a)} to {degrees(wrap(b))}" for a, b in (moved.from_deg, moved.to_deg))
    return f"{block_text(project, moved.ref)}: {old}, now {new}"


def arrangement_lines(found: Arrangement, drawn: Project) -> Iterator[str]:
    """Yield what an arrangement changes, and its figures before and after."""
    yield (
        f"{counted(len(found.moved), 'block')} of {drawn.name} moved."
        if found.moved
        else f"{drawn.name} stays as drawn."
    )
    for moved in found.moved:
        yield f"  {moved_line(moved, drawn)}"
    for what, before, after in figure_lines(found):
        yield f"{what}: {before}, now {after}."
    yield best_line(found)


def refusal_lines(found: Refusal) -> Iterator[str]:
    """Yield what cannot hold together, and what would make it possible."""
    only = len(found.texts) == 1
    yield "This cannot be:" if only else "These cannot hold together:"
    yield from (f"  {text}" for text in found.texts)
    if not found.minimal:
        yield "Some of these may not be needed for it; the search ended before that was shown."
    if found.relaxations:
        yield "Any one of these would make it possible:"
        yield from (f"  {relaxation.text}" for relaxation in found.relaxations)
    else:
        yield "Less of it does not help." if only else "No one of them can be loosened enough by itself."
