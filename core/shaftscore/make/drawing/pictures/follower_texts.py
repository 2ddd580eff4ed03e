"""How a follower is put together and into its frame, in sentences, one action each."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from shaftscore.base.wording import degrees, listed, millimetres, plain
from shaftscore.layout.follower_bars import axle_mm
from shaftscore.layout.followers import FollowerLayout, part_code
from shaftscore.layout.frame_plan import FrameHole, FramePlan
from shaftscore.make.solids import SolidError

PLACE_MM = 0.05
"""A hole that is no farther from a pivot is that of its rod."""


def screw_holes(plan: FramePlan | None, layout: FollowerLayout) -> list[FrameHole]:
    """Return the screw holes of a follower's bracket in the bottom plate; none without a frame."""
    if plan is None:
        return []
    bracket = f"bracket {part_code(layout.lane, 'K')},"
    return [hole for hole in plan.of_plate("bottom") if bracket in f"{hole.purpose},"]


def rod_hole(plan: FramePlan | None, layout: FollowerLayout) -> str:
    """Return the name of the hole that the rod of a lever goes through; empty where it ends in a bracket."""
    if plan is None or not layout.rod_in_frame or layout.pivot is None:
        return ""
    return next((hole.name for hole in plan.of_plate("top") if abs(hole.at - layout.pivot) < PLACE_MM), "")


def no_parts_text(names: str) -> str:
    """Return a sentence on followers that are not described as parts; names: their codes."""
    return (
        f"The followers of {names} are not described as parts yet: Lane > Follower parts…. Build them so "
        "that their rollers run where the section and the plan show them."
    )


def roller_text(layout: FollowerLayout) -> Iterator[str]:
    """Yield how the roller is put on its lever or slide; nothing for a knife edge or a flat face."""
    try:
        axle = axle_mm(layout)
    except SolidError:
        return
    lane, levers = layout.lane, layout.bands.levers
    bearing = getattr(lane.follower, "bearing", None)
    word = f"the bearing {bearing}" if bearing else "the roller"
    screw = "screw" if bearing else "pin"
    body = f"{lane.code}-{'S' if layout.pivot is None else 'L'}"
    side = "under" if layout.bands.roller.top_mm <= levers[0].bottom_mm + 1e-6 else "over"
    if len(levers) > 1:
        side = "between both bars of"
    washer = lane.follower.washer_mm
    yield f"Put {word} {side} {body} on its {screw} of {plain(axle)} mm."
    yield f"Put a washer of {plain(washer)} mm between them."
    yield "It must spin freely."


def lever_text(layout: FollowerLayout, holes: Sequence[FrameHole], rod_hole: str = "") -> Iterator[str]:
    """Yield how a lever is put on its rod.

    holes: of its bracket in the bottom plate, if there is a frame. rod_hole: name of the hole that its rod
    goes through, if it goes through both plates.
    """
    code = layout.lane.code
    yield from roller_text(layout)
    rod = plain(layout.parts.pivot_rod_mm)
    if layout.is_sleeve:
        yield f"Put a washer on the rod, on the lever below. Slide on the sleeve {code}-K."
    else:
        where = f" in {listed([hole.name for hole in holes])}" if holes else ""
        count = "" if layout.guide is None else ", both of them"
        yield f"Screw {code}-K{count} to the bottom plate{where}, screws M3 from above, lock nuts below."
        through = f"it, down through hole {rod_hole}" if rod_hole else "it"
        yield f"Stand the pivot rod of {rod} mm in {through}."
    yield f"Put a washer on. Slide {code}-L on the rod, swung outward, then swing it in over its disc."
    if layout.guide is not None:
        yield f"Slide {code}-G-2 on the rod of the second bracket."
        yield f"Screw {code}-G-1 to the ends of {code}-L and {code}-G-2, screws M3, a washer between."
    if not (layout.is_sleeve or layout.rod_in_frame):
        yield "Hold the lever down with a shaft ring. Leave it free to swing."
    bottom = layout.bands.levers[0].bottom_mm
    yield f"Its underside is at z {plain(bottom, 3)} mm, at station {degrees(layout.profile.station_deg)}."


def slide_text(layout: FollowerLayout, holes: Sequence[FrameHole]) -> Iterator[str]:
    """Yield how a slide is put into its guide; holes: of the guide in the bottom plate."""
    code = layout.lane.code
    where = f" in {listed([hole.name for hole in holes])}" if holes else ""
    yield f"Slide {code}-S into its guide {code}-K. It must run without force and without play."
    yield from roller_text(layout)
    yield f"Screw {code}-K to the bottom plate{where}, screws M3 from above, lock nuts below."
    yield (
        f"The slide points along station {degrees(layout.profile.station_deg)}; its underside is at z "
        f"{plain(layout.bands.levers[0].bottom_mm, 3)} mm."
    )


def spring_rod(plan: FramePlan | None, layout: FollowerLayout) -> str:
    """Return the name of the rod that the spring of a follower hooks on; empty where there is none."""
    at = layout.spring_rod
    if plan is None or at is None:
        return ""
    return next((rod.name for rod in plan.springs if abs(rod.at - at) < PLACE_MM), "")


def spring_text(plan: FramePlan | None, alike: Sequence[FollowerLayout]) -> Iterator[str]:
    """Yield how the springs of like followers are hooked in; nothing without one.

    plan: of the frame, if there is one.
    """
    layout, hook = alike[0], alike[0].parts.spring_hook_mm
    ends: dict[float, list[str]] = {}
    for one in alike:
        load = one.lane.load
        if load is not None and load.spring is not None:
            ends.setdefault(load.spring.installed_mm, []).append(spring_rod(plan, one))
    if hook is None or not ends:
        return
    start = "pivot" if layout.pivot is not None else "roller"
    yield f"Last, hook the spring into the hole {millimetres(hook)} from the {start}."
    for long, rods in ends.items():
        yield _far_end_text(list(dict.fromkeys(rods)), millimetres(long))


def _far_end_text(rods: Sequence[str], long: str) -> str:
    """Return where the other ends of springs of one length go; rods: names, empty where there is none."""
    if not all(rods):
        return f"Hold its other end so that it is {long} long while the output is at 0."
    where = f"rod {' or '.join(rods)}"
    return f"On {where} its other end goes level with the lever: it is {long} long while the output is at 0."
