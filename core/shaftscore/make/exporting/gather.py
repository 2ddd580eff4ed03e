"""What is to be made of a project: its parts, bottom to top, and notes on what cannot be made of it."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import replace
from functools import partial

from shaftscore.base.errors import ExportError
from shaftscore.base.progress import Progress
from shaftscore.judge.report import Report
from shaftscore.layout.frame import machine_frame
from shaftscore.layout.frame_plan import BOTH, FrameError, FramePlan
from shaftscore.layout.stacks import spacer_count
from shaftscore.make import manual
from shaftscore.make.exporting.outcome import FaultyProjectError
from shaftscore.make.exporting.states import own_spans
from shaftscore.make.files import step
from shaftscore.make.files.order import MakeOrder, OrderedPart, part_material
from shaftscore.make.files.threemf import too_large
from shaftscore.make.proof.mates import fit_inputs
from shaftscore.make.solids import MadePart, SolidError, coupon_part, disc_part, spacer_part
from shaftscore.make.solids.feet import with_feet
from shaftscore.make.solids.followers import follower_makers
from shaftscore.make.solids.gear import pinion_makers
from shaftscore.make.solids.hub import hub_part
from shaftscore.make.solids.knob import knob_part
from shaftscore.make.solids.part import WITH_FITS
from shaftscore.make.solids.pillar import pillar_part
from shaftscore.make.solids.plate import plate_part
from shaftscore.make.solids.split import SPLIT_KINDS, pieces_of
from shaftscore.make.solids.stepping import step_makers
from shaftscore.model import Lane, Project, Stack
from shaftscore.model.materials import is_printed
from shaftscore.solution import LaneSolution

NAMED = 3
"""So many discs that cannot be made are named where there is nothing else."""


def gather(report: Report, formats: tuple[str, ...], progress: Progress, despite_errors: bool) -> MakeOrder:
    """Gather the parts, stack by stack from the bottom; notes name what cannot be made.

    The disc of a lane that has no blocks yet is left out. despite_errors: leave out any other part that
    cannot be made. Raises FaultyProjectError for it otherwise, and ExportError if there is nothing to make.
    """
    project = report.project
    lanes = [lane for stack in project.stacks for lane in project.discs_of(stack)]
    items: list[OrderedPart] = []
    notes: list[str] = []

    def take_all(makers: Iterable[Callable[[], MadePart]]) -> None:
        for make in makers:
            for made in _whole(project, make):
                take(made, optional=despite_errors)

    def take(made: OrderedPart | str, *, optional: bool) -> None:
        if isinstance(made, OrderedPart):
            items.append(made)
        elif optional:
            notes.append(made)
        else:
            raise FaultyProjectError(f"{made}; nothing was written")

    for number, lane in enumerate(lanes):
        progress.report(number / len(lanes), f"Shaping {lane.label}")
        take(_disc(report, lane), optional=despite_errors or _is_empty(report.solution.lanes[lane.id]))
    if not items:
        why = "; ".join(notes[:NAMED]) or "no lane of the project makes one"
        raise ExportError(f"there is no disc to export: {why}")
    frame = _frame(report, notes, optional=despite_errors)
    take_all(partial(spacer_part, project, stack, count) for stack, count in _spacers(project))
    take_all([_coupon_maker(project, items, stack) for stack in _used(project)])
    take_all((*follower_makers(report.solution), *_train(project), *_of_frame(project, frame)))
    items = _with_fits(project, items)
    notes += [note for item in items for note in item.part.notes] + too_large(project, items)
    order = MakeOrder(report, tuple(items), tuple(notes), formats, frame=frame)
    return replace(order, notes=(*order.notes, *step.notes(order), *manual.notes(order)))


def _coupon_maker(project: Project, items: Iterable[OrderedPart], stack: Stack) -> Callable[[], MadePart]:
    """Return what makes a stack's coupon: with the least foot chamfers of the parts whose fit it tries."""
    parts = [item.part for item in items]
    feet = (part.foot_mm for part in parts if part.is_on_stack and part.stack_id == stack.id)
    return partial(coupon_part, project, stack, min(feet, default=project.print.foot_chamfer_mm))


