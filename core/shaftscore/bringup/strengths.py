"""What the parts that a jam loads withstand, as far as the file describes them.

A *strength* is the load at which a part first yields, without reserve: a force at the roller along its travel
(N), or a torque at the lane's own stack (N·m). Stresses are those of a part without notches; a printed part
yields at the strength that its material states, across its layers sooner. Steel parts yield at the least
strength of `shaftscore.built.materials`. Formulas are those of any textbook of strength of materials:

    (1) line contact: first yield where the greatest shear 0.3003 p0 reaches half the strength (Tresca), p0 of
        `judge.loads.contact`. A. P. Boresi, R. J. Schmidt, Advanced Mechanics of Materials, 6th ed., ch. 17
    (2) lever between pivot and jammed output, at a and b from the pivot: M = F a (b - a) / b where the output
        is beyond the roller, else F (a - b)
    (3) roller's pin, held on one side: M = F e, e between the middles of roller and lever
    (4) rod and post of a lever: the bending moments of `built.posts`, shared by their stiffnesses
    (5) pins and dogs in shear: T = n A r τ, τ half the strength (Tresca)
    (6) bore of n flats of length l: pressure rises from the middle of a flat to its corner, T = n p t l² / 12
    (7) rod twisted: T = τ W, τ the yield strength / √3 (von Mises)
    (8) teeth: Lewis, `built.lewis`, at the strength itself

Not judged: slides, couplers and guide links, screws of hubs, wheels between stacks, springs.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from math import isfinite, pi, radians, sqrt, tan

import numpy as np

from shaftscore.built.arrays import Reals
from shaftscore.built.lewis import SAFETY, allowed_mpa
from shaftscore.built.materials import SOLID_MATERIALS
from shaftscore.built.posts import PostRod
from shaftscore.built.sections import ring_section
from shaftscore.judge.loads.contact import effective_modulus_mpa
from shaftscore.judge.loads.gears import gear_material, tooth_loads
from shaftscore.judge.loads.posts import post_rod
from shaftscore.judge.shaft.rods import rod_figures
from shaftscore.kinematics.profiles import Kinematics
from shaftscore.layout.follower_bars import axle_mm, lever_bar
from shaftscore.layout.followers import FollowerLayout, FollowerLayoutError, machine_follower, part_code
from shaftscore.layout.pivots import LeverSeat
from shaftscore.model import Lane, Project, Stack
from shaftscore.model.materials import materials_of
from shaftscore.solution import LaneSolution, Solution
from shaftscore.stack.followers import TURNING_MM, contact_width_mm, post_radius_mm

SHEAR_SHARE = 0.3003
"""Greatest shear stress under a line contact over its greatest pressure."""

STEEL = SOLID_MATERIALS["steel"]
"""Pins, axles and rods of levers are of steel."""


@dataclass(frozen=True)
class PartStrength:
    """What one part withstands.

    name: of the part, for people. force_n: at the roller along its travel, None for parts that carry torque.
    torque_nm: at the lane's own stack, None for parts that carry a force.
    """

    name: str
    force_n: float | None = None
    torque_nm: float | None = None


@dataclass(frozen=True)
class LaneStrengths:
    """Strengths of all parts that a jam of one lane loads; unknown: sentences of what is not known."""

    parts: tuple[PartStrength, ...]
    unknown: tuple[str, ...]


def lane_strengths(solution: Solution, solved: LaneSolution, seats: Mapping[str, LeverSeat]) -> LaneStrengths:
    """Return the strengths of a lane's follower and of what turns its disc; seats: of all levers."""
    found, unknown = list[PartStrength](), list[str]()
    project, lane = solution.project, solved.lane
    stack = project.stack_of(lane)
    strength = _disc_mpa(project, lane)
    if strength is None:
        unknown.append(f"{project.lane(lane.disc_of or lane.id).disc.material} states no strength.")
    else:
        found += _on_disc(project, stack, lane, strength)
    found += _rod(project, stack, unknown)
    found += _teeth(project, stack)
    layout = _laid_out(solution, solved, seats)
    if layout is None:
        unknown.append("Its lever or slide is not described as parts.")
    elif layout.pivot is None:
        found += _axle(layout)
        unknown.append("The slide itself is not checked.")
    else:
        found += [*_lever(project, layout), *_axle(layout), *_post(project, layout)]
    return LaneStrengths(
        tuple(one for one in found if isfinite(one.force_n or one.torque_nm or 0.0)), tuple(unknown)
    )


