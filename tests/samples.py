"""The shipped samples, each read and examined once a process: nothing in a project or a report changes."""

from __future__ import annotations

from functools import cache

from shaftscore.base.samples import sample_folder
from shaftscore.judge.report import Report, examine
from shaftscore.model import Project, replaced
from shaftscore.model.loader import load_project

FOLDER = sample_folder()

ALL = sorted(path.stem for path in FOLDER.glob("*.shaft"))


@cache
def sample(name: str) -> Project:
    """Return a sample by the name of its file, without the ending."""
    return load_project(FOLDER / f"{name}.shaft")


@cache
def sample_report(name: str) -> Report:
    """Return what is found in a sample."""
    return examine(sample(name))


def tangled_sower() -> Project:
    """The seedling sower with its discs in file order, and followers that are taller than a disc."""
    sower = sample("seedling_sower")
    lanes = [
        replaced(lane, follower=replaced(lane.follower, arm_thickness_mm=None, width_mm=None))
        for lane in sower.lanes
    ]
    stacks = [replaced(stack, order=()) for stack in sower.stacks]
    return replaced(sower, lanes=tuple(lanes), stacks=tuple(stacks))
