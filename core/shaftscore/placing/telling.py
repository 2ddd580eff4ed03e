"""What is said of an arrangement and of a refusal, line by line."""

from __future__ import annotations

from collections.abc import Iterator

from shaftscore.base.angles import wrap
from shaftscore.base.wording import counted, degrees, listed, newton_metres
from shaftscore.judge.findings.naming import block_text
from shaftscore.model import Project
from shaftscore.placing.arrange import Arrangement, ArrangementFigures, Moved
from shaftscore.placing.why import Refusal

NONE = "none"

ENDED = "The search ended at its limit of work; this is the best found."


def figure_lines(found: Arrangement) -> Iterator[tuple[str, str, str]]:
    """Yield (what, before, after) of the figures."""
    before, after = found.before, found.after
    yield "Smallest margin", _margin(before), _margin(after)
    yield "Peak torque", _torque(before), _torque(after)
    yield "Findings", _findings(before), _findings(after)


def _margin(figures: ArrangementFigures) -> str:
    return NONE if figures.margin_deg is None else degrees(figures.margin_deg)


def _torque(figures: ArrangementFigures) -> str:
    return NONE if figures.peak_nm is None else newton_metres(figures.peak_nm)


def _findings(figures: ArrangementFigures) -> str:
    counts = [(figures.errors, "error"), (figures.warnings, "warning")]
    return listed([counted(count, noun) for count, noun in counts if count]) or NONE


def best_line(found: Arrangement) -> str:
    """Describe how near the best there is the answer is, and that the search ended at its limit of work."""
    if found.proven:
        return "No arrangement is better in what comes first."
    if found.best_margin_deg is not None:
        return f"No arrangement has a margin over {degrees(found.best_margin_deg)}. {ENDED}"
    return ENDED


def moved_line(moved: Moved, project: Project) -> str:
    """Describe how a block changes: `Mint open: 161.0° to 169.0°, now 158.2° to 166.2°`."""
    old, new = (f"{degrees(a)} to {degrees(wrap(b))}" for a, b in (moved.from_deg, moved.to_deg))
    return f"{block_text(project, moved.ref)}: {old}, now {new}"


def arrangement_lines(found: Arrangement, drawn: Project) -> Iterator[str]:
    """Yield what an arrangement changes, and its figures before and after."""
    yield (
        f"{counted(len(found.moved), 'block')} of {drawn.name} moved."
        if found.moved
        else (f"{drawn.name} stays as drawn: nothing better was found.")
    )
    for moved in found.moved:
        yield f"  {moved_line(moved, drawn)}"
    for what, before, after in figure_lines(found):
        yield f"{what}: {before}, now {after}."
    if best_line(found):
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
