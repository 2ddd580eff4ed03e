"""Sentences and figures of the manual: what the machine is, its facts, and what can hurt."""

from __future__ import annotations

import re
from collections import Counter

import numpy as np

from shaftscore.base.wording import (
    counted,
    listed,
    millimetres,
    newton_metres,
    number,
    plain,
    plural,
    rpm,
    seconds,
)
from shaftscore.judge.findings.in_rounds import round_angle
from shaftscore.judge.fits import StackFit
from shaftscore.judge.loads.drive import allowed_torque_nm
from shaftscore.judge.report import AreaCoverage, CoverageState
from shaftscore.make.files.estimate import PrintEstimate, summed
from shaftscore.make.manual.context import ManualContext
from shaftscore.make.manual.paper import NOT_DESCRIBED
from shaftscore.model import MotorSource, Print
from shaftscore.model.project import Area
from shaftscore.stack import stack_plan

CAUTIONS = (
    "Pinch points: discs, followers and gears catch fingers, hair, sleeves and cables. Keep clear while "
    "the shaft can turn, and guard what others can reach.",
    "Rotating parts: wear nothing loose, and let nobody reach in while the machine runs. Printed parts can "
    "break; wear eye protection.",
    "Springs store energy: a follower can snap back when its disc is removed. Unhook a spring before you "
    "remove its disc.",
    "Stalled motors grow hot and can be strong enough to break fingers: fuse the motor, and make it stop by "
    "itself when it is held.",
    "Fatigue: printed parts weaken with every turn and break without warning. Inspect levers, hubs and "
    "dogs for cracks after the first hour, then at each interval, and replace them in good time.",
    "Exhibits and children: a guard that only a tool opens, no gap that a finger enters, no small part "
    "within reach, a stop that everybody can reach, and supervision. Toys and exhibits have rules of their "
    "own.",
    "Cut the power: make sure it stays off before you reach in, build, test by hand or take apart.",
    "Local codes and licensed practice come first: where they ask for other guards, stops or wiring than "
    "this manual does, or for a licensed person, follow them.",
)
"""Hazards of such machines, and precautions: its name, a colon, the rest."""

PLACES: dict[Area, str] = {
    "timing": "add blocks in the timing diagram",
    "items": "Machine > Flow…",
    "forces": "Lane > Load…",
    "torque": "Machine > Motor and drive train…",
    "fits": "Machine > Stacks and order…",
    "heights": "Machine > Stacks and order…",
    "shaft": "Machine > Stacks and order…",
    "parts": "add blocks in the timing diagram",
}
"""Where each area of the verdict is described."""

LONGEST = 190
"""Characters of the sentence that describes the machine, at most."""


def sentence_of(context: ManualContext) -> str:
    """Return one sentence that describes the machine: the first of its notes, or what it has."""
    first = re.split(r"(?<=[.!?])\s+", " ".join(context.project.notes.split()), maxsplit=1)[0]
    if first:
        return first if len(first) <= LONGEST else f"{first[:LONGEST].rsplit(' ', 1)[0]}…"
    return _composed(context)


def _composed(context: ManualContext) -> str:
    project = context.project
    source = None if project.drive is None else project.drive.source
    one = "One shaft" if source is None else "One motor" if isinstance(source, MotorSource) else "One crank"
    discs = len(context.of_kind("disc"))
    groups = list(dict.fromkeys(lane.group for lane in project.lanes if lane.group))
    shafts = "" if len(context.stacks) == 1 else f" on {len(context.stacks)} shafts"
    what = f": {listed(groups)}" if 0 < len(groups) <= 5 else ""
    return f"{one}, {counted(discs, 'disc')}{shafts}{what}."


def rotation(context: ManualContext) -> tuple[str, str]:
    """Return the sense of rotation, and the speed with the time of a turn."""
    shaft = context.project.shaft
    turn = seconds(60.0 / shaft.speed_rpm, 1)
    return shaft.turn.capitalize(), f"{rpm(shaft.speed_rpm)}, one turn {turn}"


def height(context: ManualContext) -> tuple[str, str]:
    """Return how high the stacks are, and the frame with the rods."""
    own = [(stack, stack_plan(context.project, stack).height_mm) for stack in context.stacks]
    tallest = max((high for _, high in own), default=0.0)
    frame = context.order.frame
    if frame is None:
        return f"{plain(tallest, 1)} mm of discs", f"frame {NOT_DESCRIBED}: Machine > Frame…"
    whole = frame.plates["top"][1] - frame.plates["bottom"][0]
    rods = listed([f"{plain(shaft.rod_length_mm, 1)} mm" for shaft in frame.shafts])
    word = "rod" if len(frame.shafts) == 1 else "rods"
    return f"{plain(tallest, 1)} mm of discs", f"{plain(whole, 1)} mm with frame; {word} {rods}"


KIND_WORDS = {
    "coupon": "fit coupon",
    "driver": "stage driver",
    "geneva": "Geneva wheel",
    "stepped": "stepped wheel",
}
"""Kinds of parts by other words than their own."""


def printed_parts(context: ManualContext) -> tuple[str, str]:
    """Return how many parts are printed, and of which kinds."""
    counts: Counter[str] = Counter()
    for item in context.order.items:
        if is_printed_part(context, item):
            counts[KIND_WORDS.get(item.part.kind, item.part.kind)] += item.part.count
    kinds = [f"{count} {kind if count == 1 else plural(kind)}" for kind, count in counts.items()]
    return f"{sum(counts.values())} pieces", ", ".join(kinds)


