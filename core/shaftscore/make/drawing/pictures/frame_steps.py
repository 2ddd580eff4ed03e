"""Putting a machine into its frame: plate, pillars, motor, shafts, followers, top plate, knob, springs.

The order is one in which every part can still be reached: the motor with its pinion before the shaft that
it drives, levers from the lowest up, swung outward, springs last.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace

from shaftscore.base.wording import degrees, listed, millimetres, plain
from shaftscore.layout.coupled import hub_wheel
from shaftscore.layout.crank import crank_of
from shaftscore.layout.followers import FollowerLayout
from shaftscore.layout.frame_plan import FrameHole, FramePlan, FrameShaft
from shaftscore.layout.stacks import own_code
from shaftscore.layout.train import PinionPlan, pinion_plans
from shaftscore.make.drawing.joint_texts import setting_steps
from shaftscore.make.drawing.pictures.clamps import clamp
from shaftscore.make.drawing.pictures.exploded import visible_edge
from shaftscore.make.drawing.pictures.follower_bodies import follower_bodies, follower_layouts
from shaftscore.make.drawing.pictures.follower_texts import lever_text, no_parts_text, slide_text
from shaftscore.make.drawing.pictures.frame_bodies import bearings, frame_of, knob, motor, pillars, plate
from shaftscore.make.drawing.pictures.gear_marks import gear_marks, marked_wheels
from shaftscore.make.drawing.pictures.machine import PicturedMachine, PicturedPart, prisms_of
from shaftscore.make.drawing.pictures.projecting import hides, seen_point
from shaftscore.make.drawing.pictures.shaft_steps import sleeve_size
from shaftscore.make.drawing.pictures.stack_parts import hub, layers, pinions, pins, rod
from shaftscore.make.drawing.pictures.step_scenes import (
    StepLabel,
    StepPicture,
    arrow_beside,
    edge_label,
    hung,
    step_scene,
)
from shaftscore.make.drawing.pictures.steps import AssemblyStep, RepeatedStep, repeats_text
from shaftscore.model import Project, Stack

LIFT_SHARE = 0.22
"""By which a new part is drawn above its place, of the height between the plates."""

LIFT_SHARES = (0.5, 1.0, 1.8, 2.6)
"""Shares of that by which a follower is drawn higher, the first at which it is seen."""

PLACE_MM = 0.05
"""A hole that is no farther from a pivot is that of its rod."""

MOST_NAMED = 8
"""So many holes are named one by one in a sentence."""


@dataclass
class _FrameSteps:
    """Makes the steps of a machine's frame. built: what is there."""

    machine: PicturedMachine
    plan: FramePlan
    room: tuple[float, float]
    number: int
    built: list[PicturedPart] = field(default_factory=list)

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
        yield from self._followers()
        yield self._top_plate()
        if self._motor_face == "above":
            yield self._motor()
        own = knob(self.machine)
        if own is not None:
            yield self._knob(own)
        yield from self._springs()
        yield self._first_turn()

    def _take(self) -> int:
        self.number += 1
        return self.number - 1

    @property
    def _lift(self) -> float:
        return LIFT_SHARE * self.plan.between_mm

    def _step(
        self,
        title: str,
        text: str,
        new: Sequence[PicturedPart],
        labels: Sequence[StepLabel] = (),
        *,
        lift_mm: float | None = None,
        arrow: tuple[complex, complex] | None = None,
    ) -> AssemblyStep:
        """Draw a step that lowers new parts onto what is there, and keep them."""
        lift = self._lift if lift_mm is None else lift_mm
        lifted = hung(new, lift)
        named = labels or [edge_label(_name(part), part, []) for part in lifted[:1]]
        if arrow is None and lifted and lift > 0:
            arrow = arrow_beside(lifted, 0.6 * lift)
        drawn = step_scene(StepPicture(self.built, lifted, named, arrow, has_codes=False), *self.room)
        self.built += new
        codes = tuple(dict.fromkeys(part.code for part in new if part.code))
        return AssemblyStep(self._take(), title, text, drawn, codes)

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
        labels += [_up_label("ball bearing", part, self._lift * 0.5) for part in lower[:1]]
        return self._step("Bottom plate", text, lower, labels, lift_mm=self._lift * 0.5)

    def _pillars(self) -> AssemblyStep:
        new = list(pillars(self.machine))
        names = [hole.name for hole in self.plan.holes if hole.is_pillar]
        text = (
            f"Stand the rods of {names[0]} to {names[-1]} in PLATE-BOTTOM, with a washer and a nut below. "
            f"Slide {_sleeves(self.plan.pillar_pieces)} over each. "
            f"The plates will be {millimetres(self.plan.between_mm)} apart."
        )
        sleeve = [part for part in new if part.role == "pillar"]
        labels = [_up_label("PILLAR", part, self._lift) for part in sleeve[-1:]]
        return self._step("Pillars", text, new, labels)

    def _top_plate(self) -> AssemblyStep:
        new = [plate(self.machine, "top")]
        upper = [part for part in bearings(self.machine) if part.instance.startswith("upper")]
        names = listed([shaft.name for shaft in self.plan.shafts])
        text = _sleeve_text(self.plan) + (
            f"Lower PLATE-TOP over the pillars and over the rods in {names}. Put a washer and a nut on each "
            "pillar. Tighten them crosswise. Every shaft must turn freely."
        )
        shared = _shared_holes(self.plan)
        if shared:
            text += f" The pivot rods in {_few(shared)} go through it."
        step = self._step("Top plate", text, [*new, *upper])
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
        text = f"Screw the motor to {side}: its collar in hole M, its screws in {_few(screws)}."
        text += "".join(f" {said}" for _, plan in own_plans for said in _pinion_text(self.machine, plan))
        labels = [_up_label(part.code, part, self._lift) for part in wheels]
        if not wheels:
            labels = [_up_label("motor", own, self._lift)]
        lowered = hung([own], -2 * self._lift) if place.face == "below" else [own]
        up = seen_point(complex(own.prisms[0].outline.real.max() + 6.0), lowered[0].top_mm)
        arrow = (up - 0.8j * self._lift, up) if place.face == "below" else None
        step = self._step("Motor", text, [*lowered, *wheels], labels, arrow=arrow)
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
            yield self._step(f"{part.code} on its shaft", " ".join(_pinion_text(self.machine, plan)), [part])

    # Shafts

    def _shaft(self, shaft: FrameShaft) -> AssemblyStep:
        stack, project = shaft.stack, self.machine.project
        new = [rod(self.machine, stack), *layers(self.machine, stack), *pins(self.machine, stack)]
        own = hub(self.machine, stack)
        if own is not None:
            new.append(own)
        new += [part for up in (False, True) if (part := clamp(self.machine, stack, upper=up)) is not None]
        above = shaft.bottom_mm - self.plan.plates["bottom"][1]
        text = (
            f"Lower the shaft of {stack.label}, rod {millimetres(shaft.rod_length_mm)} long, with its stack "
            f"through the bearing in {shaft.name}. The bottom of the stack is {millimetres(above)} above the "
            "plate. Turn its zero marks onto the reference line, towards +x."
        )
        text += "".join(f" {said}" for said in _mesh_text(project, stack, bool(self._pinions())))
        lift = 0.5 * self._lift
        labels = [_up_label(_name(part), part, lift) for part in new[-3:] if part.role == "hub"]
        return self._step(f"Shaft of {stack.label}", text, new, labels, lift_mm=lift)

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
        yield AssemblyStep(self._take(), "Check the marks of the gears", text, drawn)

    # Followers

    def _followers(self) -> Iterator[AssemblyStep]:
        """Yield the steps of followers, those of one kind and rod one after the other, alike ones counted."""
        layouts = follower_layouts(self.machine)
        made = [lane for lane in self.machine.solution.lanes if lane in layouts]
        made.sort(key=lambda lane: _rod_key(layouts, lane))
        place = 0
        while place < len(made):
            alike = _alike(layouts, made, place)
            yield self._follower(made[place], layouts[made[place]], alike)
            place += 1 + len(alike)
        bare = [
            solved.lane.code or solved.lane.label
            for lane, solved in self.machine.solution.lanes.items()
            if lane not in layouts and solved.profile is not None and solved.stack in self.machine.places
        ]
        if bare:
            yield AssemblyStep(self._take(), "Other followers", no_parts_text(_few(bare)), None)
        yield from self._heights()

    def _heights(self) -> Iterator[AssemblyStep]:
        """Yield the step that sets the heights of followers, where the project says how."""
        said = dict.fromkeys(
            one for shaft in self.plan.shafts for one in setting_steps(shaft.stack) if one.startswith("Set")
        )
        if said:
            rollers = [part for part in self.built if part.role == "roller" and self._is_seen(part)][:1]
            labels = [edge_label("middle of its disc", part, []) for part in rollers]
            yield self._step("Heights of the followers", " ".join(said), [], labels)

    def _follower(self, lane_id: str, layout: FollowerLayout, alike: Sequence[str]) -> AssemblyStep:
        new = self._follower_parts(lane_id, layout)
        holes = _holes_of(self.plan, layout)
        said = (
            slide_text(layout, holes)
            if layout.pivot is None
            else lever_text(layout, holes, _rod_hole(self.plan, layout))
        )
        text = " ".join(said)
        shown = [part for part in new if part.role in ("lever", "bracket")]
        lift = self._free_lift(shown)
        labels = [_up_label(part.code, part, lift) for part in shown]
        name = layout.lane.code or layout.lane.label
        step = self._step(f"Follower of {name} {layout.lane.label}", text, new, labels, lift_mm=lift)
        repeats = tuple(self._repeat(one) for one in alike)
        if repeats:
            step = replace(step, text=f"{step.text} {repeats_text(repeats)}", repeats=repeats)
        return step

    def _free_lift(self, shown: Sequence[PicturedPart]) -> float:
        """Return a height above its place at which a follower is seen: no gear or disc is in front of it."""
        there = prisms_of(self.built)
        for share in LIFT_SHARES:
            lifted = [part.lifted(share * self._lift) for part in shown]
            points = [visible_edge(part.prisms[0], []) for part in lifted]
            over = [one for one in there if one.top_mm > lifted[0].top_mm]
            if not any(hides(one, point) for one in over for point in points):
                return share * self._lift
        return LIFT_SHARES[0] * self._lift

    def _is_seen(self, part: PicturedPart) -> bool:
        """Return whether nothing above a part hides its right edge."""
        at = visible_edge(part.prisms[0], [])
        return not any(hides(one, at) for one in prisms_of(self.built) if one.top_mm > part.top_mm)

    def _follower_parts(self, lane_id: str, layout: FollowerLayout) -> list[PicturedPart]:
        solved = self.machine.solution.lanes[lane_id]
        found = follower_bodies(self.machine, solved, layout)
        return [part for part in found if part.role != "spring"]

    def _repeat(self, lane_id: str) -> RepeatedStep:
        layout = follower_layouts(self.machine)[lane_id]
        self.built += self._follower_parts(lane_id, layout)
        code = layout.lane.code or layout.lane.label
        return RepeatedStep(self._take(), code, layout.lane.label, "")

    def _springs(self) -> Iterator[AssemblyStep]:
        """Yield the step in which all springs are hooked in, after everything else."""
        layouts = follower_layouts(self.machine)
        new = [
            part
            for lane, layout in layouts.items()
            for part in follower_bodies(self.machine, self.machine.solution.lanes[lane], layout)
            if part.role == "spring"
        ]
        if not new:
            return
        names = [layouts[part.lane_id].lane.code or "" for part in new]
        text = (
            f"Wear eye protection. Hook the springs of {_few(names)} into the holes of their levers. Hook "
            "their other ends to posts where the drawings of the followers show them. Each roller must rest "
            "on its disc through a whole turn."
        )
        labels = [_up_label("spring", part, 0.0) for part in new[:1]]
        yield self._step("Springs, last of all", text, new, labels, lift_mm=0.0)

    # The end

    def _knob(self, own: PicturedPart) -> AssemblyStep:
        shaft = self.plan.shafts[0]
        text = f"Slide KNOB on the rod in {shaft.name}. Turn it by hand before power is put on."
        return self._step("Knob", text, [own])

    def _first_turn(self) -> AssemblyStep:
        project = self.machine.project
        text = (
            f"Power off, turn the machine by hand, {project.shaft.turn} seen from the top, as the arrows on "
            "the discs point. Stop where it binds and look why. Then work through the test cards."
        )
        return self._step("First turn", text, [], [StepLabel("turn by hand", self._knob_point())])

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


