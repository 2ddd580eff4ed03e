"""The report of a project, and the object that `check --json` prints.

Import from here: `from shaftscore.judge.report import Report, examine, report_json`.
"""

from shaftscore.judge.checks.margin import Margin
from shaftscore.judge.report.areas import AREA_OF, CHANCE, RULES_OF
from shaftscore.judge.report.causes import FoldedFindings
from shaftscore.judge.report.coverage import AREAS, AreaCoverage, Coverage, CoverageState, coverage_of
from shaftscore.judge.report.examine import PARTS_RULES, Report, examine, examine_as_drawn, examine_parts
from shaftscore.judge.report.json_object import report_json
from shaftscore.judge.report.migrated import migrated_text
from shaftscore.judge.report.verdict import coverage_text, verdict_json, verdict_lines, verdict_text
from shaftscore.solution import FULL, QUICK, ExaminationStage

__all__ = [
    "AREAS",
    "AREA_OF",
    "CHANCE",
    "FULL",
    "PARTS_RULES",
    "QUICK",
    "RULES_OF",
    "AreaCoverage",
    "Coverage",
    "CoverageState",
    "ExaminationStage",
    "FoldedFindings",
    "Margin",
    "Report",
    "coverage_of",
    "coverage_text",
    "examine",
    "examine_as_drawn",
    "examine_parts",
    "migrated_text",
    "report_json",
    "verdict_json",
    "verdict_lines",
    "verdict_text",
]
