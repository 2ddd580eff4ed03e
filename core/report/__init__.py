"""The report of a project, and the object that `check --json` prints.

Import from here: `from core.report import Report, examine, report_json`.
"""

from core.checks.margin import Margin
from core.report.examine import Report, examine
from core.report.json_object import report_json

__all__ = ["Margin", "Report", "examine", "report_json"]
