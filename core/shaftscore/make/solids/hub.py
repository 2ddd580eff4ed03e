"""The hub of a stack as a part: see `shaftscore.layout.hub` for what it is made of."""

from __future__ import annotations

import numpy as np

from shaftscore.layout.coupled import HubWheel
from shaftscore.layout.hub import RING_GAP_MM, HubPlan, hub_plan
from shaftscore.layout.printed import hub_walls, refuse_gone
from shaftscore.layout.stacks import own_code
from shaftscore.make.solids.gear import crossed, gap_mark, hub_path, marks_of, tooth_mark
from shaftscore.make.solids.marks import Marks, stroke_width
from shaftscore.make.solids.part import MadePart, PlainPart, plain_part
from shaftscore.make.solids.strokes import Polyline
from shaftscore.make.solids.trouble import SolidError
from shaftscore.model import Project, Stack
from shaftscore.stack import BulgePath, bore_path, mark_depth, pin_paths, turn_sign
from shaftscore.stack.paths import circle, polygon

Named = tuple[str, BulgePath, tuple[float, float]]
"""Name, outline and heights of a body."""

EDGE_MM = 0.8
"""Least material between a mark on a ring and its edges."""


def hub_part(project: Project, stack: Stack) -> MadePart:
    """Make the hub of a stack. Raises SolidError where it cannot be made."""
    code = own_code("HUB", project, stack)
    try:
        plan = hub_plan(project, stack)
        refuse_gone(project.print, hub_walls(plan))
        return _part(project, plan, code)
    except SolidError:
        raise
    except ValueError as error:
        raise SolidError(f"{code}: {error}") from error


def _part(project: Project, plan: HubPlan, code: str) -> MadePart:
    stack = plan.stack
    foot, thick = _foot(plan), plan.foot_mm or plan.height_mm
    raised, sunk = _raised(plan), _sunk(plan, stroke_width(project.print.nozzle_mm))
    pins = () if stack.pins is None else pin_paths(stack.pins, stack.pins.clearance_mm)
    holes = (bore_path(stack.bore, stack.fit_clearance_mm), *pins, *plan.bolts)
    marks = _marks(project, plan, thick)
    return plain_part(
        project,
        PlainPart(
            kind="hub",
            code=code,
            label=f"hub of {stack.label}",
            thickness_mm=thick,
            contour=foot,
            holes=holes,
            raised=raised,
            sunk=sunk,
            marks=marks,
            stack_id=stack.id,
            direction=turn_sign(project, stack) * (-1 if plan.upside_down else 1),
            notes=tuple(f"{code}: no room for its {name}" for name in marks.missing),
        ),
    )


def _foot(plan: HubPlan) -> BulgePath:
    """Return the contour of the main body: teeth, or round."""
    if plan.foot_radius_mm is not None:
        return circle(plan.foot_radius_mm)
    assert plan.gear is not None, "a foot that is not round has teeth"
    return hub_path(plan.gear, upside_down=plan.upside_down)


def _raised(plan: HubPlan) -> tuple[Named, ...]:
    """Return the collar on a foot, and the pegs on top."""
    collar = [("collar", circle(plan.collar_mm), (plan.foot_mm, plan.height_mm))] if plan.foot_mm else []
    return (*collar, *(("peg", path, plan.peg_heights) for path in plan.pegs))


def _sunk(plan: HubPlan, width_mm: float) -> tuple[Named, ...]:
    """Return pockets, cuts for the screw, the teeth of a ring and its mark."""
    pockets: list[Named] = [("pocket", path, plan.pocket_heights) for path in plan.pockets]
    cuts: list[Named] = [(cut.name, cut.path, cut.heights) for cut in plan.cuts]
    return (*pockets, *cuts, *_ring(plan, width_mm))


def _ring(plan: HubPlan, width_mm: float) -> tuple[Named, ...]:
    """Return the toothed hollow of a ring, and the phase mark on its lower face."""
    if plan.gear is None or plan.foot_radius_mm is None:
        return ()
    teeth = hub_path(plan.gear, upside_down=plan.upside_down)
    deep = plan.gear.face_mm + RING_GAP_MM
    gap, half = np.exp(1j * _own(plan, plan.gear.gaps_rad[0])), width_mm / 2
    inner, outer = teeth.largest_radius + EDGE_MM, plan.foot_radius_mm - EDGE_MM
    corners = ((inner, -half), (outer, -half), (outer, half), (inner, half))
    mark = polygon(tuple(complex(gap * complex(*corner)) for corner in corners))
    hollow: Named = ("ring", teeth, (0.0, deep))
    if outer - inner < width_mm:
        return (hollow,)
    return hollow, ("phase mark", mark, (0.0, mark_depth(deep)))


def _marks(project: Project, plan: HubPlan, thick_mm: float) -> Marks:
    """Return the zero mark, and the phase mark of an external wheel, on the top of the main body."""
    width = stroke_width(project.print.nozzle_mm)
    inner = plan.collar_mm if plan.foot_mm else plan.stack.bore.outer_radius_mm + plan.stack.fit_clearance_mm
    if plan.gear is not None and plan.foot_radius_mm is None:
        groups = _wheel_marks(plan, plan.gear, inner, width)
        return marks_of(groups, width, thick_mm)
    if plan.stack.dogs is not None and not plan.foot_mm:
        return marks_of({}, width, thick_mm)  # the long dog stands for it
    assert plan.foot_radius_mm is not None, "a foot without teeth is round"
    line = _alone(gap_mark(plan.foot_radius_mm, inner, 0.0, width))
    return marks_of({"zero mark": line}, width, thick_mm)


def _wheel_marks(
    plan: HubPlan, gear: HubWheel, inner_mm: float, width_mm: float
) -> dict[str, tuple[Polyline, ...]]:
    """Return the zero mark, crossed lines to the marked gaps, and a line along the marked tooth."""
    root = gear.wheel.root_mm
    groups = {"zero mark": _alone(gap_mark(root, inner_mm, 0.0, width_mm))}
    for number, gap in enumerate(gear.gaps_rad, start=1):
        name = "phase mark" if number == 1 else f"phase mark {number}"
        groups[name] = crossed(gap_mark(root, inner_mm, _own(plan, gap), width_mm), width_mm)
    if gear.tooth_rad is not None:
        line = tooth_mark(gear.wheel, inner_mm, width_mm)
        turn = np.exp(1j * _own(plan, gear.tooth_rad))
        groups["mark of the tooth"] = () if line is None else (line * turn,)
    return groups


def _own(plan: HubPlan, seen_rad: float) -> float:
    """Return an angle as seen from the top in the hub's own frame, radians; it may be turned over."""
    return -seen_rad if plan.upside_down else seen_rad


def _alone(line: Polyline | None) -> tuple[Polyline, ...]:
    """Return a line as the strokes of a mark; none where there was no room."""
    return () if line is None else (line,)