def is_printed_part(context: ManualContext, item: object) -> bool:
    """Return whether a part is printed, by its material."""
    from shaftscore.make.files.order import OrderedPart, part_material
    from shaftscore.model.materials import is_printed

    assert isinstance(item, OrderedPart)
    return is_printed(part_material(context.project, item.part))


def printing(context: ManualContext) -> tuple[str, str]:
    """Return mass and hours of all that is printed, and what the estimate assumes."""
    loads = [load.estimate for load in context.plates if load.estimate.hours > 0]
    if not loads:
        return "nothing is printed", "parts are cut from their materials"
    whole = summed(loads)
    return f"{mass_text(whole)}, {number(whole.hours, 1)} h", short_assumptions(context.project.print)


def mass_text(need: PrintEstimate) -> str:
    """Return a mass in g, or that it is not known."""
    if need.mass_g is None:
        return "mass not known"
    return f"{number(need.mass_g, 0 if need.mass_g >= 10 else 1)} g"


def hours_text(need: PrintEstimate) -> str:
    """Return a printing time in hours and minutes, whole minutes: "2 h 05 min"."""
    if not need.hours:
        return "not printed"
    minutes = max(1, round(need.hours * 60))
    return f"{minutes // 60} h {minutes % 60:02d} min" if minutes >= 60 else f"{minutes} min"


def filament_text(need: PrintEstimate) -> str:
    """Return a length of filament in m."""
    return f"{number(need.filament_m, 1)} m" if need.hours else "–"


def short_assumptions(printer: Print) -> str:
    """Return in short what estimates assume."""
    return (
        f"estimate: {counted(printer.walls, 'wall')}, {plain(printer.infill_percent)} % infill, "
        f"{plain(printer.layer_mm)} mm layers, at most {plain(printer.flow_mm3_s)} mm³/s"
    )


def largest_disc(context: ManualContext) -> tuple[str, str]:
    """Return the largest disc with its diameter, and which bed has room for it."""
    sizes = [(2 * float(np.hypot(*item.part.outline.T).max()), item) for item in context.of_kind("disc")]
    if not sizes:
        return NOT_DESCRIBED, "add blocks in the timing diagram"
    across, item = max(sizes, key=lambda pair: pair[0])
    wide, deep = (float(size) for size in np.ptp(item.part.outline, axis=0))
    bed = context.project.print
    fits = "fits" if max(wide, deep) <= min(bed.bed_x_mm, bed.bed_y_mm) else "larger than"
    bed_text = f"{plain(bed.bed_x_mm)} × {plain(bed.bed_y_mm)} mm"
    return (
        f"{item.part.code}, {number(across, 0)} mm",
        f"{wide:.0f} × {deep:.0f} mm; {fits} the bed of {bed_text}",
    )


def torque(context: ManualContext) -> tuple[str, str]:
    """Return the greatest torque at the master shaft, and what motor and gears allow."""
    drive = context.project.drive
    allowed = f"motor and gears {NOT_DESCRIBED}: {PLACES['torque']}"
    if drive is not None:
        who = "motor and gears allow" if isinstance(drive.source, MotorSource) else "the crank allows"
        allowed = f"{who} {newton_metres(allowed_torque_nm(drive))}"
    peak = None if context.report.loads is None else context.report.loads.camshaft.peak
    forces = context.report.coverage.areas["forces"]
    if peak is None or forces.state is CoverageState.NOT_DESCRIBED:
        return NOT_DESCRIBED, f"forces: {PLACES['forces']}"
    part = f"; of {forces.described} of {forces.count} lanes" if forces.state is CoverageState.PARTLY else ""
    place = round_angle(peak.theta_deg, context.report.cycles)
    return f"{newton_metres(peak.value)} at {place}", f"{allowed}{part}"


STATES = {
    CoverageState.CHECKED: "checked",
    CoverageState.PARTLY: "partly described",
    CoverageState.NOT_DESCRIBED: NOT_DESCRIBED,
    CoverageState.NOT_NEEDED: "not needed",
}
"""States of an area, in words."""


def coverage_line(area: AreaCoverage) -> str:
    """Return what is checked of an area, and where the rest is described."""
    said = STATES[area.state]
    if area.state is CoverageState.PARTLY and 0 < area.described < area.count:
        said = f"{area.described} of {area.count} described"
    return f"{said}: {PLACES[area.area]}" if area.state.is_gap else said


def foot_text(context: ManualContext) -> str:
    """Return the foot of every page."""
    turn = context.project.shaft.turn
    return f"Turn the shaft {turn} only, seen from the top. Codes and revisions are engraved on the parts."


def thickness_text(values: list[float]) -> str:
    """Return thicknesses in short: one, or from the least to the greatest."""
    low, high = min(values), max(values)
    return millimetres(low) if low == high else f"{plain(low, 2)} to {millimetres(high)}"


LAWS = {
    "loose": "the joints stay loose",
    "as-they-lie": "the discs are tightened as they lie",
    "one-way": "all discs are turned one way while they are tightened",
    "lined-up": "the discs are lined up by their zero marks",
}
"""How the discs are set, in a clause."""


def law_text(fit: StackFit) -> str:
    """Return how the discs of a stack are set, and whether the project states it."""
    assumed = "" if fit.stack.joints is not None else " (not stated yet: Machine > Stacks and order…)"
    return f"{fit.stack.label}: {LAWS[fit.law]}{assumed}."