def _with_fits(project: Project, items: Sequence[OrderedPart]) -> list[OrderedPart]:
    """Return the parts with the fits of their stacks."""
    coupons = {item.part.stack_id for item in items if item.part.kind == "coupon"}
    fits = {stack.id: fit_inputs(project, stack, coupon=stack.id in coupons) for stack in _used(project)}
    return [
        replace(item, fits=fits[item.part.stack_id]) if item.part.kind in WITH_FITS else item
        for item in items
    ]


def _disc(report: Report, lane: Lane) -> OrderedPart | str:
    """Make one lane's disc, or say why it has none."""
    solved = report.solution.lanes[lane.id]
    if solved.profile is None or solved.motion is None:
        return f"no disc for {lane.label}: {_why(solved)}"
    try:
        part = disc_part(report.project, lane, solved.profile)
    except SolidError as error:
        return f"no disc for {lane.label}: {error}"
    part = with_feet(part, report.project.print.foot_chamfer_mm)
    return OrderedPart(part, solved.profile, own_spans(report.project, lane, solved.motion))


def _why(solved: LaneSolution) -> str:
    """Describe why a lane has no motion or no profile."""
    if solved.no_profile is not None:
        return solved.no_profile.what
    if solved.no_motion is None:
        return "its motion is not computed"
    if solved.no_motion.reason == "clash":
        return "blocks of different levels overlap or touch"
    return solved.no_motion.what or "the lane has no block"


def _spacers(project: Project) -> Iterator[tuple[Stack, int]]:
    """Yield the stacks that need spacers, and how many."""
    for stack in project.stacks:
        count = spacer_count(project, stack)
        if count:
            yield stack, count


def _train(project: Project) -> Iterator[Callable[[], MadePart]]:
    """Yield what makes the hub of each stack that has one, and the pinions of the stages with a module."""
    yield from (partial(hub_part, project, stack) for stack in _used(project) if stack.hub is not None)
    yield from pinion_makers(project)
    yield from step_makers(project)


def _frame(report: Report, notes: list[str], *, optional: bool) -> FramePlan | None:
    """Lay out the frame and note what it says; raises FaultyProjectError if it cannot be, unless optional."""
    try:
        frame = machine_frame(report.solution)
    except FrameError as error:
        if not optional:
            raise FaultyProjectError(f"no frame: {error}; nothing was written") from error
        notes.append(f"no frame: {error}")
        return None
    notes += () if frame is None else frame.notes
    return frame


def _of_frame(project: Project, frame: FramePlan | None) -> Iterator[Callable[[], MadePart]]:
    """Yield what makes the plates, the pillars and the knob."""
    if frame is None:
        return
    yield from (partial(plate_part, project, frame, side) for side in BOTH)
    yield partial(pillar_part, project, frame)
    yield partial(knob_part, project, frame.shafts[0].stack)


def _is_empty(solved: LaneSolution) -> bool:
    """Return whether a lane has no blocks yet."""
    return solved.no_motion is not None and solved.no_motion.reason == "empty"


def _used(project: Project) -> Iterator[Stack]:
    """Yield the stacks that carry discs."""
    return (stack for stack in project.stacks if project.discs_of(stack))


def _whole(project: Project, make: Callable[[], MadePart]) -> list[OrderedPart | str]:
    """Make a part that no follower runs on, in pieces where it is printed and too large for the bed.

    In its place is the reason where it cannot be made. A coupon has its foot chamfers from its maker.
    """
    try:
        part = make()
        whole = part.kind not in SPLIT_KINDS or not is_printed(part_material(project, part))
        parts = (part,) if whole else pieces_of(project, part)
    except SolidError as error:
        return [str(error)]
    wanted = project.print.foot_chamfer_mm
    return [OrderedPart(one if one.kind == "coupon" else with_feet(one, wanted), None, ()) for one in parts]
