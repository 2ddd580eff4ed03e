"""Export: files for the printer, the cutter and the bench, put in place all at once or not at all.

`run` is the job as a whole, `formats` the table of formats (one module each), `staging` and `lock` keep
the folder whole, `manifest` records what was made and from what, `outcome` says how it ended.
"""

from core.export.changes import Changed, Changes
from core.export.formats import FORMATS
from core.export.outcome import ExportResult, FaultyProjectError, ProofError, exit_code
from core.export.run import export_project

__all__ = [
    "FORMATS",
    "Changed",
    "Changes",
    "ExportResult",
    "FaultyProjectError",
    "ProofError",
    "exit_code",
    "export_project",
]