def _name(part: PicturedPart) -> str:
    return part.code or part.instance


def _up_label(text: str, part: PicturedPart, up_mm: float) -> StepLabel:
    """Return the label of a part that is drawn lifted, mm."""
    return edge_label(text, part.lifted(up_mm), [])


def _few(names: Sequence[str]) -> str:
    """Return names in a few words: all of a few, else the first, the last and how many."""
    if len(names) <= MOST_NAMED:
        return listed(list(names))
    return f"{names[0]} to {names[-1]} ({len(names)} in all)"


def _shared_holes(plan: FramePlan) -> list[str]:
    return [hole.name for hole in plan.of_plate("top") if hole.purpose.startswith("pivot")]


def _sleeve_text(plan: FramePlan) -> str:
    """Return how the upper bearing sleeves are put on; empty where no rod needs one."""
    if all(sleeve_size(shaft.stack) is None for shaft in plan.shafts):
        return ""
    return "Slide the other bearing sleeve on the upper end of each rod. "


def _rod_key(layouts: dict[str, FollowerLayout], lane: str) -> tuple[float, str, float, float, float]:
    """Return by what followers are put on: rods by their lowest levers, on a rod from the lowest up."""
    own = layouts[lane]
    bottom, pivot = own.bands.levers[0].bottom_mm, own.pivot or own.guide_start or 0j
    same = (one.bands.levers[0].bottom_mm for one in layouts.values() if own.pivot and one.pivot == own.pivot)
    return min([bottom, *same]), own.parts.kind, round(pivot.real, 2), round(pivot.imag, 2), bottom


