"""Assembling a shaft: rod and hub, then spacer and disc by turns, pins, what clamps them, and the joints.

Parts go on from the bottom, z 0, upward. Every disc has its zero mark over the one below it.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np

from shaftscore.base.wording import millimetres
from shaftscore.judge.fits import StackFit, stack_fit
from shaftscore.make.drawing.joint_texts import joint_steps, setting_steps
from shaftscore.make.drawing.pictures.clamps import clamp, clamp_word
from shaftscore.make.drawing.pictures.exploded import turning_arrow
from shaftscore.make.drawing.pictures.machine import PicturedMachine, PicturedPart, prisms_of
from shaftscore.make.drawing.pictures.prisms import round_prism
from shaftscore.make.drawing.pictures.projecting import BACK, UP, hides, seen_point
from shaftscore.make.drawing.pictures.shaft_texts import (
    disc_text,
    hub_text,
    is_threaded,
    keyed_texts,
    no_clamp_text,
    rod_text,
    spacers_text,
    stage_text,
)
from shaftscore.make.drawing.pictures.stack_parts import hub, layers, pins, rod, sleeve_size, stage_parts
from shaftscore.make.drawing.pictures.step_scenes import (
    StepLabel,
    StepPicture,
    arrow_beside,
    edge_label,
    hung,
    join_of,
    step_scene,
    zero_mark,
)
from shaftscore.make.drawing.pictures.steps import AssemblyStep, RepeatedStep, repeats_text
from shaftscore.make.drawing.scene import Path, Scene, Stroke, scene
from shaftscore.make.solids import MadePart
from shaftscore.model import Stack
from shaftscore.stack import stack_plan

SHOWN_BELOW = 4
"""So many parts below a new one are drawn; the rod goes on below them."""

GAP_MM, LIFT_MM = 14.0, 30.0
"""By which a spacer, and a disc, are drawn above their places, mm, at least."""

ROD_OVER_MM = 18.0
"""Rod that is drawn above what is new, mm."""

DRAWN_PAIRS = 2
"""So many steps with a spacer and a disc are drawn before the rest is counted."""

STAGE_TITLES = {"driver": "Driver", "geneva": "Geneva wheel", "stepped": "Stepped wheel"}
"""Titles of the steps in which parts of intermittent stages are put on, by role."""


@dataclass(frozen=True, eq=False)
class _Layer:
    """What one step puts on: a disc with the spacers under it."""

    spacers: tuple[PicturedPart, ...]
    disc: PicturedPart

    @property
    def parts(self) -> tuple[PicturedPart, ...]:
        return (*self.spacers, self.disc)


@dataclass
class _ShaftSteps:
    """Makes the steps of one stack; built: what is on the rod."""

    machine: PicturedMachine
    stack: Stack
    room: tuple[float, float]
    number: int
    built: list[PicturedPart]

    def steps(self) -> Iterator[AssemblyStep]:
        """Yield the steps, from the bare rod to the clamped stack."""
        own, parts = hub(self.machine, self.stack), list(layers(self.machine, self.stack))
        pairs, rest = _pairs(parts)
        if self.stack.driven_end == "bottom":
            yield self._rod(own)
        else:
            yield self._rod(None)
        stages = list(stage_parts(self.machine, self.stack))
        yield from (self._stage(part) for part in stages if part.bottom_mm < self._bottom)
        yield from self._pairs(pairs)
        if rest:
            yield self._last_spacers(rest)
        found = list(pins(self.machine, self.stack))
        if found:
            yield self._pins(found)
        if own is not None and self.stack.driven_end == "top":
            yield self._hub_on_top(own)
        yield from (self._stage(part) for part in stages if part.bottom_mm >= self._bottom)
        collar = clamp(self.machine, self.stack, upper=True)
        if collar is not None:
            yield self._collar(collar)
        yield from self._joints(collar)

    def _take(self) -> int:
        self.number += 1
        return self.number - 1

    def _step(self, title: str, text: str, picture: StepPicture, codes: Sequence[str] = ()) -> AssemblyStep:
        drawn = step_scene(picture, *self.room)
        return AssemblyStep(self._take(), title, text, drawn, tuple(codes))

    # The rod

    def _rod(self, own: PicturedPart | None) -> AssemblyStep:
        """Put the hub on the rod, or the lower collar where the hub is at the other end."""
        stack, new = self.stack, [] if own is None else [own]
        sleeve = self._sleeve()
        collar = clamp(self.machine, stack, upper=False)
        below = [part for part in (sleeve, collar) if part is not None]
        self.built += [*below, *new]
        top = max([part.top_mm for part in new], default=self._bottom)
        shown = self._rod_between(self._rod_low, top + LIFT_MM + ROD_OVER_MM)
        lifted = hung(new, LIFT_MM) if new else hung(below, 0.0)
        old = [shown, *(below if new else [])]
        labels = [edge_label("driven end" if stack.driven_end == "bottom" else "free end", shown, [])]
        labels[0] = StepLabel(labels[0].text, _point_on(shown, shown.bottom_mm + 4.0))
        labels += [edge_label(clamp_word(part), part, []) for part in below]
        arrow = arrow_beside(lifted, LIFT_MM * 0.6) if new else None
        if own is not None:
            mark = zero_mark(lifted[0])
            if mark is not None:
                labels.append(StepLabel("zero mark here", seen_point(*mark)))
        texts = list(rod_text(stack, own, has_sleeve=sleeve is not None, has_collar=collar is not None))
        title = "Rod and hub" if own is not None else "Rod"
        codes = [part.code for part in new]
        return self._step(title, " ".join(texts), StepPicture(old, lifted, labels, arrow), codes)

    @property
    def _bottom(self) -> float:
        return self.machine.places[self.stack.id][1]

    @property
    def _rod_low(self) -> float:
        return rod(self.machine, self.stack).bottom_mm

    def _rod_between(self, low_mm: float, high_mm: float) -> PicturedPart:
        """Return the rod as far as it is shown: between two heights, mm, and no longer than it is."""
        whole = rod(self.machine, self.stack)
        prism = whole.prisms[0]
        ends = (max(low_mm, prism.bottom_mm), min(high_mm, prism.top_mm))
        return replace(whole, prisms=(replace(prism, bottom_mm=ends[0], top_mm=ends[1]),))

    def _sleeve(self) -> PicturedPart | None:
        """Return the lower bearing's sleeve, where the rod does not fill a bearing's bore."""
        sizes = sleeve_size(self.stack)
        if sizes is None:
            return None
        across, long = sizes
        frame = self.machine.frame
        if frame is None:
            return None
        middle = frame.shaft(self.stack.id).lower_mm
        at = self.machine.places[self.stack.id][0]
        prism = round_prism(across / 2, (middle - long / 2, middle + long / 2), "bearing sleeve").moved(at)
        return PicturedPart("bearing", "", "bearing sleeve", (prism,), stack_id=self.stack.id)

    # Discs

    def _pairs(self, pairs: Sequence[_Layer]) -> Iterator[AssemblyStep]:
        """Yield the steps of discs; those that are like the ones before are counted."""
        place = drawn = 0
        while place < len(pairs):
            pair = pairs[place]
            alike = _alike(pairs, place) if drawn >= DRAWN_PAIRS - 1 else []
            step = self._pair(pair)
            repeats = tuple(self._repeat(one) for one in alike)
            if repeats:
                step = replace(step, text=f"{step.text} {repeats_text(repeats)}", repeats=repeats)
            yield step
            drawn += 1
            place += 1 + len(alike)

    def _repeat(self, pair: _Layer) -> RepeatedStep:
        self.built += pair.parts
        part = self._made(pair.disc)
        bottom = pair.disc.prisms[0].bottom_mm - self._bottom
        return RepeatedStep(self._take(), part.code, part.label, part.revision, bottom)

    def _made(self, disc: PicturedPart) -> MadePart:
        return self.machine.made(disc.code)[0]

    def _pair(self, pair: _Layer) -> AssemblyStep:
        """Put a disc on, its spacers first."""
        part, below = self._made(pair.disc), self._marked_below()
        shown = self._shown()
        high = sum(_high_mm(one) for one in pair.spacers)
        lift = max(LIFT_MM, GAP_MM + high + 0.8 * _front_mm(pair.disc) * BACK / UP)
        lifted = [*hung(pair.spacers, GAP_MM), *hung([pair.disc], lift)]
        top = max(one.top_mm for one in lifted)
        bar = self._rod_between(self._low_of(shown), top + ROD_OVER_MM)
        join = None if below is None else join_of(lifted[-1], below)
        mark = zero_mark(lifted[-1])
        labels = [] if mark is None else [StepLabel(_mark_label(below), seen_point(*mark))]
        if pair.spacers:
            labels.append(edge_label("spacer first", lifted[0], lifted[1:]))
        on_others = any(one.role in ("disc", "spacer", "hub") for one in [*self.built, *pair.spacers])
        has_pegs = self.stack.dogs is not None and on_others
        self.built += pair.parts
        picture = StepPicture(
            [bar, *shown],
            lifted,
            labels,
            arrow_beside(lifted[-1:], lift * 0.6),
            [] if join is None else [join],
        )
        title = f"{'Spacer, then disc' if pair.spacers else 'Disc'} {part.code} {part.label}"
        text = " ".join(
            disc_text(self.machine, pair.disc, below, has_spacer=bool(pair.spacers), has_pegs=has_pegs)
        )
        return self._step(title, text, picture, [one.code for one in pair.parts])

    def _marked_below(self) -> PicturedPart | None:
        """Return the highest part on the rod that has a zero mark on its upper face."""
        return next((part for part in reversed(self.built) if zero_mark(part) is not None), None)

    def _shown(self) -> list[PicturedPart]:
        """Return the parts on the rod that are drawn under what is new, pins no longer than they show."""
        others = [part for part in self.built if part.role != "pin"]
        shown = others[-SHOWN_BELOW:]
        low = min((part.bottom_mm for part in shown), default=self._bottom)
        return [*shown, *(_shortened(part, low) for part in self.built if part.role == "pin")]

    def _low_of(self, shown: Sequence[PicturedPart]) -> float:
        if len(shown) == len(self.built):
            return self._rod_low
        return min((part.bottom_mm for part in shown), default=self._bottom) - GAP_MM

    def _last_spacers(self, rest: Sequence[PicturedPart]) -> AssemblyStep:
        """Put on the spacers above the last disc."""
        shown, lifted = self._shown(), hung(rest, GAP_MM)
        bar = self._rod_between(self._low_of(shown), lifted[-1].top_mm + ROD_OVER_MM)
        labels = [edge_label("last spacer", lifted[-1], [])]
        picture = StepPicture([bar, *shown], lifted, labels, arrow_beside(lifted, GAP_MM))
        self.built += rest
        text = spacers_text(rest)
        return self._step("Last spacer", text, picture, [part.code for part in rest])

    def _hub_on_top(self, own: PicturedPart) -> AssemblyStep:
        shown, lifted = self._shown(), hung([own], LIFT_MM)
        bar = self._rod_between(self._low_of(shown), lifted[0].top_mm + ROD_OVER_MM)
        labels = [edge_label(own.code, lifted[0], [])]
        picture = StepPicture([bar, *shown], lifted, labels, arrow_beside(lifted, LIFT_MM * 0.6))
        self.built.append(own)
        return self._step("Hub", " ".join(hub_text(self.stack, own.code)), picture, [own.code])

    def _stage(self, own: PicturedPart) -> AssemblyStep:
        """Put the driver or the wheel of an intermittent stage on."""
        shown, lifted = self._shown(), hung([own], LIFT_MM)
        bar = self._rod_between(self._low_of(shown), lifted[0].top_mm + ROD_OVER_MM)
        labels = [edge_label(own.code, lifted[0], [])]
        picture = StepPicture([bar, *shown], lifted, labels, arrow_beside(lifted, LIFT_MM * 0.6))
        self.built.append(own)
        title = STAGE_TITLES[own.role]
        return self._step(title, " ".join(stage_text(self.machine, own)), picture, [own.code])

    def _pins(self, found: Sequence[PicturedPart]) -> AssemblyStep:
        own = self.stack.pins
        assert own is not None, "pins are described"
        shown = list(self.built)
        lift = 0.4 * (found[0].top_mm - found[0].bottom_mm)
        lifted = hung(found, lift)
        bar = self._rod_between(self._rod_low, lifted[-1].top_mm)
        labels = [StepLabel("pin", _point_on(lifted[-1], lifted[-1].top_mm - 4.0))]
        start = _point_on(lifted[0], lifted[0].top_mm) - 2.0 * found[0].prisms[0].outline.real.std() - 8.0
        picture = StepPicture([bar, *shown], lifted, labels, (start, start - 1j * lift * 0.4))
        self.built += found
        text = next(iter(joint_steps(self.machine.project, self._fit)))
        title = "Pins" if own.count > 1 else "Pin"
        return self._step(title, text, picture)

    # What clamps the stack

    def _collar(self, collar: PicturedPart) -> AssemblyStep:
        """Put the upper collar on, loosely."""
        shown, new = self._shown(), hung([collar], GAP_MM)
        bar = self._rod_between(self._low_of(shown), new[0].top_mm + ROD_OVER_MM)
        labels = [edge_label(clamp_word(collar), new[0], [])]
        picture = StepPicture([bar, *shown], new, labels, arrow_beside(new, GAP_MM))
        self.built.append(collar)
        text = "Slide on the upper clamp collar. Press it down. Leave it loose."
        if is_threaded(self.stack):
            text = "Put on a washer, then the upper nut. Turn it down by hand. Leave it loose."
        return self._step(clamp_word(collar).capitalize(), text, picture)

    # Joints

    @property
    def _fit(self) -> StackFit:
        return stack_fit(self.machine.solution, self.stack)

    def _joints(self, collar: PicturedPart | None) -> Iterator[AssemblyStep]:
        """Yield the step in which the joints are set, and the look along the stack."""
        fit = self._fit
        texts = list(joint_steps(self.machine.project, fit))[1 if self.stack.pins is not None else 0 :]
        setting = [said for said in setting_steps(self.stack) if said.startswith("Clamp")]
        keyed = list(keyed_texts(self.machine, self.stack))
        none = [no_clamp_text(self.stack)] if collar is None and setting else []
        text = " ".join([*keyed, *none, *texts, *setting])
        over = self._joint_lines(fit)
        top = self._rod_between(self._rod_low, self.built[-1].top_mm + ROD_OVER_MM)
        labels = [StepLabel(*one) for one in self._joint_labels(fit)]
        yield self._step(JOINT_TITLES[fit.law], text, StepPicture([top, *self.built], [], labels, over=over))
        look = (
            "Look along the stack. All zero marks, and the ticks on the rims, are on one line. "
            f"Nothing may turn or rattle. Its height is "
            f"{millimetres(stack_plan(self.machine.project, self.stack).height_mm)} from the lowest to "
            "the highest face."
        )
        discs = [part for part in self.built if part.role == "disc"]
        labels = [StepLabel("zero mark", at) for at in self._seen_marks(discs)[-3:]]
        yield self._step("Check the stack", look, StepPicture([top, *self.built], [], labels))

    def _joint_lines(self, fit: StackFit) -> Scene:
        """Return the straight edge along the marks, or the arrow that all discs are turned by."""
        discs = [part for part in self.built if part.role == "disc"]
        at = self.machine.places[self.stack.id][0]
        if fit.law == "one-way":
            from shaftscore.judge.fits.cures import turned_against

            sense = turned_against(self.machine.project, self.stack)
            low = discs[len(discs) // 2]
            reach = max(float(np.abs(one.prisms[0].outline - at).max()) for one in discs)
            return turning_arrow(seen_point(at, low.top_mm), sense, reach / 11.0)
        if fit.law == "lined-up" and self.stack.against == "straight-edge":
            return scene([_straight_edge(discs, at)])
        return Scene()

    def _joint_labels(self, fit: StackFit) -> Iterator[tuple[str, complex]]:
        discs = [part for part in self.built if part.role == "disc"]
        if fit.law == "lined-up":
            yield from (("zero marks in line", at) for at in self._seen_marks(discs)[-1:])
        elif fit.law == "one-way":
            yield from (("zero mark", at) for at in self._seen_marks(discs)[-1:])

    def _seen_marks(self, discs: Sequence[PicturedPart]) -> list[complex]:
        """Return the outer ends of the zero marks that nothing on the rod hides, as seen, from the bottom."""
        found = []
        for part in discs:
            mark = zero_mark(part)
            above = [one for one in prisms_of(self.built) if one.bottom_mm >= part.prisms[0].top_mm - 0.01]
            if mark is not None and not any(hides(one, seen_point(*mark)) for one in above):
                found.append(seen_point(*mark))
        return found


JOINT_TITLES = {
    "loose": "Joints keep their play",
    "one-way": "Turn all discs one way, then tighten",
    "lined-up": "Line up the marks, then fix",
    "as-they-lie": "Tighten the stack",
}
"""Titles of the step that sets the joints."""


def shaft_steps(
    machine: PicturedMachine, stack: Stack, wide_mm: float, high_mm: float, first: int = 1
) -> tuple[AssemblyStep, ...]:
    """Return the steps that put a stack together on its rod, drawn in a room on paper, mm.

    first: number of the first step. Empty where no disc of it is made.
    """
    if stack.id not in machine.places or not any(part.role == "disc" for part in layers(machine, stack)):
        return ()
    return tuple(_ShaftSteps(machine, stack, (wide_mm, high_mm), first, []).steps())


def _pairs(parts: Sequence[PicturedPart]) -> tuple[list[_Layer], list[PicturedPart]]:
    """Return the discs with the spacers under each, and the spacers above the last one."""
    found: list[_Layer] = []
    waiting: list[PicturedPart] = []
    for part in parts:
        if part.role == "spacer":
            waiting.append(part)
        else:
            found.append(_Layer(tuple(waiting), part))
            waiting = []
    return found, waiting


def _alike(pairs: Sequence[_Layer], place: int) -> list[_Layer]:
    """Return the pairs after a place that are put on as the one there."""
    count = len(pairs[place].spacers)
    found = []
    for pair in pairs[place + 1 :]:
        if len(pair.spacers) != count:
            break
        found.append(pair)
    return found


def _shortened(pin: PicturedPart, low_mm: float) -> PicturedPart:
    """Return a pin from a height up, mm."""
    return replace(
        pin, prisms=tuple(replace(one, bottom_mm=max(one.bottom_mm, low_mm)) for one in pin.prisms)
    )


def _high_mm(part: PicturedPart) -> float:
    """Return the height of a part's main body, mm."""
    return part.prisms[0].top_mm - part.prisms[0].bottom_mm


