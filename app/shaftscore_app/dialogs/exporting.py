"""Dialogs of an export: where and what, errors that are open, done, failed."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from pathlib import Path

from PySide6.QtCore import QUrl
from PySide6.QtGui import QDesktopServices, QShowEvent
from PySide6.QtWidgets import QCheckBox, QGridLayout, QHBoxLayout, QLabel, QLineEdit, QPushButton, QWidget

from shaftscore.base.wording import counted
from shaftscore_app.document.coverage import CoverageRow
from shaftscore_app.runtime.left_words import left_text
from shaftscore_app.theme import Theme
from shaftscore_app.views.coverage_signs import CoverageSign
from shaftscore_app.widgets.check import TickBox
from shaftscore_app.widgets.dialog import Button, Dialog

PURPOSE = {
    "3mf": "3MF, to print",
    "stl": "STL, to print",
    "step": "STEP, exact, to mill",
    "dxf": "DXF, to cut",
    "svg": "SVG, to cut or look at",
    "csv": "CSV, the curves as numbers",
    "manual": "PDF, build manual and drilling template",
}
"""What each format is for."""

CAUTION = "Turning parts pinch, springs store energy, stalled motors grow hot: see Help > Cautions."


REASONS, NOTES = 6, 8
"""So many reasons for removed files, and so many notes, are shown."""


class ExportDialog(Dialog):
    """Asks for the folder and the formats."""

    def __init__(
        self,
        parent: QWidget,
        theme: Theme,
        *,
        folder: str,
        formats: Mapping[str, str],
        ticked: Sequence[str] | None,
        verdict: Sequence[CoverageRow],
        start: Callable[[Path, tuple[str, ...], bool], object],
        choose: Callable[[str], Path | None],
    ) -> None:
        """Ask where and what.

        formats: names, each with what it needs that is not there. ticked: those chosen last time, all if
        None. verdict: what it covers, a row an area. start: starts the export; its last argument is whether
        only what changed is written. choose: lets the person choose a folder.
        """
        super().__init__(parent, theme, "Export discs", "Export discs")
        self._start, self._choose = start, choose
        self.folder = QLineEdit(folder)
        self.folder.setAccessibleName("Folder")
        self.folder.setPlaceholderText("Folder")
        self.folder.setFont(theme.font(12))
        self.folder.textChanged.connect(lambda _text: self._check())
        browse = QPushButton("Choose…")
        browse.setFont(theme.font(12))
        browse.setAutoDefault(False)
        browse.clicked.connect(self._browse)
        row = QHBoxLayout()
        row.addWidget(self.folder, 1)
        row.addWidget(browse)
        self.say("Into the folder", muted=True)
        self.body.addLayout(row)
        chosen = formats if ticked is None else ticked
        self.boxes = {name: self._box(name, needs, name in chosen) for name, needs in formats.items()}
        self.only_changed = TickBox("Only what changed since the export before")
        self.only_changed.setFont(theme.font(13))
        self.only_changed.setToolTip("Files of parts whose geometry is what it was stay as they are")
        self.body.addWidget(self.only_changed)
        self._show_verdict(verdict)
        self.say(
            "Only files of an earlier export of this machine are replaced. Those of other formats stay as "
            "long as they are still true.",
            muted=True,
        )
        self.say(CAUTION, muted=True)
        self.set_buttons((Button("Cancel"), Button("Export", self._go, default=True)))
        self._check()
        if not folder:
            self.folder.setFocus()

    def showEvent(self, event: QShowEvent) -> None:
        """Take the height that all texts need: Qt gives a new dialog two thirds of the screen at most."""
        super().showEvent(event)
        self.resize(self.width(), max(self.height(), self.needed_height()))
        self.keep_on_screen()

    def _show_verdict(self, rows: Sequence[CoverageRow]) -> None:
        """Show what the verdict covers, in two columns."""
        self.say("Areas that the verdict covers", muted=True)
        grid = QGridLayout()
        half = (len(rows) + 1) // 2
        for number, row in enumerate(rows):
            place, column = number % half, 2 * (number // half)
            sign = CoverageSign(self._theme)
            sign.set_state(row.state)
            label = QLabel(f"{row.title}: {row.words}")
            label.setFont(self._theme.font(12))
            label.setWordWrap(True)
            label.setToolTip(row.detail)
            grid.addWidget(sign, place, column)
            grid.addWidget(label, place, column + 1)
        for column in (1, 3):
            grid.setColumnStretch(column, 1)
        self.body.addLayout(grid)

    def _box(self, name: str, needs: str, ticked: bool) -> QCheckBox:
        box = TickBox(PURPOSE.get(name, name.upper()))
        box.setFont(self._theme.font(13))
        box.setChecked(ticked and not needs)
        box.setEnabled(not needs)
        box.setToolTip(needs)
        box.toggled.connect(lambda _on: self._check())
        self.body.addWidget(box)
        return box

    @property
    def chosen(self) -> tuple[str, ...]:
        """The formats that are ticked."""
        return tuple(name for name, box in self.boxes.items() if box.isChecked())

    def _check(self) -> None:
        if "Export" in self._buttons:
            self.button("Export").setEnabled(bool(self.folder.text().strip()) and bool(self.chosen))

    def _browse(self) -> None:
        folder = self._choose(self.folder.text())
        if folder is not None:
            self.folder.setText(str(folder))

    def _go(self) -> None:
        folder = Path(self.folder.text().strip()).expanduser()
        self._start(folder, self.chosen, self.only_changed.isChecked())


class ErrorsOpenDialog(Dialog):
    """Errors are open: asks whether to export all the same."""

    def __init__(
        self,
        parent: QWidget,
        theme: Theme,
        errors: int,
        show: Callable[[], object],
        export: Callable[[], object],
    ) -> None:
        """Ask; to look at them is the default."""
        are = "is" if errors == 1 else "are"
        super().__init__(
            parent, theme, "Export discs", f"{counted(errors, 'error')} {are} open. Export anyway?"
        )
        self.say("A machine built from these discs would not do what the diagram says.")
        self.set_buttons(
            (Button("Cancel"), Button("Export anyway", export), Button("Show them", show, default=True))
        )


class AnotherMachineDialog(Dialog):
    """The folder holds another machine's export: asks where to; closing it exports nothing."""

    def __init__(
        self,
        parent: QWidget,
        theme: Theme,
        *,
        out: Path,
        theirs: str,
        ours: str,
        elsewhere: Callable[[], object],
        replace: Callable[[], object],
    ) -> None:
        """Ask; theirs, ours: names of the machines. elsewhere: asks for the folder again."""
        other = "another machine, also called" if theirs == ours else "another machine:"
        super().__init__(parent, theme, "Export discs", f"The folder holds {other} “{theirs}”.")
        self.say(f"Nothing was exported. To export “{ours}” there would remove that machine’s files.")
        self.say(str(out))
        self.set_buttons(
            (
                Button("Cancel"),
                Button("Replace its files", replace),
                Button("Another folder…", elsewhere, default=True),
            )
        )