def _alike(layouts: dict[str, FollowerLayout], made: Sequence[str], place: int) -> list[str]:
    """Return the lanes after a place whose followers are put on as the one there."""
    own = layouts[made[place]]
    found = []
    for lane in made[place + 1 :]:
        other = layouts[lane]
        if other.is_sleeve != own.is_sleeve or other.parts.kind != own.parts.kind:
            break
        if own.is_sleeve and other.pivot != own.pivot:
            break
        if not own.is_sleeve and (own.rod_in_frame or other.rod_in_frame):
            break
        found.append(lane)
    return found


def _holes_of(plan: FramePlan, layout: FollowerLayout) -> list[FrameHole]:
    """Return the screw holes of a follower's bracket in the bottom plate."""
    code = f"bracket {layout.lane.code}-K"
    return [hole for hole in plan.of_plate("bottom") if code in hole.purpose]


def _rod_hole(plan: FramePlan, layout: FollowerLayout) -> str:
    """Return the name of the hole that the rod of a lever goes through; empty where it ends in a bracket."""
    if not layout.rod_in_frame or layout.pivot is None:
        return ""
    return next((hole.name for hole in plan.of_plate("top") if abs(hole.at - layout.pivot) < PLACE_MM), "")


def _pinion_text(machine: PicturedMachine, plan: PinionPlan) -> Iterator[str]:
    spur = plan.stage.spur
    source = "crank" if crank_of(machine.project) is not None else "motor"
    where = "its axle" if plan.flat_mm is None else f"the shaft of the {source}"
    yield f"Put {plan.code} on {where}."
    yield f"Its axis is {millimetres(spur.pair.centre_mm, 2)} from the axis that it drives."
    yield f"The teeth then have {millimetres(spur.pair.backlash_mm, 2)} of backlash."