def _front_mm(part: PicturedPart) -> float:
    """Return how far a part reaches to the front of its axis, mm."""
    outline = part.prisms[0].outline
    return float((outline.imag.max() - outline.imag.min()) / 2)


def _point_on(part: PicturedPart, z_mm: float) -> complex:
    """Return a point of the right side of an upright part at a height, as seen."""
    outline = part.prisms[0].outline
    right = outline[int(np.argmax(outline.real - 0.2 * outline.imag))]
    return seen_point(complex(right) * 1.0, z_mm)


def _mark_label(below: PicturedPart | None) -> str:
    return "zero mark here" if below is None else "marks in line"


def _straight_edge(discs: Sequence[PicturedPart], at: complex) -> Path:
    """Return a straight edge laid along the zero marks at the rims, as seen."""
    out = min(abs(mark[0] - at) for part in discs if (mark := zero_mark(part)) is not None)
    low, high = discs[0].bottom_mm - 4.0, discs[-1].top_mm + 8.0
    left, right = seen_point(at + out - 1.5, low).real, seen_point(at + out + 3.0, low).real
    bottom, top = seen_point(at, low).imag, seen_point(at, high).imag
    corners = [complex(left, bottom), complex(right, bottom), complex(right, top), complex(left, top)]
    return Path(np.array(corners), Stroke("new", "bold"), True, fill="new-face", name="straight edge")