class ExportedDialog(Dialog):
    """What was written."""

    def __init__(
        self,
        parent: QWidget,
        theme: Theme,
        *,
        out: Path,
        files: Sequence[str],
        proved: int,
        unproved: Sequence[str],
        assembly: str,
        changes: str,
        verdict: Sequence[str],
        notes: Sequence[str],
        left: int,
        removed: Sequence[str],
    ) -> None:
        """Show what and where; proved: how many discs in files hold; unproved: parts that do not.

        assembly: what was found of all parts put together, empty where no part was read back. changes: what
        differs from the export before, in words. verdict: the lines of the verdict. left: how many files of
        other formats were kept. removed: sentences about files that were removed.
        """
        super().__init__(parent, theme, "Export discs", f"{counted(len(files), 'file')} written.")
        self.say(
            f"Followers were run over the files: {counted(proved, 'disc')} in them do what the diagram says."
        )
        if unproved:
            self.say(f"Not proved, because of their errors: {', '.join(unproved)}.")
        if assembly:
            self.say(assembly)
        self.say(str(out))
        if changes:
            self.say(f"Parts: {changes}.")
        if left:
            self.say(f"{left_text(left)}.")
        for line in removed[:REASONS]:
            self.say(line)
        if len(removed) > REASONS:
            self.say("manifest.json names all that was removed, and why.")
        for line in verdict:
            self.say(line)
        for note in notes[:NOTES]:
            self.say(note, muted=True)
        if len(notes) > NOTES:
            self.say(f"manifest.json lists all {len(notes)} notes.", muted=True)
        self.say(CAUTION, muted=True)
        self._folder = out
        self.set_buttons((Button("Open the folder", self._open), Button("Close", default=True)))

    def _open(self) -> None:
        QDesktopServices.openUrl(QUrl.fromLocalFile(str(self._folder)))


class ExportFailedDialog(Dialog):
    """Why nothing was exported."""

    def __init__(
        self,
        parent: QWidget,
        theme: Theme,
        why: str,
        again: Callable[[], object],
        show: Callable[[], object] | None = None,
    ) -> None:
        """Show why; again: opens the export dialog. show: goes to the place, where there is one."""
        super().__init__(parent, theme, "Export discs", "Nothing was exported.")
        self.say(why)
        place = () if show is None else (Button("Show the place", show),)
        self.set_buttons((*place, Button("Try again", again), Button("Close", default=True)))
