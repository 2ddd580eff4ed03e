"""The records of the file format, the loader and the saved form.

Import records from here: `from shaftscore.model import Project, Lane, Block`.
"""

from shaftscore.model.base import Record, replaced
from shaftscore.model.flow import Branch, Channel, Diverter, Flow, Gate, Magazine, Outlet, Reload, Supply
from shaftscore.model.lanes import (
    Block,
    Disc,
    Follower,
    Lane,
    LawName,
    LinkPoint,
    Load,
    MotionPoint,
    SwingingRoller,
    TranslatingFlat,
    TranslatingRoller,
    Window,
)
from shaftscore.model.loader import load_project, read_project
from shaftscore.model.project import FORMAT, VERSION, Limits, Material, Measured, Print, Project, Tolerances
from shaftscore.model.rules import Exclusive, LevelState, Order, RangeState, Requires, Rule, State
from shaftscore.model.saved import saved_form
from shaftscore.model.shaft import Bore, CrankSource, Dogs, Drive, MotorSource, Shaft, Stack, Stage, Turn

__all__ = [
    "FORMAT",
    "VERSION",
    "Block",
    "Bore",
    "Branch",
    "Channel",
    "CrankSource",
    "Disc",
    "Diverter",
    "Dogs",
    "Drive",
    "Exclusive",
    "Flow",
    "Follower",
    "Gate",
    "Lane",
    "LawName",
    "LevelState",
    "Limits",
    "LinkPoint",
    "Load",
    "Magazine",
    "Material",
    "Measured",
    "MotionPoint",
    "MotorSource",
    "Order",
    "Outlet",
    "Print",
    "Project",
    "RangeState",
    "Record",
    "Reload",
    "Requires",
    "Rule",
    "Shaft",
    "Stack",
    "Stage",
    "State",
    "Supply",
    "SwingingRoller",
    "Tolerances",
    "TranslatingFlat",
    "TranslatingRoller",
    "Turn",
    "Window",
    "load_project",
    "read_project",
    "replaced",
    "saved_form",
]
