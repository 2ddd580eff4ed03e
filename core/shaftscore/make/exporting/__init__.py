"""Export: files for the printer, the cutter and the bench, put in place all at once or not at all.

`run` is the job as a whole, `formats` the table of formats (one module each), `staging` and `lock` keep
the folder whole, `manifest` records what was made and from what, `outcome` says how it ended.
"""

from shaftscore.make.exporting.against import FolderCheck, check_folder
from shaftscore.make.exporting.changes import Changed, Changes, changes_text
from shaftscore.make.exporting.formats import FORMATS
from shaftscore.make.exporting.outcome import (
    AnotherMachineError,
    ExportResult,
    FaultyProjectError,
    ProofError,
    RemovedFile,
    exit_code,
)
from shaftscore.make.exporting.run import export_project

__all__ = [
    "FORMATS",
    "AnotherMachineError",
    "Changed",
    "Changes",
    "ExportResult",
    "FaultyProjectError",
    "FolderCheck",
    "ProofError",
    "RemovedFile",
    "changes_text",
    "check_folder",
    "exit_code",
    "export_project",
]
