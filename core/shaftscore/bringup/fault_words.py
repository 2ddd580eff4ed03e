"""The words of every build fault: the state of the machine, where to look, what to do.

A statement says how the machine is, never who made it so.
"""

from __future__ import annotations

from collections.abc import Sequence

from shaftscore.base.wording import degrees, listed, part_name, percent
from shaftscore.bringup.records import BuildFault
from shaftscore.model import MotorSource, Project, Stack

APART = "Take the stack apart down to it, turn it until its mark is in line, and put everything back."


def mark(project: Project, lane_id: str) -> str:
    """Return what a lane is called at the bench: the code on its disc, or its name; raises KeyError."""
    lane = project.lane(lane_id)
    return lane.code or lane.label


def marks(project: Project, lanes: Sequence[str]) -> str:
    """Return what several lanes are called, joined as a sentence does; raises KeyError."""
    return listed([mark(project, lane) for lane in lanes])


def wrong_way(project: Project) -> BuildFault:
    """Return the shaft that turns the other way."""
    return BuildFault(
        "wrong-way",
        "The shaft turns the other way",
        f"Seen from the top it must turn {project.shaft.turn}.",
        other_way(project),
        "reverse-motor",
    )


def other_way(project: Project) -> str:
    """Return how the rotation is reversed."""
    if project.drive is not None and isinstance(project.drive.source, MotorSource):
        return "Reverse the leads of the motor, power off."
    return "Turn the crank the other way."


def upside_down(project: Project, stack: Stack) -> BuildFault:
    """Return a stack that is upside down."""
    which = f"Stack {stack.label}" if len(project.stacks) > 1 else "The whole stack"
    top = project.discs_of(stack)[-1]
    return BuildFault(
        "upside-down",
        f"{which} is upside down",
        f"The marked faces must be up, and disc {mark(project, top.id)} on top.",
        "Take the stack off the shaft and put it on the other way round, zero marks on the reference line.",
        stack=stack.id,
    )


def swapped(project: Project, first: str, second: str) -> BuildFault:
    """Return two discs in each other's place, the lower one first."""
    low, high = mark(project, first), mark(project, second)
    return BuildFault(
        "swapped",
        f"Discs {low} and {high} are swapped",
        "Read the codes on the edge of the two discs.",
        f"If {high} is below {low}, swap them; the spacers stay.",
        lanes=(first, second),
    )


def off_position(project: Project, lane: str, angle_deg: float, *, turned_over: bool) -> BuildFault:
    """Return a disc off its zero mark by an angle of its stack, or with its marked face down as well."""
    name = mark(project, lane)
    over = " with its marked face down" if turned_over else ""
    return BuildFault(
        "off-position",
        f"Disc {name} sits {turned_text(angle_deg)} off its zero mark{over}",
        f"Look for the zero mark on the edge of disc {name}.",
        APART,
        lanes=(lane,),
        angle_deg=angle_deg,
        turned_over=turned_over,
    )


def turned_text(angle_deg: float) -> str:
    """Return an angle in degrees with its direction; half a turn has none."""
    if abs(abs(angle_deg) - 180.0) < 0.05:
        return degrees(180.0, 0)
    way = "counterclockwise" if angle_deg > 0 else "clockwise"
    return f"{degrees(abs(angle_deg), 0)} {way}"


def disc_over(project: Project, lane: str) -> BuildFault:
    """Return a disc with its marked face down and its zero mark in line."""
    name = mark(project, lane)
    return BuildFault(
        "disc-over",
        f"Disc {name} is mounted with its marked face down",
        f"The code on the face of disc {name} must be up.",
        "Take the stack apart down to it, turn it over, and put everything back.",
        lanes=(lane,),
        turned_over=True,
    )


def turned_disc(project: Project, lane: str, angle_deg: float) -> BuildFault:
    """Return a disc that has turned on a round rod, by an angle of its stack."""
    name = mark(project, lane)
    return BuildFault(
        "turned-disc",
        f"Disc {name} has turned on its rod, about {turned_text(angle_deg)}",
        f"Look for the zero mark on the edge of disc {name}, with the shaft at 0°.",
        "Line up its mark and fix it again.",
        lanes=(lane,),
        angle_deg=angle_deg,
    )


def hub_tooth(late_deg: float) -> BuildFault:
    """Return the hub of the machine one tooth late (or early), degrees of the master shaft."""
    return BuildFault(
        "hub-tooth",
        f"The hub is one tooth {_late(late_deg)[0]}: all lanes {_late(late_deg)[1]}",
        "With all zero marks on the reference line, the dial must be at 0°.",
        "Take the motor or crank off, turn the gear by one tooth against its pinion, and look again.",
        "line-up-hub",
        angle_deg=late_deg,
    )


def _late(late_deg: float) -> tuple[str, str]:
    """Return "late" or "early", and by how much with the word."""
    word = "late" if late_deg > 0 else "early"
    return word, f"{degrees(abs(late_deg))} {word}"


