"""Dialogs about what lies on the bench: the build manual, folders exported before, the fit coupon."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from math import isfinite
from typing import TYPE_CHECKING, Literal

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QHBoxLayout, QLabel, QListWidget, QPushButton, QWidget

from shaftscore.base.wording import counted, degrees, millimetres
from shaftscore.model import Project
from shaftscore_app.theme import Theme
from shaftscore_app.widgets.choice import Choice, Option
from shaftscore_app.widgets.dialog import Button, Dialog

if TYPE_CHECKING:
    from shaftscore.make.exporting.against import FolderCheck
    from shaftscore.make.exporting.changes import Changes
    from shaftscore.make.solids.hole_play import HolePlay

SHOWN = 12
"""Lines that a list shows without scrolling, at the most."""

EXPLAINED = (
    "Print the coupon FIT first, with the printer and the material of the discs. The number below each hole "
    "is its clearance in hundredths of a millimetre. Choose the smallest hole into which the shaft goes by "
    "hand, without force and without shake; with dogs, try the peg of a second coupon too. The angle is the "
    "play of a disc with that clearance."
)
"""How the fit is found."""


class MessageDialog(Dialog):
    """A message: a heading and lines."""

    def __init__(self, parent: QWidget, theme: Theme, title: str, heading: str, lines: Sequence[str]) -> None:
        """Show the message."""
        super().__init__(parent, theme, title, heading)
        for line in lines:
            self.say(line)
        self.set_buttons((Button("Close", default=True),))

    def _list(self, name: str, lines: Sequence[str]) -> QListWidget:
        """Add a list of lines that can be gone through by keys."""
        shown = QListWidget()
        shown.setAccessibleName(name)
        shown.setFont(self._theme.font(12))
        shown.setWordWrap(True)
        shown.addItems(list(lines))
        shown.setMinimumHeight(self._theme.px(24) * min(SHOWN, len(lines)) + self._theme.px(8))
        self.body.addWidget(shown, 1)
        return shown


class PaperSizeDialog(Dialog):
    """Asks for the size of the paper."""

    def __init__(
        self, parent: QWidget, theme: Theme, go: Callable[[Literal["A4", "Letter"]], object]
    ) -> None:
        """Ask; go: goes on with the size."""
        super().__init__(parent, theme, "Build manual", "Build manual")
        self.say(
            "All that the workbench needs, as PDF: pictures of the parts, what to buy, the fit, the plan, "
            "the assembly in steps, the section, the timing diagram, test cards, and what to do if it does "
            "not work. The manual that comes with Export discs also says what the proof of the files found.",
            muted=True,
        )
        self.set_buttons(
            (
                Button("Cancel"),
                Button("US Letter…", lambda: go("Letter")),
                Button("A4…", lambda: go("A4"), default=True),
            )
        )


class CheckedDialog(MessageDialog):
    """What the files of a folder do."""

    def __init__(self, parent: QWidget, theme: Theme, found: FolderCheck) -> None:
        """Show how many hold, and what does not."""
        lines = list(checked_lines(found))
        super().__init__(parent, theme, "Check exported files", checked_heading(found), lines)
        if found.faults:
            self.faults = self._list("Faults", found.faults)


def checked_heading(found: FolderCheck) -> str:
    """Write in a word whether the files hold."""
    if found.faults:
        return f"{counted(len(found.faults), 'fault')} in the files."
    if not found.proofs:
        return "No file of the folder holds a disc that can be read back."
    return f"All {counted(len(found.proofs), 'disc')} in the files do what the diagram says."


def checked_lines(found: FolderCheck) -> Iterator[str]:
    """Yield the largest differences, and what was not looked at."""
    touching = [proof for proof in found.proofs if proof.lift_error_mm == proof.lift_error_mm]  # not NaN
    if touching:
        worst = max(touching, key=lambda proof: abs(proof.lift_error_mm))
        yield (
            f"Largest lift error: {millimetres(worst.lift_error_mm, 4)}, {worst.part} in {worst.file} at "
            f"{degrees(worst.lift_at_deg)}."
        )
    turning = [fit for file in found.files for fit in file.fits if isfinite(fit.program_deg)]
    if turning:
        worst_fit = max(turning, key=lambda fit: abs(max(fit.play_deg) - fit.program_deg))
        yield (
            f"Largest difference of play: {worst_fit.part} in {worst_fit.file} turns by "
            f"±{degrees(max(worst_fit.play_deg), 3)}, by the program ±{degrees(worst_fit.program_deg, 3)}."
        )
    if found.assembly is not None:
        from shaftscore.make.assembly import assembly_text  # its libraries take a second to load

        yield assembly_text(found.assembly)
    if found.left_out:
        yield f"{counted(len(found.left_out), 'file')} compared by hash only."


NOTED = 4
"""So many notes of the log-book are shown beside the parts to reprint."""


@dataclass(frozen=True)
class LogBookLink:
    """The log-book beside another dialog.

    newest: its newest notes as lines. note: writes down (text, revisions) and returns why not, or an empty
    text. show: opens it.
    """

    newest: Callable[[int], Sequence[str]]
    note: Callable[[str, Mapping[str, str]], str]
    show: Callable[[], object]


class MadeAgainDialog(MessageDialog):
    """Which parts of a folder are still good, beside the log-book."""

    def __init__(self, parent: QWidget, theme: Theme, found: Changes, log: LogBookLink | None = None) -> None:
        """List the parts by what became of them; log: the log-book, shown below."""
        count = len(found.fresh)
        heading = f"{counted(count, 'part')} must be reprinted." if count else "No part must be reprinted."
        good = f"{counted(len(found.unchanged), 'part')} in the folder unchanged."
        super().__init__(parent, theme, "Parts to reprint", heading, [good])
        lines = list(again_lines(found))
        if lines:
            self.parts = self._list("Parts to reprint or remove", lines)
        if log is not None:
            self._add_log(log, found)

    def _add_log(self, log: LogBookLink, found: Changes) -> None:
        """Show the newest notes, and offer to note the parts as printed."""
        self.newest = self.say("")
        self.noted = QPushButton("Note as printed")
        self.noted.setToolTip("Add a note of today to the log-book, with the revisions of these parts")
        self.opens = QPushButton("Log-book…")
        row = QHBoxLayout()
        for button in (self.noted, self.opens):
            button.setFont(self._theme.font(12))
            button.setAutoDefault(False)
            row.addWidget(button)
        row.addStretch(1)
        self.body.addLayout(row)

        def show() -> None:
            lines = "\n".join(log.newest(NOTED))
            self.newest.setText(f"Log-book, newest first:\n{lines}" if lines else "The log-book is empty.")

        def note() -> None:
            fault = log.note("Printed", found.revisions)
            self.noted.setEnabled(bool(fault))
            self.noted.setText(fault or "Noted")
            show()

        self.noted.setEnabled(bool(found.revisions))
        self.noted.clicked.connect(note)
        self.opens.clicked.connect(log.show)
        show()


def again_lines(found: Changes) -> Iterator[str]:
    """List what is new, changed (by how much), and no longer there."""
    for part in found.changed:
        by = "" if part.largest_mm is None else f": its edge moved by up to {millimetres(part.largest_mm, 2)}"
        yield f"{part.code}  changed{by}"
    yield from (f"{code}  new" for code in found.new)
    yield from (f"{code}  no longer in the project" for code in found.removed)


def hole_text(one: HolePlay) -> str:
    """Return the line of a hole: the number below it, its clearance, and the play that it gives."""
    return f"{round(100 * one.clearance_mm):02d}: {millimetres(one.clearance_mm, 2)}, {one.play_text}"


class CouponDialog(Dialog):
    """Takes the clearance of the hole that fits into a stack."""

    def __init__(
        self, parent: QWidget, theme: Theme, project: Project, use: Callable[[str, float], str]
    ) -> None:
        """Ask; use: takes (stack id, clearance in mm) and says why it cannot be, or nothing."""
        super().__init__(parent, theme, "Set fit clearance", "Hole of the coupon that fits the shaft")
        self._project, self._use = project, use
        self.say(EXPLAINED, muted=True)
        self.stack: Choice[str] = Choice(theme, "Stack")
        self.hole: Choice[float] = Choice(theme, "Hole that fits")
        self.stack.set_options([Option(stack.id, stack.label) for stack in project.stacks])
        if len(project.stacks) > 1:
            self.body.addWidget(self.stack)
        self.body.addWidget(self.hole)
        self._now: QLabel = self.say("", muted=True)
        self._fault = self.say("", muted=True)
        self._fault.setObjectName("fault")
        self.stack.chosen.connect(self._show_now)
        self.hole.chosen.connect(self.hole.set_shown)
        self.set_buttons(
            (Button("Cancel"), Button("Use this clearance", self._take, default=True, stays=True))
        )
        self._show_now(project.stacks[0].id)
        self.hole.setFocus(Qt.FocusReason.OtherFocusReason)

    def _show_now(self, stack_id: str) -> None:
        """Show what a stack has, the play that each hole gives it, and propose the hole nearest to it."""
        from shaftscore.make.solids.hole_play import hole_plays  # the solids take a moment to load

        self.stack.set_shown(stack_id)
        stack = next(stack for stack in self._project.stacks if stack.id == stack_id)
        holes = hole_plays(self._project, stack)
        self.hole.set_options([Option(one.clearance_mm, hole_text(one)) for one in holes])
        self._now.setText(f"{stack.label} uses {millimetres(stack.fit_clearance_mm, 2)} now.")
        nearest = min(holes, key=lambda one: abs(one.clearance_mm - stack.fit_clearance_mm))
        self.hole.set_shown(nearest.clearance_mm)

    def _take(self) -> None:
        fault = self._use(self.stack.given(), self.hole.given())
        self._fault.setText(fault)
        if not fault:
            self.done(Dialog.DialogCode.Accepted)
