"""The dialogs that no menu item opens by itself: questions, refusals and results, each with long contents.

Used by `look_at_views.py` and by the tests of access.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from pathlib import Path

from shaftscore.base.errors import Fault, ProjectError
from shaftscore.make.exporting.changes import Changes
from shaftscore_app.dialogs.bench import CouponDialog, MadeAgainDialog, MessageDialog, PaperSizeDialog
from shaftscore_app.dialogs.crash import CrashDialog
from shaftscore_app.dialogs.drafts import DiscardDialog
from shaftscore_app.dialogs.exporting import (
    AnotherMachineDialog,
    ErrorsOpenDialog,
    ExportDialog,
    ExportedDialog,
    ExportFailedDialog,
)
from shaftscore_app.dialogs.files import (
    ChangedDialog,
    OpenElsewhereDialog,
    RefusedDialog,
    RevertDialog,
    TroubleDialog,
    UnsavedDialog,
)
from shaftscore_app.dialogs.guide import GuideDialog
from shaftscore_app.dialogs.helping import LicencesDialog
from shaftscore_app.dialogs.picture import PictureDialog
from shaftscore_app.document.coverage import coverage_rows
from shaftscore_app.frame.main_window import MainWindow
from shaftscore_app.views.program_result import PaintedDialog, UnappliedDialog
from shaftscore_app.views.state_table_sheet import SheetPlace, StateSheetDialog
from shaftscore_app.widgets.dialog import Dialog

Maker = Callable[[MainWindow], Dialog]

NAME = "tea_blender_for_the_spring_exhibition.shaft"
OUT = Path("/home/maker/machines/tea blender/discs for the spring exhibition")
WHY = f"There is no room left on the disk: 12 MB are needed in {OUT}, 3 MB are free."


def nothing(*_arguments: object) -> str:
    """Do nothing, without a fault."""
    return ""


def _refused(window: MainWindow) -> Dialog:
    faults = [Fault(f"lanes[{n}].blocks[1].level", "“opne” is not a level of Mint") for n in range(12)]
    return RefusedDialog(window, window.theme, NAME, ProjectError(NAME, faults), nothing)


def _changed(window: MainWindow) -> Dialog:
    return ChangedDialog(window, window.theme, NAME, read=nothing, save_as=nothing, write=nothing)


def _elsewhere(window: MainWindow) -> Dialog:
    since = " since 14:02 on the machine “bench”"
    return OpenElsewhereDialog(window, window.theme, NAME, since, look=nothing, copy=nothing)


def _crash(window: MainWindow) -> Dialog:
    where = f"A draft of {NAME} was kept at 14:02; it is offered when Shaftscore starts again."
    lines = "\n".join(f"module {n}, line {10 * n}" for n in range(30))
    return CrashDialog(
        window, window.theme, what="ValueError", where=where, report=lines, file=OUT, save_as=nothing
    )


def _exported(window: MainWindow) -> Dialog:
    return ExportedDialog(
        window,
        window.theme,
        out=OUT,
        files=[f"disc_{n}.stl" for n in range(60)],
        proved=48,
        unproved=["B1 Chute flap", "B2 Cup lift"],
        assembly="All 62 parts were put together and turned through 24 angles: none goes into another.",
        changes="4 changed, 12 unchanged",
        verdict=["Not described yet: items, forces, torque.", "Checked: timing, parts, fits, heights."],
        notes=[f"B{n}: the wall is thin where the pin sits" for n in range(9)],
        left=3,
        removed=[f"disc_{n}.step was removed: the part is gone." for n in range(9)],
    )


def _another_machine(window: MainWindow) -> Dialog:
    return AnotherMachineDialog(
        window,
        window.theme,
        out=OUT,
        theirs="Seedling sower",
        ours="Tea blender",
        elsewhere=nothing,
        replace=nothing,
    )


def _export(window: MainWindow) -> Dialog:
    document = window.document
    return ExportDialog(
        window,
        window.theme,
        folder=str(OUT),
        formats={"step": "needs the extra “step”"},
        ticked=None,
        verdict=coverage_rows(document.whole_report, late_coming=False),
        start=nothing,
        choose=lambda _folder: None,
    )


def _sheet(window: MainWindow) -> Dialog:
    project = window.document.committed
    lanes = [lane.id for lane in project.lanes]
    grid = [["step", *(lane.name for lane in project.lanes)], *([str(n), "opne"] for n in range(1, 13))]
    return StateSheetDialog(
        window, window.theme, window.document, grid, place=SheetPlace(lanes), name="states.csv"
    )


RARE: Mapping[str, Maker] = {
    "refused": _refused,
    "changed": _changed,
    "elsewhere": _elsewhere,
    "crash": _crash,
    "exported": _exported,
    "another_machine": _another_machine,
    "export": _export,
    "sheet": _sheet,
    "unsaved": lambda window: UnsavedDialog(window, window.theme, NAME, nothing, nothing),
    "revert": lambda window: RevertDialog(window, window.theme, NAME, 12, nothing),
    "trouble": lambda window: TroubleDialog(
        window, window.theme, "Save", "The file was not saved.", WHY, save_as=nothing
    ),
    "discard": lambda window: DiscardDialog(window, window.theme, NAME, 12, nothing),
    "errors_open": lambda window: ErrorsOpenDialog(window, window.theme, 3, nothing, nothing),
    "export_failed": lambda window: ExportFailedDialog(window, window.theme, WHY, nothing, nothing),
    "message": lambda window: MessageDialog(window, window.theme, "Build manual", "Not written.", [WHY] * 3),
    "made_again": lambda window: MadeAgainDialog(
        window, window.theme, Changes(new=tuple(f"B{n}" for n in range(1, 20)))
    ),
    "paper": lambda window: PaperSizeDialog(window, window.theme, nothing),
    "coupon": lambda window: CouponDialog(window, window.theme, window.document.committed, nothing),
    "picture": lambda window: PictureDialog(
        window, window.theme, ("A4", "A3", "Letter"), nothing, paper="A4"
    ),
    "licences": lambda window: LicencesDialog(window, window.theme),
    "guide": lambda window: GuideDialog(window, window.theme),
    "unapplied": lambda window: UnappliedDialog(window, window.theme, apply=nothing, discard=nothing),
    "painted": lambda window: PaintedDialog(window, window.theme, 2, nothing),
}
"""Every such dialog by a name for its picture."""
