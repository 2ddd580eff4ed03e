"""Loads: contact force, line contact stress, torque by lane and in sum, and the drive that carries it.

Import from here: `from core.loads import LaneLoads, lane_loads, Camshaft, camshaft`.
"""

from core.loads.camshaft import Camshaft, camshaft
from core.loads.compare import LawComparison, LawRow, compare_laws
from core.loads.extreme import Extreme
from core.loads.forces import Forces
from core.loads.lane import LaneLoads, lane_loads
from core.loads.machine import MachineLoads, machine_loads
from core.loads.overrun import springs_drive
from core.loads.springs import SpringAdvice, spring_for

__all__ = [
    "Camshaft",
    "Extreme",
    "Forces",
    "LaneLoads",
    "LawComparison",
    "LawRow",
    "MachineLoads",
    "SpringAdvice",
    "camshaft",
    "compare_laws",
    "lane_loads",
    "machine_loads",
    "spring_for",
    "springs_drive",
]
