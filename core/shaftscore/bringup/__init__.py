"""Bring-up: what likely build faults would look like, and which of them explains what was seen.

Import from here: `from shaftscore.bringup import BenchCheck, SightingSheet`.
"""

from shaftscore.bringup.records import (
    AlikeCauses,
    BuildFault,
    FaultKind,
    FaultRanking,
    LikelyCause,
    NextLook,
    PredictedSighting,
    RepairAction,
)
from shaftscore.bringup.sightings import BenchCheck, Sighting, SightingSheet

__all__ = [
    "AlikeCauses",
    "BenchCheck",
    "BuildFault",
    "FaultKind",
    "FaultRanking",
    "LikelyCause",
    "NextLook",
    "PredictedSighting",
    "RepairAction",
    "Sighting",
    "SightingSheet",
]
