"""Bring-up: what likely build faults would look like, and which of them explains what was seen.

Import from here: `from shaftscore.bringup import BenchCheck, SightingSheet`.
"""

from shaftscore.bringup.angles import check_angles, step_at
from shaftscore.bringup.comparing import differs_from_drawn, nearest_level
from shaftscore.bringup.condition import LaneCondition, built
from shaftscore.bringup.outputs import BuiltOutputs
from shaftscore.bringup.ranking import likely_causes
from shaftscore.bringup.ranking_text import explained_text, ranking_json, ranking_lines
from shaftscore.bringup.reading import read_sighting, read_sightings
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
from shaftscore.bringup.symptoms import FaultSymptom, SymptomGroup, SymptomSheet, symptom_sheet
from shaftscore.bringup.telling import group_text, sheet_json, sheet_lines, symptom_text

__all__ = [
    "AlikeCauses",
    "BenchCheck",
    "BuildFault",
    "BuiltOutputs",
    "FaultKind",
    "FaultRanking",
    "FaultSymptom",
    "LaneCondition",
    "LikelyCause",
    "NextLook",
    "PredictedSighting",
    "RepairAction",
    "Sighting",
    "SightingSheet",
    "SymptomGroup",
    "SymptomSheet",
    "built",
    "check_angles",
    "differs_from_drawn",
    "explained_text",
    "group_text",
    "likely_causes",
    "nearest_level",
    "ranking_json",
    "ranking_lines",
    "read_sighting",
    "read_sightings",
    "sheet_json",
    "sheet_lines",
    "step_at",
    "symptom_sheet",
    "symptom_text",
]
