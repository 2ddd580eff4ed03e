"""The shipped samples, each read and examined once a process: nothing in a project or a report changes."""

from __future__ import annotations

from functools import cache

from shaftscore.base.samples import sample_folder
from shaftscore.judge.report import Report, examine
from shaftscore.model import Lane, Project, SwingingRoller, TranslatingRoller, replaced
from shaftscore.model.loader import load_project

FOLDER = sample_folder()

SEGMENTS = {
    0: "abcdef",
    1: "bc",
    2: "abdeg",
    3: "abcdg",
    4: "bcfg",
    5: "acdfg",
    6: "acdefg",
    7: "abc",
    8: "abcdefg",
    9: "abcdfg",
}
"""The usual segments of the digits, by their letters (every text on seven-segment displays; from memory)."""

ALL = sorted(path.stem for path in FOLDER.glob("*.shaft"))


@cache
def sample(name: str) -> Project:
    """Return a sample by the name of its file, without the ending."""
    return load_project(FOLDER / f"{name}.shaft")


@cache
def sample_report(name: str) -> Report:
    """Return what is found in a sample."""
    return examine(sample(name))


def bare(project: Project) -> Project:
    """A machine of which discs, spacers and shafts alone are made."""
    drive, no_teeth = project.drive, {"module_mm": None, "face_mm": None, "centre_mm": None}
    plain = tuple(replaced(stage, **no_teeth) for stage in (() if drive is None else drive.stages))
    return replaced(
        project,
        drive=drive and replaced(drive, stages=plain),
        stacks=tuple(replaced(stack, hub=None) for stack in project.stacks),
        lanes=tuple(replaced(lane, parts=None) for lane in project.lanes),
        frame=None,
    )


def direct(project: Project) -> Project:
    """A bare machine whose rollers run straight towards their shaft, on the same discs."""
    return bare(replaced(project, lanes=tuple(map(_direct, project.lanes))))


def _direct(lane: Lane) -> Lane:
    own = lane.follower
    if not isinstance(own, SwingingRoller):
        return lane
    output_mm = own.output_arm_mm or (own.arm_mm if lane.parts is None else lane.parts.output_mm)
    follower = TranslatingRoller(
        kind="translating-roller",
        roller_radius_mm=own.roller_radius_mm,
        width_mm=own.width_mm,
        arm_thickness_mm=own.arm_thickness_mm,
        output_ratio=output_mm / own.arm_mm,
        guide_length_mm=24.0,
        overhang_mm=12.0,
        guide_friction=0.15,
    )
    return replaced(lane, follower=follower, parts=None)


def tangled_sower() -> Project:
    """The seedling sower with its discs in file order, and followers that are taller than a disc."""
    sower = direct(sample("seedling_sower"))
    lanes = [
        replaced(lane, follower=replaced(lane.follower, arm_thickness_mm=None, width_mm=None))
        for lane in sower.lanes
    ]
    stacks = [replaced(stack, order=()) for stack in sower.stacks]
    return replaced(sower, lanes=tuple(lanes), stacks=tuple(stacks))
