"""What the build sheet says in words: title, cautions, parts, assembly, test cards, findings, proof."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from shaftscore.base.tolerance import PROOF_LIFT_MM
from shaftscore.base.wording import counted, degrees, millimetres, plain, rpm
from shaftscore.judge.findings import words
from shaftscore.layout.frame_plan import FramePlan
from shaftscore.make.drawing.joint_texts import fit_of, joint_steps, play_text, setting_steps
from shaftscore.make.drawing.train_texts import hub_step, train_steps
from shaftscore.make.files.order import MakeOrder
from shaftscore.make.files.tables import HEAD, parts_list
from shaftscore.make.proof import DiscProof, FitProof
from shaftscore.make.sheet.card import cards
from shaftscore.make.sheet.fit_proof import write_fits
from shaftscore.make.sheet.paper import HEAD_PT, MUTED, SMALL_PT, TITLE_PT, Paper
from shaftscore.make.sheet.printing import write_printing
from shaftscore.make.sheet.verdict import write_verdict
from shaftscore.make.solids import CLEARANCES_MM, MadePart
from shaftscore.make.solids.hole_play import hole_plays
from shaftscore.model import Project, Stack
from shaftscore.stack import stack_plan

CAUTIONS = (
    "Pinch points: discs, followers and gears catch fingers, hair, sleeves and cables. Keep clear while "
    "the shaft can turn, and guard what others can reach.",
    "Rotating parts: wear nothing loose, and let nobody reach in while the machine runs. Printed parts can "
    "break; wear eye protection.",
    "Springs store energy: a follower can snap back when its disc is taken out. Ease springs off first.",
    "Stalled motors grow hot and can be strong enough to break fingers: fuse the motor, and stop it by "
    "itself when it is held.",
    "Cut the power, and see that it stays off, before you reach in, build, test by hand or take apart.",
    "Local codes and licensed practice come first: where they ask for other guards, stops or wiring than "
    "this sheet does, or for a licensed person, follow them.",
)
"""What can hurt, and what to do about it."""

COLUMNS = (0, 1, 2, 3, 4, 5, 6, 7)
"""Columns of the parts list that the sheet shows: all but the names of files."""


def write_title(paper: Paper, order: MakeOrder) -> None:
    """Write the first page: what it is, how it turns, what can hurt, what is open."""
    project = order.report.project
    paper.say(project.name, TITLE_PT)
    paper.say("Build sheet", HEAD_PT, MUTED)
    paper.gap()
    for said in _facts(project):
        paper.say(said)
    paper.gap()
    write_verdict(paper, order.report)
    if project.notes.strip():
        paper.gap()
        paper.say(project.notes, colour=MUTED)
    paper.gap(5.0)
    paper.heading("Cautions")
    for caution in CAUTIONS:
        paper.say(caution)
        paper.gap(1.2)
    _write_findings(paper, order)


def _facts(project: Project) -> Iterator[str]:
    shaft = project.shaft
    yield (
        f"The master shaft turns {shaft.turn}, seen from the top, at {rpm(shaft.speed_rpm)}. "
        "One turn of it is one cycle."
    )
    for stack in project.stacks:
        times = "once" if stack.turns == 1 else f"{stack.turns} times"
        count = counted(len(project.discs_of(stack)), "disc")
        yield f"{stack.label}: {count}, turns {project.turn_of(stack)}, {times} a cycle."
    yield "Turning it the other way plays the program backwards: do not."


def _write_findings(paper: Paper, order: MakeOrder) -> None:
    """List what the check found, and what this export could not make."""
    report = order.report
    paper.gap(4.0)
    paper.heading("Open findings")
    if not report.findings:
        paper.say("None.")
    folded = report.folded
    for finding in folded.roots:
        said = words(finding, report.project)
        place = ", ".join(filter(None, (said.lanes, said.where)))
        paper.say(
            f"{finding.severity.name.lower()}: {said.title}{f' ({place})' if place else ''}. {said.what}"
            + _and_following(len(folded.following(finding)))
        )
    for note in order.notes:
        paper.say(f"note: {note}.")


def _and_following(count: int) -> str:
    """Return how many findings follow from one, as the end of its paragraph; empty for none."""
    return f" {count:,} more {'follows' if count == 1 else 'follow'} from it." if count else ""


def write_parts(paper: Paper, order: MakeOrder) -> None:
    """Write the parts list: what is printed, then what is bought."""
    paper.new_page()
    paper.heading("Parts list")
    rows = parts_list(order, {item: item.stem for item in order.items})
    head = [HEAD[column] for column in COLUMNS]
    shown = ([row[column] for column in COLUMNS] for row in rows if row[2] != "build plate")
    paper.table(head, shown, (8, 14, 8, 10, 6, 22, 9, 13))
    write_printing(paper, order)


def write_coupons(paper: Paper, order: MakeOrder) -> None:
    """Write how the fit is found with the coupons, before anything else is printed."""
    coupons = [item.part for item in order.items if item.part.kind == "coupon"]
    if not coupons:
        return
    paper.gap(5.0)
    paper.heading("First of all: the fit", keep_mm=40.0)
    for part in coupons:
        stack = next(s for s in order.report.project.stacks if s.id == part.stack_id)
        paper.say(_fit(part, stack))
        paper.gap(1.2)
        _write_holes(paper, order.report.project, stack)
    paper.say(
        "Take the number back into the project (Machine > Set fit clearance) and export again: holes, "
        "pockets and dogs follow, and the list of what changed says which parts that makes new.",
        colour=MUTED,
    )


def _write_holes(paper: Paper, project: Project, stack: Stack) -> None:
    """Write each hole of a coupon with the play that its clearance gives the discs."""
    paper.need(16.0)
    holes = hole_plays(project, stack)
    head = ("hole", *(str(one.hole) for one in holes))
    rows = [
        ("number below it", *(f"{round(100 * one.clearance_mm):02d}" for one in holes)),
        ("clearance", *(millimetres(one.clearance_mm, 2) for one in holes)),
        ("play of a joint", *(one.play_text for one in holes)),
    ]
    paper.table(head, rows, (16, *[10] * len(holes)))
    paper.gap(2.0)


def _fit(part: MadePart, stack: Stack) -> str:
    steps = f"{plain(CLEARANCES_MM[0], 2)} to {plain(CLEARANCES_MM[-1], 2)} mm"
    pegs = (
        " Do the same with the peg of the second coupon in the pockets below: where they differ, the larger "
        "number serves both."
    )
    return (
        f"{stack.label}: print {part.code} ({counted(part.count, 'piece')}) on the printer and of the "
        f"material of the discs. Its holes have clearances of {steps} on each side; the number below each "
        "is its clearance in hundredths of a millimetre. Take the smallest into which the shaft goes by "
        f"hand, without force and without shake.{pegs if part.dogs else ''} The project uses "
        f"{millimetres(stack.fit_clearance_mm, 2)} now."
    )


def write_assembly(paper: Paper, order: MakeOrder) -> None:
    """Write the order of assembly of every stack, bottom to top."""
    paper.new_page()
    paper.heading("Assembly order")
    for stack in order.report.project.stacks:
        for number, said in enumerate(_assembly(order, stack), start=1):
            if number == 1:
                paper.heading(stack.label, 10.0)
                paper.say(f"Play and seat of {play_text(fit_of(order.report, stack))}", colour=MUTED)
                paper.gap(0.8)
            paper.say(f"{number}. {said}")
            paper.gap(0.8)
        paper.gap()
    if order.frame is not None:
        _write_frame(paper, order.frame)


def _write_frame(paper: Paper, frame: FramePlan) -> None:
    """Write how the stacks are put into their frame."""
    paper.heading("Frame", 10.0)
    for number, said in enumerate(_frame_steps(frame), start=1):
        paper.say(f"{number}. {said}")
        paper.gap(0.8)


def _frame_steps(frame: FramePlan) -> Iterator[str]:
    """Yield the steps, one action a sentence."""
    pillars = [hole.name for hole in frame.holes if hole.is_pillar]
    yield "Drill the plates by the drilling template, or print them. Keep the names of the holes in sight."
    if any(shaft.bearing for shaft in frame.shafts):
        yield "Press a bearing into each seat, in the upper face of PLATE-BOTTOM and the lower of PLATE-TOP."
    if frame.frame.motor is not None:
        yield "Screw the motor to its plate, its collar in hole M."
    yield (
        f"Stand the rods of {pillars[0]} to {pillars[-1]} in PLATE-BOTTOM, with a washer and a nut below. "
        f"Slide a sleeve PILLAR over each: the plates are then {millimetres(frame.between_mm)} apart."
    )
    for shaft in frame.shafts:
        yield (
            f"Put the rod of {shaft.stack.label}, {millimetres(shaft.rod_length_mm)} long, with its stack "
            f"through the bearing in {shaft.name}. The bottom of the stack is "
            f"{millimetres(shaft.bottom_mm - frame.plates['bottom'][1])} above the plate."
        )
    yield "Lower PLATE-TOP over rods and pillars. Tighten its nuts crosswise; the shafts must turn freely."
    yield f"Slide KNOB on the rod in {frame.shafts[0].name}. Turn it by hand before power is put on."


def _assembly(order: MakeOrder, stack: Stack) -> Iterator[str]:
    project = order.report.project
    layers = stack_plan(project, stack).layers
    if not layers:
        return
    yield (
        f"Cut the power. Stand the shaft upright, its driven end {DRIVEN[stack.driven_end]}: parts go on "
        "from the bottom, z 0, upward."
    )
    parts = {item.part.lane_id: item.part for item in order.of_stack(stack.id)}
    has_hub = _is_made(order, "hub", stack)
    if has_hub and stack.driven_end == "bottom":
        yield hub_step(project, stack)
    for layer in layers:
        part = parts.get(layer.lane_id)
        z = f"its bottom at z {plain(layer.bottom_mm, 3)} mm"
        if part is None:
            lane = project.lane(str(layer.lane_id))
            yield f"(The disc of {lane.label} was not made: see the notes.) Leave its place, {z}."
        else:
            yield f"{_put(part)}, {z}."
    if has_hub and stack.driven_end == "top":
        yield hub_step(project, stack)
    yield from _keyed(project, stack)
    yield from joint_steps(project, fit_of(order.report, stack))
    yield from setting_steps(stack)
    if has_hub or _is_made(order, "pinion", stack):
        yield from train_steps(project, stack)
    yield "Look along the stack: all zero marks, and the ticks on the rims, are on the reference line."
    yield (
        f"Turn it by hand, {project.turn_of(stack)} seen from the top, as the arrows on the discs point. "
        "Stop where it binds and look why. Then work through the test cards."
    )


def _is_made(order: MakeOrder, kind: str, stack: Stack) -> bool:
    """Return whether the order holds a part of a kind for a stack."""
    return any(item.part.kind == kind and item.part.stack_id == stack.id for item in order.items)


DRIVEN = {"bottom": "down", "top": "up"}
"""Where the driven end points while the stack is put together."""


def _keyed(project: Project, stack: Stack) -> Iterator[str]:
    """Yield lines that say what turns the discs where it is not the rod alone."""
    if stack.keying == "shaft" or stack.pins is not None:
        if stack.bore.shape == "round" and stack.pins is None and stack.fixing == "keyed":
            yield "The bore is round: pin, key or clamp every disc to the shaft, its zero mark in line."
        return
    discs = project.discs_of(stack)
    first = discs[0] if stack.driven_end == "bottom" else discs[-1]
    fixed = f"Fix the disc of {first.label}, the one at the driven end ({stack.driven_end}), to the shaft."
    if stack.hub is not None:
        fixed = f"The hub turns the disc of {first.label}, the one at the driven end ({stack.driven_end})."
    yield (
        f"{fixed} Every other disc is turned by the dogs of its neighbour, one after the other from there."
    )


def _put(part: MadePart) -> str:
    pegs = ", the long peg in its pocket" if part.dogs else ""
    if part.lane_id is None:
        return f"{part.code}: put a spacer on{pegs}"
    return f"{part.code} {part.label} (revision {part.revision}): marked face up, zero mark in line{pegs}"


def write_cards(paper: Paper, order: MakeOrder) -> None:
    """Write the cards for the test by hand crank."""
    paper.new_page()
    paper.heading("Test cards for the hand crank")
    turn = order.report.project.shaft.turn
    paper.say(
        f"Power cut, turn the master shaft {turn}, seen from the top, always forward, to each angle, and "
        "tick the row when every lane is as the card says. Angles are of the master shaft, from the "
        "zero marks on the reference line. Start with one group assembled, then add the next.",
        SMALL_PT,
        MUTED,
    )
    for card in cards(order.report):
        paper.gap(4.0)
        paper.heading(f"Group: {card.title}", 10.0, keep_mm=25.0)
        names = [f"{lane.lane.code or ''} {lane.lane.label}".strip() for lane in card.lanes]
        paper.table(("angle", *names, "seen"), card.rows, (7, *[13] * len(names), 6))


def write_proof(paper: Paper, proofs: Sequence[DiscProof], fits: Sequence[FitProof] = ()) -> None:
    """Write what was found when the files were read back, a row a disc and file, then the fits."""
    paper.new_page()
    paper.heading("Proof from the files")
    if not proofs:
        paper.say(
            "No file that a follower can be run over was written together with this sheet, so nothing is "
            "proved here. Export the discs (STL, 3MF or DXF) and the sheet in one go."
        )
        return
    paper.say(
        "Each disc was read back from its file and a follower run over it at every tenth of a degree. Lift "
        f"error: the largest difference from the program, limit {millimetres(PROOF_LIFT_MM, 2)}. Shift: of "
        "the end of a state, the one that uses most of its limit.",
        SMALL_PT,
        MUTED,
    )
    paper.gap()
    head = ("file", "disc", "lift error", "at", "shift", "at", "limit", "holds")
    paper.table(head, [_proof_row(proof) for proof in proofs], (26, 7, 12, 9, 10, 9, 10, 8))
    write_fits(paper, fits)


def _proof_row(proof: DiscProof) -> tuple[str, ...]:
    touching = proof.lift_error_mm == proof.lift_error_mm  # NaN: nothing is touched
    no_state = proof.state_at_deg is None
    return (
        proof.file,
        proof.part,
        millimetres(proof.lift_error_mm, 4) if touching else "no contact",
        degrees(proof.lift_at_deg),
        "no state" if no_state else degrees(proof.state_shift_deg, 3),
        "" if proof.state_at_deg is None else degrees(proof.state_at_deg),
        "" if no_state else degrees(proof.state_limit_deg, 3),
        "no" if proof.faults else "yes",
    )


def texts_of(order: MakeOrder) -> list[str]:
    """Return all words of the maker that stand on the sheet, to see whether the font has their letters."""
    project = order.report.project
    found = [project.name, project.notes, *project.shaft.step_names]
    found += [stack.label for stack in project.stacks]
    for lane in project.lanes:
        found += [lane.label, lane.group, lane.disc.material, lane.follower.material, *lane.levels]
    return found
