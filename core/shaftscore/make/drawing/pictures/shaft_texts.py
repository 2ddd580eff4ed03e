"""The steps of a shaft in sentences, one action each."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from shaftscore.base.wording import plain
from shaftscore.layout.stacks import stages_of, step_codes
from shaftscore.layout.stepping import GenevaStepStage
from shaftscore.make.drawing.pictures.machine import PicturedMachine, PicturedPart
from shaftscore.make.drawing.train_texts import TIGHTEN
from shaftscore.model import Stack

DRIVEN = {"bottom": "down", "top": "up"}
"""Where the driven end points while the stack is put together."""

POSITIONS = {"hex": "six", "square": "four"}
"""Positions in which a disc goes on a bore."""


def is_threaded(stack: Stack) -> bool:
    """Return whether the rod of a stack is threaded: nuts clamp it."""
    return stack.rod is not None and stack.rod.thread is not None


def spacers_text(parts: Sequence[PicturedPart]) -> str:
    """Return how spacers are put on, by their code, with their count if there are several."""
    code = parts[0].code
    return f"Slide on {code if len(parts) == 1 else f'{len(parts)} × {code}'}."


def no_clamp_text(stack: Stack) -> str:
    """Return what is done where a bearing or a hub leaves no room for a clamp at the upper end."""
    told = "There is no room for a clamp at its upper end"
    if stack.hub is None or stack.driven_end == "bottom":
        return f"{told}: hold the stack down while you tighten it."
    return f"{told}: press the hub down on the stack while you tighten its screw."


def rod_text(stack: Stack, own: PicturedPart | None, *, has_sleeve: bool, has_collar: bool) -> Iterator[str]:
    """Yield how the rod is set up; own: the hub that goes on it first, if any."""
    yield f"Cut the power. Stand the rod upright, its driven end {DRIVEN[stack.driven_end]}."
    if has_sleeve:
        yield "Slide on one bearing sleeve."
    if has_collar:
        word = "nut and a washer" if is_threaded(stack) else "clamp collar"
        yield (
            f"Put on the lower {word}. Its upper face is z 0." if own is None else f"Put on the lower {word}."
        )
    if own is not None:
        yield from hub_text(stack, own.code)
        yield "From now on its zero mark is the zero of the shaft."
    else:
        yield "Parts go on from the bottom, z 0, upward."


def hub_text(stack: Stack, code: str) -> Iterator[str]:
    """Yield how a hub is put on and fixed; code: engraved on it."""
    assert stack.hub is not None, "a stack without a hub has no step for it"
    fixed = TIGHTEN[stack.hub.kind].format(size=plain(stack.hub.bolt_mm), count=stack.hub.bolts)
    if stack.driven_end == "bottom":
        pegs = ", its pegs up" if stack.dogs is not None else ""
        yield f"Slide on {code}, collar up{pegs}. Its top is at z 0."
    else:
        pockets = ", the long peg of the last part in its long pocket" if stack.dogs is not None else ""
        yield f"Turn {code} over. Slide it on, collar down{pockets}."
        yield "Turn its zero mark over those of the discs."
    yield f"{fixed[0].upper()}{fixed[1:]}."


def stage_text(machine: PicturedMachine, own: PicturedPart) -> Iterator[str]:
    """Yield how the driver or the wheel of an intermittent stage is put on."""
    project = machine.project
    stage = next(one for one in stages_of(project) if own.code in step_codes(project, one))
    stack = stage.driving if own.role == "driver" else stage.driven
    pocket = (
        ", the long peg of the last part in its long pocket" if stack.dogs is not None and stage.is_up else ""
    )
    away = "up" if stage.is_up else "down"
    if own.role == "driver":
        if isinstance(stage, GenevaStepStage):
            size = f"{plain(stage.shape.pin_mm)} mm thick and {plain(stage.driver_high_mm, 2)} mm long"
            yield f"Press a pin, {size}, into the hole of {own.code}, flush with the lower face of the plate."
            yield "Glue it if it can be turned by hand."
        yield f"Slide {own.code} on, locking disc {away}{pocket}."
    else:
        yield f"Slide {own.code} on, collar {'down' if stage.is_up else 'up'}{pocket}."
    yield "Turn its zero mark over those of the discs."
    positions = POSITIONS.get(stack.bore.shape)
    if positions is not None and stack.dogs is None:
        yield f"It goes on in {positions} positions: check its mark."


def disc_text(
    machine: PicturedMachine,
    disc: PicturedPart,
    below: PicturedPart | None,
    *,
    has_spacer: bool,
    has_pegs: bool,
) -> Iterator[str]:
    """Yield how a disc is put on; has_pegs: those of the part under it go into its pockets."""
    part, stack = machine.made(disc.code)[0], machine.project.stack_of(machine.project.lane(disc.lane_id))
    bottom = disc.prisms[0].bottom_mm - machine.places[stack.id][1]
    if has_spacer:
        yield "Slide on the spacer."
    yield f"Slide on {part.code} (revision {part.revision}), marked face up."
    if has_pegs:
        yield "Put the long peg of the part below in its long pocket."
    if below is None:
        yield "From now on its zero mark is the zero of the shaft."
    else:
        yield f"Turn it until its zero mark is over that of {below.code}. Push it down."
    yield f"Its bottom is at z {plain(bottom, 3)} mm."
    positions = POSITIONS.get(stack.bore.shape)
    if positions is not None and stack.dogs is None and stack.pins is None:
        yield f"It goes on in {positions} positions: check its mark."


def keyed_texts(machine: PicturedMachine, stack: Stack) -> Iterator[str]:
    """Yield sentences that say what turns the discs where it is not the rod alone."""
    if stack.keying == "shaft" or stack.pins is not None:
        if stack.bore.shape == "round" and stack.pins is None and stack.fixing == "keyed":
            yield "The bore is round: pin, key or clamp every disc to the shaft, its zero mark in line."
        return
    discs = machine.project.discs_of(stack)
    first = discs[0] if stack.driven_end == "bottom" else discs[-1]
    name = first.code or first.label
    if stack.hub is not None:
        yield f"The hub turns {name}, the disc at the driven end ({stack.driven_end})."
    else:
        yield f"Fix {name}, the disc at the driven end ({stack.driven_end}), to the shaft."
    yield "Every other disc is turned by the dogs of its neighbour, one after the other from there."
