"""between-layers: thicknesses that are not the first layer and whole layers, with what can be printed.

Discs of one thickness share a finding, and so do all spacers of a stack.
"""

from __future__ import annotations

from collections.abc import Iterator

from shaftscore.base.wording import plain
from shaftscore.built.heights import is_printable, printable_mm
from shaftscore.judge.checks.cures import Attempt, tried
from shaftscore.judge.findings import Cure, Finding, found
from shaftscore.model import Project
from shaftscore.solution import Solution

DECIMALS = 6
"""Decimals of a thickness in a cure, mm."""


def between_layers(solution: Solution) -> Iterator[Finding]:
    """Find thicknesses of discs and spacers that no number of layers gives."""
    project = solution.project
    of_discs: dict[float, list[str]] = {}
    for solved in solution.lanes.values():
        if solved.lane.has_disc and not _is_layered(project, solved.lane.disc.thickness_mm):
            of_discs.setdefault(solved.lane.disc.thickness_mm, []).append(solved.lane.id)
    for place, (thickness, lanes) in enumerate(sorted(of_discs.items())):
        yield _finding(project, tuple(lanes), "Disc", thickness, place)
    used = {solved.stack for solved in solution.lanes.values() if solved.lane.has_disc}
    for place, stack in enumerate(project.stacks, start=len(of_discs)):
        several = stack.id in used and len(project.discs_of(stack)) > 1
        if several and stack.spacer_mm > 0 and not _is_layered(project, stack.spacer_mm):
            yield _finding(project, (), stack.id, stack.spacer_mm, place)


def _is_layered(project: Project, thickness_mm: float) -> bool:
    return is_printable(thickness_mm, project.print.first_layer_mm, project.print.layer_mm)


def _finding(project: Project, lanes: tuple[str, ...], what: str, thickness: float, place: int) -> Finding:
    """Make a finding of discs (lanes) or of the spacers of a stack, whose id is `what`."""
    low, high = printable_mm(thickness, project.print.first_layer_mm, project.print.layer_mm)
    nearest = sorted({low, high}, key=lambda one: (round(abs(one - thickness), DECIMALS), -one))
    attempts = [_attempt(lanes, what, round(one, DECIMALS)) for one in nearest]
    cures = [one for one in attempts if tried(project, one) is not None]
    stack = next((stack.label for stack in project.stacks if not lanes and stack.id == what), "")
    return found(
        "between-layers",
        lanes,
        value=thickness,
        cure=_cure(cures),
        place=place,
        part=f"{stack}: spacer" if stack else what,
        low_mm=low,
        high_mm=high,
    )


def _attempt(lanes: tuple[str, ...], stack_id: str, thickness: float) -> Attempt:
    text = f"{plain(thickness, 2)} mm"
    if not lanes:
        return Attempt("set_stack", {"stack_id": stack_id, "spacer_mm": thickness}, text)
    return Attempt("set_discs", {"lane_ids": lanes, "thickness_mm": thickness}, text)


def _cure(ways: list[Attempt]) -> Cure | None:
    if not ways:
        return None
    sentence = f"Make it {' or '.join(way.sentence for way in ways)} thick."
    return Cure(sentence=sentence, edit=ways[0].edit, arguments=ways[0].arguments)