def edge_forces_n(project: Project, solved: LaneSolution, at: Kinematics) -> Reals | None:
    """Return the force along the travel at which the disc's edge first yields, (n,) N; None if not known.

    inf where both surfaces conform, 0 under a knife edge. (1)
    """
    host = project.lane(solved.lane.disc_of or solved.lane.id)
    table = materials_of(project)
    partners = table[host.disc.material], table[solved.lane.follower.material]
    strengths = [one.strength_mpa for one in partners if one.strength_mpa is not None]
    if partners[0].strength_mpa is None:
        return None
    pressure = min(strengths) / 2 / SHEAR_SHARE
    width, modulus = contact_width_mm(project, solved.lane), effective_modulus_mpa(*partners)
    roller = at.model.roller_radius_mm
    with np.errstate(divide="ignore"):
        own = 0.0 if at.model.is_flat else float(np.float64(1.0) / np.float64(roller))
        bend = np.maximum(at.curvature + own, 0.0)
        normal = pressure**2 * pi * width / (modulus * bend)
    return np.asarray(normal * np.cos(np.radians(at.pressure_deg)))


def _disc_mpa(project: Project, lane: Lane) -> float | None:
    return materials_of(project)[project.lane(lane.disc_of or lane.id).disc.material].strength_mpa


def _on_disc(project: Project, stack: Stack, lane: Lane, strength_mpa: float) -> Iterator[PartStrength]:
    """Yield what turns the disc: pins and the walls of their holes, dogs, or the bore on its rod."""
    thick = project.lane(lane.disc_of or lane.id).disc.thickness_mm
    pins, dogs = stack.pins, stack.dogs
    if stack.fixing != "keyed":
        return
    if pins is not None:
        area = pi / 4 * pins.across_mm**2
        yield _torque("Pins", pins.count * area * STEEL.yield_mpa / 2 * pins.radius_mm)  # (5)
        walls = pins.count * pins.across_mm * thick * strength_mpa * pins.radius_mm
        yield _torque("Pin holes of the disc", walls)
    elif stack.is_chain and dogs is not None:
        area = dogs.count * pi / 4 * dogs.width_mm**2 + dogs.width_mm**2  # (5), the first one is longer
        yield _torque("Dogs of the disc", area * dogs.radius_mm * strength_mpa / 2)
    else:
        yield from _bore(stack, thick, strength_mpa)


def _bore(stack: Stack, thick_mm: float, strength_mpa: float) -> Iterator[PartStrength]:
    """Yield the bore of a disc on the flats of its rod (6)."""
    sides = {"hex": 6, "square": 4}.get(stack.bore.shape)
    if sides is not None:
        flat = stack.bore.across_mm * tan(radians(180 / sides))
    elif stack.bore.flat_mm is not None:
        radius, sides = stack.bore.across_mm / 2, 1
        flat = 2 * sqrt(max(radius**2 - (stack.bore.flat_mm - radius) ** 2, 0.0))
    else:
        return
    yield _torque("Bore of the disc", sides * strength_mpa * thick_mm * flat**2 / 12)


def _rod(project: Project, stack: Stack, unknown: list[str]) -> Iterator[PartStrength]:
    """Yield the rod of a stack, twisted (7)."""
    if stack.rod is None:
        unknown.append(f"The rod of {stack.label} is not described.")
        return
    figures = rod_figures(project, stack, stack.rod)
    if isinstance(figures, str) or figures.yield_mpa is None:
        unknown.append(figures if isinstance(figures, str) else f"{stack.rod.material} has no known yield.")
        return
    yield _torque("Rod of the stack", figures.yield_mpa / sqrt(3) * figures.section.torsion_modulus_mm3)


