"""What one sees when a machine does not work, the probable cause, and what to do: in the order worth trying.

Angles and sizes come from the project; what a machine does not have is left out.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass

from shaftscore.base.angles import TURN, wrap
from shaftscore.base.wording import angle_range, degrees, listed, millimetres, newton_metres, plain, plural
from shaftscore.bringup.fault_words import other_way
from shaftscore.bringup.permitted import tooth_deg
from shaftscore.bringup.stops import expected
from shaftscore.judge.findings.in_rounds import round_angle
from shaftscore.judge.report import Report
from shaftscore.make.drawing.scene import Scene
from shaftscore.make.manual import signs
from shaftscore.make.manual.cards import cards
from shaftscore.make.manual.context import ManualContext, codes_text
from shaftscore.model import MotorSource, Project

SIDES = {"hex": 6, "square": 4}
"""Sides of a bore into which a disc goes in so many positions."""


@dataclass(frozen=True)
class Symptom:
    """One row: a drawing, what is seen, why, and what to do."""

    drawing: Callable[[], Scene]
    seen: str
    cause: str
    cure: str


def symptoms(context: ManualContext) -> Iterator[Symptom]:
    """Yield the rows."""
    project = context.project
    yield _all_late(context)
    yield Symptom(
        signs.reversed_order,
        "Everything happens in reverse order",
        "The shaft turns the other way, or the whole stack was put on upside down.",
        f"{other_way(project)} Turn {project.shaft.turn} by hand, seen from the top. Marked faces are up.",
    )
    yield from _geared_late(context)
    yield from _off_mark(context)
    if len(context.of_kind("disc")) > 1:
        yield Symptom(
            signs.swapped,
            "Two lanes do each other’s work",
            "Their discs are swapped, or their followers are joined to the wrong outputs.",
            "Compare the engraved codes with “Which disc is which”, then swap the discs.",
        )
    yield from _too_short(context)
    yield Symptom(
        signs.binds,
        "The shaft binds at one angle",
        "A roller rubs on a neighbouring disc, a lever hits its post, or a disc sits too high.",
        "Mark the angle and look from the side. Check the height z of that disc and the spacer below it "
        "against “Section of the shaft”.",
    )
    yield from _lifts_off(project)
    yield _stops(context)
    yield from _wrong_count(context.report)


def _all_late(context: ManualContext) -> Symptom:
    tooth = tooth_deg(context.project, context.project.stacks[0])
    check = _check_text(context)
    if tooth is None:
        return Symptom(
            signs.all_late,
            "All lanes are late or early by the same angle",
            "The pointer of the dial has slipped, or the shaft has turned in its hub or coupling.",
            f"Set the pointer to 0° with all zero marks on the reference line, tighten it, then {check}.",
        )
    return Symptom(
        signs.all_late,
        "All lanes are late or early by the same angle",
        f"{degrees(tooth)}: the hub gear is one tooth off. Any other angle: the dial’s pointer has slipped.",
        f"Take the motor or crank off, turn the gear back by one tooth against its pinion, then {check}.",
    )


def _check_text(context: ManualContext) -> str:
    """Return where to look again: the first row of the first card in which something changes."""
    for card in cards(context.report):
        for row in card.rows:
            for lane, cell in zip(card.lanes, row.cells, strict=True):
                if cell.changed and cell.level and cell.rank:
                    name = lane.lane.code or lane.lane.label
                    return f"check that {name} is at “{cell.level}” at {degrees(row.angle_deg)}"
    return "go through the test cards again"


def _geared_late(context: ManualContext) -> Iterator[Symptom]:
    """Yield a row for a further stack that is geared to another one."""
    for stack in context.stacks[1:]:
        tooth = tooth_deg(context.project, stack)
        if tooth is None:
            continue
        codes = codes_text([lane.code or "" for lane in context.project.discs_of(stack)])
        by_dial = tooth / context.project.turns_of(stack)
        yield Symptom(
            signs.shafts_differ,
            f"Only the lanes of {stack.label} are off, all by the same angle",
            f"{degrees(by_dial)} of the dial: its gear is one tooth off. It carries {codes}.",
            "Lift it out of mesh, put its marked tooth into the marked gap with all zero marks on the "
            "reference line, and lower it again.",
        )


def _off_mark(context: ManualContext) -> Iterator[Symptom]:
    """Yield a row for discs that go on in several positions."""
    for stack in context.stacks:
        if stack.dogs is not None or stack.pins is not None:
            continue
        sides = SIDES.get(stack.bore.shape)
        turned = f" of {stack.label}" if len(context.stacks) > 1 else ""
        cure = "Take the stack apart down to it, turn it until its mark is in line, put everything back."
        if sides is not None:
            shape = {6: "hexagon", 4: "square"}[sides]
            by_dial = TURN / sides / context.project.turns_of(stack)
            yield Symptom(
                signs.one_late,
                f"One lane{turned} is late or early by {degrees(by_dial)} or a multiple",
                f"Its disc was put on with its zero mark off: the {shape} allows {sides} positions.",
                cure,
            )
        elif stack.bore.shape == "round":
            yield Symptom(
                signs.one_late,
                f"One lane{turned} is late or early",
                "Its disc has turned on the round rod, or was fixed with its zero mark off.",
                cure,
            )


def _too_short(context: ManualContext) -> Iterator[Symptom]:
    sizes: dict[float, list[str]] = {}
    for lane in context.project.lanes:
        radius = getattr(lane.follower, "roller_radius_mm", 0.0)
        if lane.kind != "index" and radius:
            sizes.setdefault(2 * radius, []).append(lane.code or lane.label)
    if not sizes:
        return
    rollers = "; ".join(f"{plain(size, 2)} mm: {codes_text(codes)}" for size, codes in sizes.items())
    yield Symptom(
        signs.too_short,
        "A lane moves at the right time but not far enough",
        "Play in its lever or guide, a wrong roller, or a follower that is set too far out.",
        f"Check the roller ({rollers}). Take up the play at the pivot. Measure, and enter it in "
        "Lane > Correct from measurements.",
    )


def _lifts_off(project: Project) -> Iterator[Symptom]:
    sprung = [lane for lane in project.lanes if getattr(lane.follower, "closure", "") == "spring"]
    if not sprung:
        return
    yield Symptom(
        signs.lifts_off,
        "A roller lifts off its disc on the way down",
        "The spring is too weak or unhooked, or the guide is dry or bent.",
        "Compare the spring with the list on the cover. Clean and grease the guide. Turn more slowly.",
    )


def _stops(context: ManualContext) -> Symptom:
    project, report = context.project, context.report
    peak = None if report.loads is None else report.loads.camshaft.peak
    needed = "The torque that it should take is not described yet: Lane > Load."
    if peak is not None:
        needed = (
            f"It should take at most {newton_metres(peak.value)} at the master shaft, most at "
            f"{round_angle(peak.theta_deg, report.cycles)}."
        )
    if project.drive is not None and not isinstance(project.drive.source, MotorSource):
        return Symptom(
            signs.crank_is_hard,
            "The crank is hard to turn",
            "Gears mesh too tightly, a bearing is skew, or something binds.",
            f"Unhook the springs and find what still binds. {needed}",
        )
    return Symptom(
        signs.motor_stops,
        "The motor hums or stops",
        "The supply is weak, the gears mesh too tightly, or something binds.",
        f"Cut the power at once. Turn by hand. {needed}",
    )


def _wrong_count(report: Report) -> Iterator[Symptom]:
    """Yield a row for the first gate, if items move through the machine."""
    flow = report.project.flow
    gates = () if flow is None else flow.gates
    for gate in gates:
        spans = [interval.span for interval in report.solution.intervals(gate.state)]
        if not spans:
            continue
        solved = report.solution.lanes[gate.state.lane]
        code, at = solved.lane.code or solved.lane.label, wrap(spans[0].middle)
        output = expected(report.project, solved, at).output_mm
        yield Symptom(
            signs.wrong_count,
            f"Two {plural(gate.item or 'item')} come out, or none",
            "The gate is open too long or too short, or its magazine was empty.",
            f"Stop {code} at {degrees(at)} by hand and measure {millimetres(output)}. By the program it is "
            f"open from {listed([angle_range(span) for span in spans[:3]])}.",
        )
        return
