"""Before you print: the fit, how the joints are to be set, plates, printer, one dimension to check."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import numpy as np

from shaftscore.base.wording import millimetres, plain
from shaftscore.make.drawing.joint_texts import fit_of, play_text
from shaftscore.make.drawing.pictures import coupon_picture, fit_pictures
from shaftscore.make.files.estimate import assumptions, summed
from shaftscore.make.files.order import OrderedPart, part_material
from shaftscore.make.files.shopping import bore_text
from shaftscore.make.manual.context import ManualContext, codes_text
from shaftscore.make.manual.flow import (
    DrawingBlock,
    boxed,
    gap,
    grid,
    heading,
    numbered,
    section,
    side_by_side,
    text_table,
    tick,
    together,
)
from shaftscore.make.manual.markup import bold, para, plain_para, said
from shaftscore.make.manual.words import filament_text, hours_text, is_printed_part, law_text, mass_text
from shaftscore.make.solids.hole_play import hole_plays
from shaftscore.model import Stack

COUPON_MM = (100.0, 84.0)
"""Room for the drawing of a coupon."""

FITS_HIGH_MM = 26.0
"""Height of the three pictures of tight, right and loose."""


def before(context: ManualContext) -> list[Any]:
    """Return the section."""
    content: list[Any] = []
    coupons = context.of_kind("coupon")
    for item in coupons:
        content += [*_coupon(context, item), gap(4.0)]
    if coupons:
        content += [_which_hole(context, coupons[0]), gap(4.0)]
    content += [*_joints(context), gap(4.0)]
    content += [together(_plates_and_settings(context)), gap(3.0), _one_dimension(context)]
    lead = "One small part decides how every disc sits on its rod. Print it first." if coupons else ""
    made = section("Before you print", lead, content, context.room_mm)
    return [*made, *section("Parts to print", "", _parts(context), context.room_mm)]


# The fit


def _stack_of(context: ManualContext, item: OrderedPart) -> Stack:
    return next(stack for stack in context.project.stacks if stack.id == item.part.stack_id)


def _coupon(context: ManualContext, item: OrderedPart) -> Iterator[Any]:
    """Yield the drawing of a coupon beside what is done with it, and the play that each hole gives."""
    stack = _stack_of(context, item)
    drawn = coupon_picture(context.machine, stack, *COUPON_MM)
    if drawn is None:
        yield from numbered(_coupon_steps(context, item, stack), context.wide_mm)
    else:
        wide = context.wide_mm - COUPON_MM[0] - 6.0
        picture = [DrawingBlock(drawn.scene, align="LEFT"), gap(1.0), plain_para(drawn.told, "column")]
        steps = numbered(_coupon_steps(context, item, stack), wide)
        yield together(side_by_side([picture, steps], (COUPON_MM[0] + 6.0, wide)))
    yield gap(2.0)
    yield _hole_table(context, stack)


def _coupon_steps(context: ManualContext, item: OrderedPart, stack: Stack) -> Iterator[str]:
    """Yield how the fit is found, as markup."""
    part = item.part
    times = "" if part.count == 1 else f" {part.count} times"
    yield (
        f"Print {bold(part.code)} alone{times}, on the printer and of the plastic of the discs "
        f"({said(part_material(context.project, part))}). It takes about "
        f"{said(hours_text(item.estimate(context.project)))}{' a piece' if part.count > 1 else ''}."
    )
    yield (
        f"Let it cool. Push the rod of {said(stack.label)} ({said(bore_text(stack.bore))}) into each hole by "
        "hand, without force."
    )
    yield (
        "Note the smallest hole that the rod enters without force and without play. The number below it is "
        "its clearance in hundredths of a millimetre on each side."
    )
    if part.dogs:
        yield (
            "Do the same with the peg of the second coupon in the pockets below. Where they differ, the "
            "larger number serves both."
        )
    yield (
        f"Enter it in {bold('Machine > Set fit clearance')}. The project uses "
        f"{said(millimetres(stack.fit_clearance_mm, 2))} now. If yours differs, export again: every hole "
        "follows, and the list of changes names the parts to print again."
    )


def _hole_table(context: ManualContext, stack: Stack) -> Any:
    """Return each hole of a coupon with the play that its clearance gives the discs."""
    holes = hole_plays(context.project, stack)
    own = (context.wide_mm - 34.0) / len(holes)
    head = ("number below the hole", *(f"{round(100 * one.clearance_mm):02d}" for one in holes))
    rows = [
        ("clearance on each side", *(millimetres(one.clearance_mm, 2) for one in holes)),
        ("play of a joint", *(one.play_text for one in holes)),
    ]
    return text_table(head, rows, (34.0, *[own] * len(holes)), strong=())


def _which_hole(context: ManualContext, item: OrderedPart) -> Any:
    """Return the three pictures of tight, right and loose with what each means."""
    own = context.wide_mm / 3
    cells = [
        [
            DrawingBlock(one.scene, wide_mm=own - 6.0, align="LEFT"),
            gap(1.0),
            para(bold(one.title)),
            plain_para(one.text, "muted"),
        ]
        for one in fit_pictures(_stack_of(context, item), FITS_HIGH_MM)
    ]
    return together(heading("Which hole is right?"), gap(1.5), side_by_side(cells, [own] * 3))


# The joints


def _joints(context: ManualContext) -> list[Any]:
    """Return how the joints of each stack are to be set, and what play they have."""
    parts: list[Any] = [heading("How the discs are set on the rod"), gap(1.0)]
    for stack in context.stacks:
        fit = fit_of(context.report, stack)
        parts.append(para(f"{said(law_text(fit))} {said(play_text(fit))}"))
        parts.append(gap(0.8))
    return [together(*parts)]


# The plates


def _plates_and_settings(context: ManualContext) -> Any:
    wide = context.wide_mm
    left, between = 0.58 * wide, 6.0
    return side_by_side(
        [
            [heading("Plates"), gap(0.8), _plates(context, left)],
            [heading("Printer settings"), gap(0.8), _settings(context, wide - left - between)],
        ],
        (left + between, wide - left - between),
    )


def _plates(context: ManualContext, wide_mm: float) -> Any:
    """Return the plates with what is on them, what each needs, and boxes to tick."""
    head = [plain_para(text, "column") for text in ("Plate", "Parts")]
    head += [plain_para(text, "column-right") for text in ("Mass", "Time", "Filament", "Done")]
    rows: list[list[Any]] = [head]
    for load in context.plates:
        need = load.estimate
        parts = codes_text([_counted(code, count) for code, count in load.counts.items()])
        printed = need.hours > 0
        named = parts if printed else f"{parts}: cut, not printed"
        figures = (mass_text(need), hours_text(need) if printed else "–", filament_text(need))
        cells = [para(bold(str(load.number)), "small"), plain_para(named, "small")]
        rows.append([*cells, *[plain_para(text, "small-right") for text in figures], tick()])
    whole = summed(load.estimate for load in context.plates if load.estimate.hours > 0)
    figures = (mass_text(whole), hours_text(whole), filament_text(whole))
    last = [para(bold("all that is printed"), "small"), ""]
    rows.append([*last, *[para(bold(text), "small-right") for text in figures], ""])
    commands = [("ALIGN", (-1, 1), (-1, -1), "RIGHT"), ("SPAN", (0, -1), (1, -1))]
    return grid(rows, (9.0, wide_mm - 67.0, 14.0, 20.0, 14.0, 10.0), pad_mm=0.6, commands=commands)


def _counted(code: str, count: int) -> str:
    return code if count == 1 else f"{count} × {code}"


def _settings(context: ManualContext, wide_mm: float) -> Any:
    printer = context.project.print
    rows = [
        ("Layer height", f"{plain(printer.layer_mm)} mm, the first {plain(printer.first_layer_mm)} mm"),
        ("Nozzle", f"{plain(printer.nozzle_mm)} mm, lines {plain(printer.line_mm)} mm wide"),
        ("Walls", str(printer.walls)),
        ("Infill", f"{plain(printer.infill_percent)} %"),
        ("Most flow", f"{plain(printer.flow_mm3_s)} mm³/s"),
        ("Orientation", "marked face up, no supports"),
        ("First layer", "feet of bores and rims are chamfered by " + f"{plain(printer.foot_chamfer_mm)} mm"),
        ("Scale", _scale_text(context)),
    ]
    return text_table(("Setting", "Value"), rows, (24.0, wide_mm - 24.0), strong=())


def _scale_text(context: ManualContext) -> str:
    printer = context.project.print
    done = [
        f"{name} {plain(value)} {unit}"
        for name, value, unit in (
            ("contours", printer.contour_mm, "mm"),
            ("holes", printer.hole_mm, "mm"),
            ("shrinkage", printer.shrinkage_percent, "%"),
        )
        if value
    ]
    counted_in = f"; corrected in the files already: {', '.join(done)}" if done else ""
    return f"100 %; do not scale discs to fit a bed{counted_in}"


def _one_dimension(context: ManualContext) -> Any:
    """Return the box that names one dimension to measure before the rest is printed."""
    discs = context.of_kind("disc")
    if not discs:
        return gap(0.1)
    part = discs[0].part
    across = np.ptp(part.outline, axis=0)
    return together(
        boxed(
            [
                para(
                    f"{bold('Check one dimension before you print the rest.')} Measure disc "
                    f"{bold(part.code)} "
                    f"along its zero mark, over the whole disc: {bold(millimetres(float(across[0])))}, "
                    f"±0.2 mm; thickness {bold(millimetres(part.thickness_mm))}, "
                    f"±{said(plain(context.project.tolerances.thickness_mm, 2))} mm. If it is off by more, "
                    "calibrate the printer; do not correct the discs by scaling."
                ),
                gap(0.8),
                plain_para(
                    f"Mass, time and filament are estimates: {assumptions(context.project.print)}.", "column"
                ),
            ],
            context.wide_mm,
        )
    )


# All parts


def _parts(context: ManualContext) -> list[Any]:
    """Return the table of all printed parts, and of those that are cut."""
    project = context.project
    rows = []
    for item in context.order.items:
        part, need = item.part, item.estimate(project)
        wide, deep = (float(size) for size in np.ptp(part.outline, axis=0))
        size = f"{wide:.1f} × {deep:.1f} × {plain(part.thickness_mm, 2)}"
        material = part_material(project, part)
        how = material if is_printed_part(context, item) else f"{material}, cut"
        figures = (mass_text(need), hours_text(need), filament_text(need))
        rows.append((part.code, part.label, size, how, part.revision, str(part.count), *figures))
    wide_mm = context.wide_mm
    widths = (24.0, wide_mm - 148.0, 33.0, 22.0, 14.0, 8.0, 16.0, 18.0, 13.0)
    head = ("Code", "Name", "Size, mm", "Material", "Revision", "No.", "Mass of one", "Time", "Filament")
    return [text_table(head, rows, widths, right=(5, 6, 7, 8), small=True)]