def _teeth(project: Project, stack: Stack) -> Iterator[PartStrength]:
    """Yield the teeth of each stage that is made (8)."""
    _, strength = gear_material(project)
    if strength is None:
        return
    for load in tooth_loads(project, 1.0):
        if load.torque_nm > 0:
            master = SAFETY * allowed_mpa(strength) / load.stress_mpa
            name = f"Teeth of stage {load.number}"
            yield PartStrength(name, torque_nm=master * stack.efficiency / float(project.rates[stack.id]))


def _laid_out(
    solution: Solution, solved: LaneSolution, seats: Mapping[str, LeverSeat]
) -> FollowerLayout | None:
    try:
        return machine_follower(solution, solved, seats)
    except FollowerLayoutError:  # a bad part, which says why
        return None


def _lever(project: Project, layout: FollowerLayout) -> Iterator[PartStrength]:
    """Yield the lever between its pivot and a jammed output (2)."""
    strength = _disc_mpa(project, layout.lane)
    try:
        bar = lever_bar(layout)
    except FollowerLayoutError:  # a bad part, which says why
        return
    arm, end = layout.parts.arm_mm, layout.parts.output_mm
    reach = arm * (end - arm) / end if end > arm else arm - end
    hole = max(one.radius_mm for one in bar.holes if one.name != "spring hook")
    high = 2 * bar.half_mm
    modulus = bar.thickness_mm * (high**3 - (2 * hole) ** 3) / (6 * high) * bar.count
    if strength is not None and reach > 0:
        yield PartStrength(f"Lever {bar.code}", force_n=strength * modulus / reach)


def _axle(layout: FollowerLayout) -> Iterator[PartStrength]:
    """Yield the pin or screw of the roller where it is held on one side (3)."""
    try:
        size = axle_mm(layout)
    except FollowerLayoutError:  # a knife edge
        return
    levers, roller = layout.bands.levers, layout.bands.roller
    if len(levers) == 1:
        middle = (levers[0].bottom_mm + levers[0].top_mm) / 2
        reach = abs(middle - (roller.bottom_mm + roller.top_mm) / 2)
        if reach > 0:
            code = part_code(layout.lane, "L" if layout.pivot is not None else "S")
            yield PartStrength(
                f"Roller pin of {code}", force_n=STEEL.yield_mpa * ring_section(size).modulus_mm3 / reach
            )


def _post(project: Project, layout: FollowerLayout) -> Iterator[PartStrength]:
    """Yield the rod of a lever, and the post about it (4)."""
    size = layout.parts.pivot_rod_mm
    one = post_rod(project, layout)
    code = part_code(layout.lane, "K")
    alone, foot = post_moments(one)
    both = one.rod_nmm2 + one.post_nmm2
    share = one.rod_nmm2 / both if one.post_mm > 0 else 1.0
    section = ring_section(size)
    worst = max(alone, foot * share)
    if worst > 0:
        yield PartStrength(f"Pivot rod of {code}", force_n=STEEL.yield_mpa * section.modulus_mm3 / worst)
    strength = _disc_mpa(project, layout.lane)
    if strength is not None and one.post_mm > 0 and foot > 0:
        post = ring_section(2 * post_radius_mm(size), size + 2 * TURNING_MM)
        force = strength * post.modulus_mm3 / (foot * one.post_nmm2 / both)
        yield PartStrength(f"Post {code}", force_n=force)


def post_moments(rod: PostRod) -> tuple[float, float]:
    """Return the greatest moments of a unit force, mm: in the rod alone, and in rod and post together."""
    at, post = rod.at_mm, min(rod.post_mm, rod.at_mm)
    if rod.length_mm is None:
        return at - post, at if post > 0 else 0.0
    rest = rod.length_mm - at
    greatest = at * rest / rod.length_mm
    return greatest, post * rest / rod.length_mm


def _torque(name: str, newton_millimetres: float) -> PartStrength:
    return PartStrength(name, torque_nm=newton_millimetres / 1000)