def _mesh_text(project: Project, stack: Stack, has_pinion: bool) -> Iterator[str]:
    """Yield how the wheel of a stack is put in mesh, by its marks."""
    if stack is project.stacks[0] and stack.hub is not None and has_pinion:
        code = own_code("HUB", project, stack)
        yield f"Put the marked tooth of the pinion into the gap of {code} that is marked with a crossed line."
    wheel = hub_wheel(project, stack)
    if wheel is not None and wheel.mate:
        driver = next(one for one in project.stacks if one.id == wheel.mate)
        own, other = own_code("HUB", project, stack), own_code("HUB", project, driver)
        yield f"Put the marked tooth of {own} into the gap of {other} that is marked towards it."
        yield f"The axes are {millimetres(wheel.centre_mm, 2)} apart."
    angle = 360.0 / wheel.wheel.teeth if wheel is not None else 0.0
    if angle:
        yield f"One tooth off is {degrees(angle)} off: look at the marks again."
    if stack.rod is not None and stack.rod.bearing == "plain":
        yield f"Oil the rod of {plain(stack.rod.across_mm)} mm where it runs in the plates."


def _sleeves(count: int) -> str:
    """Return what is put about the rod of a pillar."""
    return "a sleeve PILLAR" if count == 1 else f"{count} sleeves PILLAR"
