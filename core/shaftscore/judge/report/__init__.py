"""The report of a project, and the object that `check --json` prints.

Import from here: `from shaftscore.judge.report import Report, examine, report_json`.
"""

from shaftscore.judge.checks.margin import Margin
from shaftscore.judge.report.examine import Report, examine
from shaftscore.judge.report.json_object import report_json

__all__ = ["Margin", "Report", "examine", "report_json"]
