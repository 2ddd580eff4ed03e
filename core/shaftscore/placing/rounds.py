"""Arranging a machine whose stacks repeat only after several cycles: seen over the round of all its lanes."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

from shaftscore.base.wording import counted, listed
from shaftscore.model import Project, replaced
from shaftscore.model.rounds import CYCLE, MOST_REPEATS, round_of, seen_over
from shaftscore.placing.figures import Arrangement, ArrangementFigures
from shaftscore.placing.lanes import ArrangeError


def seen_for_arranging(project: Project) -> tuple[Project, Fraction]:
    """Return a project over the round of its lanes, and the cycles of that round.

    Without its drive, which turns another shaft; the project itself where the round is a cycle. Raises
    ArrangeError for lanes on stepped stacks, and for a round in which a stack turns too often.
    """
    stepped = [lane.label for lane in project.lanes if len(project.chain_of(project.stack_of(lane))) > 1]
    if stepped:
        some = listed(stepped[:4])
        raise ArrangeError(f"Lanes on stacks that an intermittent stage steps are not arranged: {some}.")
    cycles = round_of(project, project.lane_index)
    if cycles == CYCLE:
        return project, cycles
    rates = [project.rates[project.stack_of(lane).id] for lane in project.lanes]
    if max(rates) * cycles > MOST_REPEATS:
        late = counted(int(cycles), "cycle") if cycles > 1 else "a cycle"
        raise ArrangeError(f"The stacks repeat together only after {late}, which is too long to be arranged.")
    return seen_over(replaced(project, drive=None), cycles), cycles


def on_master(found: Arrangement, project: Project, cycles: Fraction) -> Arrangement:
    """Return an arrangement of a project that was found over a round of so many cycles."""
    if cycles == CYCLE:
        return found
    return replace(
        found,
        project=replaced(project, lanes=found.project.lanes),
        before=_figures(found.before, float(cycles)),
        after=_figures(found.after, float(cycles)),
    )


def _figures(figures: ArrangementFigures, cycles: float) -> ArrangementFigures:
    margin = None if figures.margin_deg is None else figures.margin_deg * cycles
    peak = None if figures.peak_nm is None else figures.peak_nm / cycles
    return replace(figures, margin_deg=margin, peak_nm=peak)
