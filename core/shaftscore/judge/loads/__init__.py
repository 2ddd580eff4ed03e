"""Loads: contact force, line contact stress, torque by lane and in sum, and the drive that carries it.

Import from here: `from shaftscore.judge.loads import LaneLoads, lane_loads, Camshaft, camshaft`.
"""

from shaftscore.judge.loads.camshaft import Camshaft, camshaft
from shaftscore.judge.loads.compare import LawComparison, LawRow, compare_laws
from shaftscore.judge.loads.extreme import Extreme
from shaftscore.judge.loads.forces import Forces
from shaftscore.judge.loads.lane import LaneLoads, lane_loads
from shaftscore.judge.loads.machine import MachineLoads, machine_loads
from shaftscore.judge.loads.overrun import springs_drive
from shaftscore.judge.loads.reserve import SpringReserve
from shaftscore.judge.loads.sampled import ForceLimits
from shaftscore.judge.loads.springs import SpringAdvice, spring_for

__all__ = [
    "Camshaft",
    "Extreme",
    "ForceLimits",
    "Forces",
    "LaneLoads",
    "LawComparison",
    "LawRow",
    "MachineLoads",
    "SpringAdvice",
    "SpringReserve",
    "camshaft",
    "compare_laws",
    "lane_loads",
    "machine_loads",
    "spring_for",
    "springs_drive",
]