def geared_tooth(stack: Stack, late_deg: float) -> BuildFault:
    """Return a geared stack that meshes one tooth off, degrees of the master shaft."""
    return BuildFault(
        "geared-tooth",
        f"The gear of {stack.label} is one tooth off: its lanes {_late(late_deg)[1]}",
        "The marked tooth must be in the marked gap.",
        "Lift the stack out of mesh, put its marked tooth into the marked gap with all zero marks on the "
        "reference line, and lower it again.",
        "line-up-hub",
        stack=stack.id,
        angle_deg=late_deg,
    )


def all_late(late_deg: float) -> BuildFault:
    """Return all lanes late by one angle, degrees of the master shaft."""
    return BuildFault(
        "all-late",
        f"All lanes are about {_late(late_deg)[1]}",
        "With all zero marks on the reference line, the dial must be at 0°.",
        "Set the pointer of the dial to 0° there and tighten it. See if the shaft has turned in its hub.",
        "line-up-hub",
        angle_deg=late_deg,
    )


def crossed(project: Project, first: str, second: str) -> BuildFault:
    """Return two levers that are joined to each other's outputs."""
    names = marks(project, (first, second))
    return BuildFault(
        "crossed",
        f"The levers of {names} are crossed",
        f"Follow both levers from their rollers to what they move: {names}.",
        "Join each lever to its own output.",
        lanes=(first, second),
    )


def travel(project: Project, lane: str, share: float) -> BuildFault:
    """Return a lane that moves less or more than drawn, as a share of its travel."""
    name = mark(project, lane)
    way = "less" if share < 1 else "more"
    return BuildFault(
        "travel",
        f"{name} moves {way} than drawn: about {percent(100 * share)} of its travel",
        f"Measure the arms of the lever of {name} and the play at its pivot. Compare its roller with the "
        "list.",
        "Take up the play, or correct the lever. Then measure it and enter what you find.",
        "correct",
        lanes=(lane,),
        share=share,
    )


def late_falls(project: Project, lane: str, late_deg: float) -> BuildFault:
    """Return a lane that comes back late, degrees of the master shaft."""
    name = mark(project, lane)
    return BuildFault(
        "late-falls",
        f"{name} comes back late, by about {degrees(late_deg)}; it goes out in time",
        f"Look for play at the pivot of {name}, and for a dry or bent guide.",
        "Take up the play, clean and grease the guide. Then measure both senses and enter what you find.",
        "correct",
        lanes=(lane,),
        angle_deg=late_deg,
    )


def stuck(project: Project, lane: str, level: str) -> BuildFault:
    """Return a lane that does not move from a level. Raises KeyError for an unknown lane."""
    name = mark(project, lane)
    return BuildFault(
        "stuck",
        f"{name} is stuck at “{level}”",
        f"Power off. Unhook the spring of {name} and move its lever by hand."
        if getattr(project.lane(lane).follower, "closure", "spring") == "spring"
        else f"Power off. Turn the shaft by hand and feel where {name} binds.",
        "Free what binds. If it moves freely, look whether lever and output are joined.",
        lanes=(lane,),
        level=level,
    )


def spring_off(project: Project, lane: str) -> BuildFault:
    """Return a follower that nothing pushes back."""
    name = mark(project, lane)
    return BuildFault(
        "spring-off",
        f"The spring of {name} is off: it stays where its disc last lifted it",
        f"Look at both ends of the spring of {name}.",
        "Power off. Hook it in again; if it is in place, compare it with the list.",
        lanes=(lane,),
    )


def slips(slip_deg: float, at_deg: float) -> BuildFault:
    """Return a coupling that slipped once: by how much, and where in the run, degrees of the master shaft."""
    return BuildFault(
        "slips",
        f"The shaft has slipped in its hub or coupling: all lanes about {_late(slip_deg)[1]} afterwards",
        "Put a pencil line across shaft and hub and turn the machine once.",
        "Tighten the clamp or the set screw with all zero marks on the reference line and the dial at 0°.",
        "line-up-hub",
        angle_deg=slip_deg,
        slip_at_deg=at_deg,
    )


def empty(magazine: str) -> BuildFault:
    """Return a magazine that is empty when the machine starts."""
    return BuildFault(
        "empty",
        f"Magazine {part_name(magazine)} is empty at the start",
        f"Look into magazine {part_name(magazine)}.",
        "Fill it by hand before the first turn, and look whether its supply reaches it.",
        part=magazine,
    )


def slow_items() -> BuildFault:
    """Return items that all take the longest travel time."""
    return BuildFault(
        "slow-items",
        "All items are of the slowest kind",
        "Compare what is in the magazines with what the travel times were measured with.",
        "Clean the channels, make them steeper, or enter the longer travel times.",
    )
