"""Loads: contact force, line contact stress, torque by lane and in sum, and the drive that carries it.

Import from here: `from core.loads import LaneLoads, lane_loads, Camshaft, camshaft`.
"""

from core.loads.camshaft import Camshaft, camshaft
from core.loads.extreme import Extreme
from core.loads.forces import Forces
from core.loads.lane import LaneLoads, lane_loads
from core.loads.machine import MachineLoads, machine_loads

__all__ = [
    "Camshaft",
    "Extreme",
    "Forces",
    "LaneLoads",
    "MachineLoads",
    "camshaft",
    "lane_loads",
    "machine_loads",
]
