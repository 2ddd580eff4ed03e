"""CSV: a table of motion and profile a disc, the play of each hole of a fit coupon, and the parts list.

Text is UTF-8, a comma between cells, a full stop in numbers, one row a line. The columns of a disc's
table are those of `shaftscore.make.table`, at every whole degree of its stack's turn.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Iterator, Sequence
from math import isfinite

import numpy as np

from shaftscore.make.files.order import MakeOrder, OrderedPart, Planned
from shaftscore.make.solids import MadePart
from shaftscore.make.solids.hole_play import HolePlay, hole_plays
from shaftscore.make.table import angles, columns, rows
from shaftscore.model import Bore, Lane, Pins, Project, Rod, Stack
from shaftscore.model.cells import text_cell
from shaftscore.stack import stack_plan

EVERY_DEG = 1.0
"""Angle between two rows of a disc's table."""

PARTS_LIST = "parts_list.csv"

HEAD = ("code", "part", "what", "stack", "count", "size", "material", "revision", "files")
"""Columns of the parts list."""

COUPON_HEAD = ("hole", "clearance_mm", "play_deg")
"""Columns of a coupon's table: the play is plus and minus, of one joint, in degrees of its own stack."""

OVER_MM = 10.0
"""A shaft is at least this much longer than its stack, or than the bearings' middles are apart, mm."""

Row = tuple[str, ...]


def plan(order: MakeOrder) -> list[Planned]:
    """Plan a table a disc, one a fit coupon, and the parts list."""
    tables = [_table(order, item) for item in order.items if item.part.lane_id is not None]
    names = {item: item.stem for item in order.items}
    listed = Planned(PARTS_LIST, "csv", order.items, lambda: _csv([HEAD, *_cells(order, names)]), always=True)
    coupons = [_coupon(order, item) for item in order.items if item.part.kind == "coupon"]
    return [*tables, *coupons, listed]


def _coupon(order: MakeOrder, item: OrderedPart) -> Planned:
    """Plan the table of a coupon's holes, which lies beside its files."""
    project = order.report.project
    stack = next(stack for stack in project.stacks if stack.id == item.part.stack_id)
    return Planned(
        f"{item.stem}.csv",
        "csv",
        (item,),
        lambda: _csv([COUPON_HEAD, *(_hole(one) for one in hole_plays(project, stack))]),
        always=True,
    )


def _hole(one: HolePlay) -> Row:
    play = f"{one.play_deg:.4f}" if isfinite(one.play_deg) else "turns freely"
    return (str(one.hole), f"{one.clearance_mm:g}", play)


def _table(order: MakeOrder, item: OrderedPart) -> Planned:
    solved = order.report.solution.lanes[str(item.part.lane_id)]
    return Planned(
        f"{item.stem}.csv",
        "csv",
        (item,),
        lambda: _csv(rows(columns(solved, angles(EVERY_DEG)))),
        always=True,
    )


def _cells(order: MakeOrder, stems: dict[OrderedPart, str]) -> Iterator[Row]:
    """Yield the rows of the parts list as cells of a spreadsheet, none of which is taken for a formula."""
    for row in parts_list(order, stems):
        yield tuple(map(text_cell, row))


def _csv(rows: Iterable[Sequence[object]]) -> bytes:
    text = io.StringIO(newline="")
    csv.writer(text, lineterminator="\n").writerows(rows)
    return text.getvalue().encode("utf-8")


def parts_list(order: MakeOrder, stems: dict[OrderedPart, str]) -> Iterator[Row]:
    """Yield the rows of the parts list, as texts: what is printed, then what is bought."""
    project = order.report.project
    for item in order.items:
        yield _printed(project, item, stems[item])
    for stack in project.stacks:
        yield _shaft(project, stack)
        if stack.pins is not None:
            yield _pins(project, stack, stack.pins)
    yield from _followers(project)


def _printed(project: Project, item: OrderedPart, stem: str) -> Row:
    part = item.part
    stack = next(stack for stack in project.stacks if stack.id == part.stack_id)
    material = "" if part.lane_id is None else project.lane(part.lane_id).disc.material
    size = f"{_wide(part)}, {part.thickness_mm:g} mm thick"
    what = "fit coupon" if part.kind == "coupon" else part.kind
    return (part.code, part.label, what, stack.label, str(part.count), size, material, part.revision, stem)


def _wide(part: MadePart) -> str:
    """Describe how large a part is in plan view."""
    if part.kind not in ("disc", "spacer"):
        wide, deep = (float(size) for size in np.ptp(part.outline, axis=0))
        return f"{wide:.1f} x {deep:.1f} mm"
    return f"radius {float(np.hypot(*part.outline.T).max()):.2f} mm"


def _shaft(project: Project, stack: Stack) -> Row:
    rod, length = stack.rod, stack_plan(project, stack).height_mm + OVER_MM
    name, material = bore_text(stack.bore), ""
    if rod is not None:
        length += rod.below_mm + rod.above_mm
        name, material = rod_text(stack, rod), rod.material
    size = f"{name}, {length:g} mm or longer"
    return ("", f"shaft of {stack.label}", "shaft", stack.label, "1", size, material, "", "")


def _pins(project: Project, stack: Stack, pins: Pins) -> Row:
    length = stack_plan(project, stack).height_mm
    size = f"diameter {pins.across_mm:g} mm, {length:g} mm or longer"
    return ("", f"pins of {stack.label}", "pin", stack.label, str(pins.count), size, "", "", "")


def rod_text(stack: Stack, rod: Rod) -> str:
    """Describe the rod that a stack is stated to have: its thread, or its shape, size and tolerance."""
    if rod.thread is not None:
        return f"threaded rod {rod.thread}"
    shape = rod.shape_in(stack.bore)
    flat = rod.flat_in(stack.bore) if shape == "d" else None
    own = Bore(shape=shape, across_mm=rod.across_mm, flat_mm=flat)
    return f"{bore_text(own)}, {rod.tolerance_in(stack.bore)}"


def bore_text(bore: Bore) -> str:
    """Describe which shaft goes through a bore."""
    flat = f", flat {bore.flat_mm:g} mm" if bore.flat_mm is not None else ""
    names = {
        "round": "diameter",
        "d": "D, diameter",
        "hex": "hexagon, across flats",
        "square": "square, across flats",
    }
    return f"{names[bore.shape]} {bore.across_mm:g} mm{flat}"


def _followers(project: Project) -> Iterator[Row]:
    for lane in project.lanes:
        if lane.kind != "index":
            yield _follower(project, lane)


def _follower(project: Project, lane: Lane) -> Row:
    follower = lane.follower
    width = follower.width_mm or project.lane(lane.disc_of or lane.id).disc.thickness_mm
    if follower.kind == "translating-flat":
        what, size = "flat follower", f"face {follower.face_width_mm:g} mm"
    else:
        what, size = "roller", f"diameter {2 * follower.roller_radius_mm:g} mm"
        if follower.bearing is not None:
            what, size = "ball bearing", f"{follower.bearing}, {size}"
    if follower.kind == "swinging-roller":
        size += f", arm {follower.arm_mm:g} mm"
    stack = project.stack_of(lane).label
    return (
        lane.code or "",
        f"follower of {lane.label}",
        what,
        stack,
        "1",
        f"{size}, {width:g} mm wide",
        follower.material,
        "",
        "",
    )
