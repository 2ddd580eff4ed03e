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

from shaftscore.make.files.angled import angled_wheels
from shaftscore.make.files.estimate import PrintEstimate
from shaftscore.make.files.order import MakeOrder, OrderedPart, Planned, part_material
from shaftscore.make.files.plate_loads import plate_loads
from shaftscore.make.files.shopping import bought
from shaftscore.make.solids import MadePart
from shaftscore.make.solids.hole_play import HolePlay, hole_plays
from shaftscore.make.table import angles, columns, rows
from shaftscore.model import Lane, Project
from shaftscore.model.cells import text_cell

EVERY_DEG = 1.0
"""Angle between two rows of a disc's table."""

PARTS_LIST = "parts_list.csv"

HEAD = (
    "code",
    "part",
    "what",
    "stack",
    "count",
    "size",
    "material",
    "revision",
    "files",
    "mass_g",
    "hours",
    "filament_m",
)
"""Columns of the parts list; the last three are estimates for one piece, or for one build plate."""

NO_ESTIMATE = ("", "", "")
"""The last three columns of what is bought."""

COUPON_HEAD = ("hole", "clearance_mm", "play_deg")
"""Columns of a coupon's table: the play is plus and minus, of one joint, in degrees of its own stack."""

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
    """Yield the rows of the parts list, as texts: what is printed, what is bought, then the build plates.

    Raises SolidError if a part has no closed body.
    """
    project = order.report.project
    for item in order.items:
        yield (*_printed(project, item, stems[item]), *_estimated(item.estimate(project)))
    yield from ((*row, *NO_ESTIMATE) for row in bought_rows(order))
    for load in plate_loads(order):
        row = ("", f"plate {load.number}", "build plate", "", "1", load.parts_text, "", "", "")
        yield (*row, *_estimated(load.estimate))


def bought_rows(order: MakeOrder) -> Iterator[Row]:
    """Yield the rows of what is bought, without the columns of estimates."""
    project = order.report.project
    yield from bought(order.report.solution, order.frame)
    yield from _followers(project)
    yield from angled_wheels(project)


def _estimated(need: PrintEstimate) -> Row:
    """Return mass, hours and length of filament as cells; an unknown mass is empty."""
    mass = "" if need.mass_g is None else f"{need.mass_g:.1f}"
    return (mass, f"{need.hours:.2f}", f"{need.filament_m:.2f}")


def _printed(project: Project, item: OrderedPart, stem: str) -> Row:
    part = item.part
    stack = next((stack.label for stack in project.stacks if stack.id == part.stack_id), "")
    high = f"{part.top_mm:g} mm high" if part.raised else f"{part.thickness_mm:g} mm thick"
    size = f"{_wide(part)}, {f'{part.thickness_mm:g} mm long' if part.kind == 'pillar' else high}"
    what = "fit coupon" if part.kind == "coupon" else part.kind
    count, material = str(part.count), part_material(project, part)
    return (part.code, part.label, what, stack, count, size, material, part.revision, stem)


def _wide(part: MadePart) -> str:
    """Describe how large a part is in plan view."""
    if part.kind not in ("disc", "spacer"):
        wide, deep = (float(size) for size in np.ptp(part.outline, axis=0))
        return f"{wide:.1f} x {deep:.1f} mm"
    return f"radius {float(np.hypot(*part.outline.T).max()):.2f} mm"


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
