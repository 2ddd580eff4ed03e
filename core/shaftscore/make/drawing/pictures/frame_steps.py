"""Putting a machine into its frame: plate, pillars, motor, shafts, followers, top plate, knob, springs.

The order is one in which every part can still be reached: the motor with its pinion before the shaft that
it drives, levers from the lowest up, swung outward, springs last.
"""

from __future__ import annotations

from collections.abc import Iterator

from shaftscore.base.wording import listed, millimetres
from shaftscore.layout.frame_plan import SPRING_ROD_MM, FramePlan, FrameShaft
from shaftscore.layout.train import PinionPlan, pinion_plans
from shaftscore.make.drawing.pictures.clamps import clamp
from shaftscore.make.drawing.pictures.follower_steps import follower_steps, spring_steps
from shaftscore.make.drawing.pictures.frame_bodies import (
    bearings,
    frame_of,
    knob,
    motor,
    pillars,
    plate,
    spring_rods,
)
from shaftscore.make.drawing.pictures.frame_build import FrameBuild, part_name, up_label
from shaftscore.make.drawing.pictures.frame_texts import few_names, mesh_text, pinion_text, sleeve_text
from shaftscore.make.drawing.pictures.gear_marks import gear_marks, marked_wheels
from shaftscore.make.drawing.pictures.machine import PicturedMachine, PicturedPart
from shaftscore.make.drawing.pictures.projecting import seen_point
from shaftscore.make.drawing.pictures.stack_parts import hub, layers, pinions, pins, rod, stage_parts
from shaftscore.make.drawing.pictures.step_scenes import StepLabel, edge_label, hung
from shaftscore.make.drawing.pictures.steps import AssemblyStep


