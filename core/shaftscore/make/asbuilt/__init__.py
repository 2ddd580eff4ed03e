"""As built: what was measured on the machine, turned into corrections of discs and play.

`model` estimates each disc's lag and each train's play by least squares, `pasted` reads the table from a
spreadsheet, `correcting` makes the one edit that applies it.
"""

from shaftscore.make.asbuilt.correcting import correct_as_built
from shaftscore.make.asbuilt.model import AsBuilt, LaneLag, StackPlay, estimate
from shaftscore.make.asbuilt.pasted import COLUMNS, read_rows

__all__ = ["COLUMNS", "AsBuilt", "LaneLag", "StackPlay", "correct_as_built", "estimate", "read_rows"]
