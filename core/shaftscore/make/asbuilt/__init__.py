"""As built: what was measured on the machine, turned into corrections of discs and play.

`reading`, `crossings` and `signals` make readings of rows, of a bring-up sheet and of a log; `model`
estimates each disc's lag, each link's slack and each train's play by least squares (`fitting`); `advice`
says which further row would help; `pasted` reads the table from a spreadsheet, `correcting` makes the one
edit that applies it.
"""

from shaftscore.make.asbuilt.advice import NextRow, next_rows
from shaftscore.make.asbuilt.correcting import correct_as_built
from shaftscore.make.asbuilt.crossings import sheet_readings
from shaftscore.make.asbuilt.model import AsBuilt, LaneLag, ShapeDoubt, StackPlay, estimate
from shaftscore.make.asbuilt.pasted import COLUMNS, read_rows
from shaftscore.make.asbuilt.signals import ReadLog, read_log, threshold_text

__all__ = [
    "COLUMNS",
    "AsBuilt",
    "LaneLag",
    "NextRow",
    "ReadLog",
    "ShapeDoubt",
    "StackPlay",
    "correct_as_built",
    "estimate",
    "next_rows",
    "read_log",
    "read_rows",
    "sheet_readings",
    "threshold_text",
]