class _FrameSteps(FrameBuild):
    """Makes the steps of a machine's frame."""

    def steps(self) -> Iterator[AssemblyStep]:
        """Yield the steps, from the bare plate to the first turn by hand."""
        yield self._plate()
        yield self._pillars()
        if self._motor_face == "below":
            yield self._motor()
        yield from self._loose_pinions()
        for shaft in self.plan.shafts:
            yield self._shaft(shaft)
        yield from self._gears()
        yield from follower_steps(self)
        yield self._top_plate()
        if self._motor_face == "above":
            yield self._motor()
        own = knob(self.machine)
        if own is not None:
            yield self._knob(own)
        yield from spring_steps(self)
        yield self._first_turn()

    # Plates and pillars

    def _plate(self) -> AssemblyStep:
        base = plate(self.machine, "bottom")
        self.built.append(base)
        lower = [part for part in bearings(self.machine) if part.instance.startswith("lower")]
        text = (
            "Drill the plates by the drilling template, or print them. Keep the names of the holes in sight."
        )
        if lower:
            names = [shaft.name for shaft in self.plan.shafts if shaft.bearing is not None]
            seats = f"seat {names[0]}" if len(names) == 1 else f"each of the seats {listed(names)}"
            text += (
                f" Press a ball bearing into {seats} of PLATE-BOTTOM, from above."
                f" Press another into {seats} of PLATE-TOP, from below."
            )
        labels = [edge_label("PLATE-BOTTOM", base, [])]
        labels += [up_label("ball bearing", part, self.lift_mm * 0.5) for part in lower[:1]]
        return self.step("Bottom plate", text, lower, labels, lift_mm=self.lift_mm * 0.5)

    def _pillars(self) -> AssemblyStep:
        new = list(pillars(self.machine))
        names = [hole.name for hole in self.plan.holes if hole.is_pillar]
        text = (
            f"Stand the rods of {names[0]} to {names[-1]} in PLATE-BOTTOM, with a washer and a nut below. "
            f"Slide {_sleeves(self.plan.pillar_pieces)} over each. "
            f"The plates will be {millimetres(self.plan.between_mm)} apart."
        )
        sleeve = [part for part in new if part.role == "pillar"]
        labels = [up_label("PILLAR", part, self.lift_mm) for part in sleeve[-1:]]
        return self.step("Pillars", text, new, labels)

    def _top_plate(self) -> AssemblyStep:
        new = [plate(self.machine, "top")]
        upper = [part for part in bearings(self.machine) if part.instance.startswith("upper")]
        names = listed([shaft.name for shaft in self.plan.shafts])
        text = sleeve_text(self.plan) + (
            f"Lower PLATE-TOP over the pillars and over the rods in {names}. Put a washer and a nut on each "
            "pillar. Tighten them crosswise. Every shaft must turn freely."
        )
        shared = _shared_holes(self.plan)
        if shared:
            text += f" The pivot rods in {few_names(shared)} go through it."
        step = self.step(
            "Top plate", text + _spring_rod_text(self.plan), [*new, *spring_rods(self.machine), *upper]
        )
        # from here on the plate would hide what is under it
        self.built = [part for part in self.built if part.code != "PLATE-TOP"]
        return step

    # Motor and drive

    @property
    def _motor_face(self) -> str:
        own = self.plan.frame.motor
        return "" if own is None else own.face

    def _motor(self) -> AssemblyStep:
        """Screw the motor on, with the pinion that its shaft carries."""
        own, place = motor(self.machine), self.plan.frame.motor
        assert own is not None, "the frame has a motor"
        assert place is not None, "the frame has a motor"
        own_plans = [(part, plan) for part, plan in self._pinions() if plan.flat_mm is not None]
        wheels = [part for part, _ in own_plans]
        screws = [hole.name for hole in self.plan.holes if hole.name.startswith("M") and hole.name != "M"]
        side = "PLATE-BOTTOM, from below" if place.face == "below" else "PLATE-TOP, from above"
        text = f"Screw the motor to {side}: its collar in hole M, its screws in {few_names(screws)}."
        text += "".join(f" {said}" for _, plan in own_plans for said in pinion_text(self.machine, plan))
        labels = [up_label(part.code, part, self.lift_mm) for part in wheels]
        if not wheels:
            labels = [up_label("motor", own, self.lift_mm)]
        lowered = hung([own], -2 * self.lift_mm) if place.face == "below" else [own]
        up = seen_point(complex(own.prisms[0].outline.real.max() + 6.0), lowered[0].top_mm)
        arrow = (up - 0.8j * self.lift_mm, up) if place.face == "below" else None
        step = self.step("Motor", text, [*lowered, *wheels], labels, arrow=arrow)
        self.built = [own if part.role == "motor" else part for part in self.built]
        return step

    def _pinions(self) -> list[tuple[PicturedPart, PinionPlan]]:
        """Return the pinions that are made, each with its plan."""
        try:
            plans = {plan.code: plan for plan in pinion_plans(self.machine.project)}
        except ValueError:  # they are not made, and the export says why
            return []
        return [(part, plans[part.code]) for part in pinions(self.machine) if part.code in plans]

    def _loose_pinions(self) -> Iterator[AssemblyStep]:
        """Yield the steps of pinions that no step with the motor puts on."""
        with_motor = self.plan.frame.motor is not None
        for part, plan in self._pinions():
            if plan.flat_mm is not None and with_motor:
                continue
            yield self.step(f"{part.code} on its shaft", " ".join(pinion_text(self.machine, plan)), [part])

    # Shafts

    def _shaft(self, shaft: FrameShaft) -> AssemblyStep:
        stack = shaft.stack
        new = [rod(self.machine, stack), *layers(self.machine, stack), *pins(self.machine, stack)]
        own = hub(self.machine, stack)
        if own is not None:
            new.append(own)
        new += stage_parts(self.machine, stack)
        new += [part for up in (False, True) if (part := clamp(self.machine, stack, upper=up)) is not None]
        above = shaft.bottom_mm - self.plan.plates["bottom"][1]
        text = (
            f"Lower the shaft of {stack.label}, rod {millimetres(shaft.rod_length_mm)} long, with its stack "
            f"through the bearing in {shaft.name}. The bottom of the stack is {millimetres(above)} above the "
            "plate. Turn its zero marks onto the reference line, towards +x."
        )
        text += "".join(
            f" {said}" for said in mesh_text(self.machine, stack, has_pinion=bool(self._pinions()))
        )
        lift = 0.5 * self.lift_mm
        labels = [
            up_label(part_name(part), part, lift)
            for part in new[-4:]
            if part.role in ("hub", "driver", "geneva", "stepped")
        ]
        return self.step(f"Shaft of {stack.label}", text, new, labels, lift_mm=lift)

    def _gears(self) -> Iterator[AssemblyStep]:
        """Yield the step in which the marks of the gears are checked, with a drawing in plan."""
        wheels = marked_wheels(self.machine)
        if not wheels:
            return
        side = (
            "from below, where their marks are (dashed)" if wheels[0].is_below else "from above, at a slant"
        )
        text = (
            f"Turn all zero marks onto the reference line, towards +x. Look at the gears {side}: each marked "
            "tooth is in its marked gap. If one is not, lift the shaft and turn it by a tooth."
        )
        drawn = gear_marks(self.machine, *self.room)
        yield AssemblyStep(self.take(), "Check the marks of the gears", text, drawn)

    # The end

    def _knob(self, own: PicturedPart) -> AssemblyStep:
        shaft = self.plan.shafts[0]
        text = f"Slide KNOB on the rod in {shaft.name}. Turn it by hand before power is put on."
        return self.step("Knob", text, [own])

    def _first_turn(self) -> AssemblyStep:
        project = self.machine.project
        text = (
            f"Power off, turn the machine by hand, {project.shaft.turn} seen from the top, as the arrows on "
            "the discs point. Stop where it binds and look why. Then work through the test cards."
        )
        return self.step("First turn", text, [], [StepLabel("turn by hand", self._knob_point())])

    def _knob_point(self) -> complex:
        """Return the upper end of the first shaft, as seen."""
        shaft = self.plan.shafts[0]
        return seen_point(shaft.at, shaft.rod_mm[1])


def frame_steps(
    machine: PicturedMachine, wide_mm: float, high_mm: float, first: int = 1
) -> tuple[AssemblyStep, ...]:
    """Return the steps that put the shafts into their frame, drawn in a room on paper, mm.

    first: number of the first step. Empty where the machine has no frame.
    """
    if machine.frame is None:
        return ()
    return tuple(_FrameSteps(machine, frame_of(machine), (wide_mm, high_mm), first).steps())


def _shared_holes(plan: FramePlan) -> list[str]:
    return [hole.name for hole in plan.of_plate("top") if hole.purpose.startswith("pivot")]


def _spring_rod_text(plan: FramePlan) -> str:
    """Return how the rods for springs are put in; empty without any."""
    if not plan.springs:
        return ""
    names = [rod.name for rod in plan.springs]
    rods = f"a threaded rod M{SPRING_ROD_MM:g}" + (" each" if len(names) > 1 else "")
    return f" Put {rods} through {few_names(names)} of both plates, with a nut on either side of each plate."


def _sleeves(count: int) -> str:
    """Return what is put about the rod of a pillar."""
    return "a sleeve PILLAR" if count == 1 else f"{count} sleeves PILLAR"
