"""Whether everything that belongs between the plates has its height there."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from shaftscore.base.tolerance import CURE_MM
from shaftscore.base.wording import millimetres, up_to
from shaftscore.layout.bracket_feet import ROOF_MM
from shaftscore.layout.followers import FollowerLayout
from shaftscore.layout.frame_heights import rod_of
from shaftscore.layout.frame_plan import FrameError, FramePlan, FrameShaft
from shaftscore.layout.hub import hub_plan, outer_face_mm, raised_mm
from shaftscore.layout.reach import lanes_on
from shaftscore.layout.stacks import stages_of
from shaftscore.layout.train import train_parts
from shaftscore.model import Project
from shaftscore.solution import LaneSolution, Solution
from shaftscore.stack import Layer, stack_plan
from shaftscore.stack.followers import roller_band

GAP_MM = 0.3
"""Least gap between what moves and a plate, or a bearing in it, mm."""

Reach = tuple[str, float, float]
"""What something is called, and from where to where it reaches, mm from the bottom of its stack."""


def refuse_squeezed(solution: Solution, plan: FramePlan, followers: Sequence[FollowerLayout]) -> None:
    """Raise FrameError where a stack, a hub or a follower would be in a plate, or in a bearing in it."""
    for shaft in plan.shafts:
        low, high = plan.plates["bottom"][1], plan.plates["top"][0]
        _refuse(shaft, low, high, _reaches(solution, shaft, followers))
        half = 0.0 if shaft.bearing is None else shaft.bearing[1].width_mm / 2
        if shaft.bearing is not None:
            low, high = max(low, shaft.lower_mm + half), min(high, shaft.upper_mm - half)
        _refuse(shaft, low, high, _turning(solution.project, shaft))


def _refuse(shaft: FrameShaft, low_mm: float, high_mm: float, reaches: Iterator[Reach]) -> None:
    """Raise FrameError for what reaches beyond two heights of the machine."""
    rod = rod_of(shaft.stack)
    for name, bottom, top in reaches:
        below = low_mm + GAP_MM - shaft.bottom_mm - bottom
        above = top + shaft.bottom_mm - high_mm + GAP_MM
        if max(below, above) <= 1e-6:
            continue
        end, way, plate = ("lower", "below", "bottom") if below > above else ("upper", "above", "top")
        missing = max(below, above)
        least = millimetres(up_to(getattr(rod, f"{way}_mm") + missing, CURE_MM))
        told = f"{name} reaches {millimetres(missing)} too far, into the {plate} plate or its bearing"
        where = f"put the middle of the {end} bearing of {shaft.stack.label} at least {least} {way} the stack"
        raise FrameError(f"{told}; {where}")


def _turning(project: Project, shaft: FrameShaft) -> Iterator[Reach]:
    """Yield the discs of a stack with what stands on them, its hub, and its parts of intermittent stages."""
    yield from _stages(project, shaft)
    stack, height = shaft.stack, stack_plan(project, shaft.stack).height_mm
    pegs = stack.dogs.height_mm if stack.dogs is not None else 0.0
    if stack.hub is None:
        yield f"the top disc of {stack.label}", 0.0, height + pegs
        return
    try:
        hub = hub_plan(project, stack)
    except ValueError:  # a finding of its own says why
        return
    face = outer_face_mm(project, hub)
    if hub.upside_down:
        yield f"the hub of {stack.label}", 0.0, face
    else:
        yield f"the hub of {stack.label}", face, height + pegs


def _stages(project: Project, shaft: FrameShaft) -> Iterator[Reach]:
    """Yield drivers and wheels of intermittent stages on a stack."""
    for stage in stages_of(project):
        raised = raised_mm(project, stage.driving) - raised_mm(project, shaft.stack)
        ends = (raised + stage.wheel_mm, raised + stage.wheel_mm - stage.outward * stage.wheel_thick_mm)
        if shaft.stack is stage.driving:
            yield (
                f"the driver on {shaft.stack.label}",
                min(*ends, stage.driver_mm),
                max(*ends, stage.driver_mm),
            )
        elif shaft.stack is stage.driven:
            yield f"the {stage.wheel_name} of {shaft.stack.label}", min(ends), max(ends)


def _reaches(solution: Solution, shaft: FrameShaft, followers: Sequence[FollowerLayout]) -> Iterator[Reach]:
    """Yield the followers of a stack: their parts where they are described, else their rollers."""
    project = solution.project
    if shaft.stack is project.stacks[0]:
        yield from _pinions(project)
    made = {layout.lane.id: layout for layout in followers}
    for lane in lanes_on(solution, shaft.stack):
        layout = made.get(lane.lane.id)
        name = f"the follower of {lane.lane.label}"
        if layout is None:
            band = roller_band(project, lane.lane, _layer(solution, lane))
            yield name, band.bottom_mm, band.top_mm
            continue
        whole = layout.bands.whole
        top = whole.top_mm if layout.guide is None else max(whole.top_mm, layout.link_band.top_mm)
        if layout.pivot is None:
            top = max(top, layout.bands.levers[-1].top_mm + ROOF_MM)
        yield name, whole.bottom_mm, top


def _pinions(project: Project) -> Iterator[Reach]:
    """Yield the pinions of the drive."""
    try:
        parts = [*train_parts(project)]
    except ValueError:  # a finding of its own says why
        return
    for part in parts:
        bands = [part.pinion_band, *([part.wheel_band] if part.plan.wheel is not None else [])]
        name = f"the pinion of stage {part.plan.stage.spur.number}"
        yield name, min(one.bottom_mm for one in bands), max(one.top_mm for one in bands)


def _layer(solution: Solution, lane: LaneSolution) -> Layer:
    """Return the layer of the disc that a lane's follower runs on."""
    project = solution.project
    return stack_plan(project, project.stack_of(lane.lane)).disc(lane.lane.disc_of or lane.lane.id)
