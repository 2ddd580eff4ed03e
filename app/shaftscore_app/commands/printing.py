"""Export diagram and Print: the timing diagram on paper and in files."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from functools import partial
from pathlib import Path

from PySide6.QtCore import Signal
from PySide6.QtGui import QPageLayout

from shaftscore.base.whole_files import write_whole
from shaftscore_app.commands.services import CommandGroup
from shaftscore_app.dialogs.files import TroubleDialog
from shaftscore_app.dialogs.picture import PictureDialog
from shaftscore_app.menus.actions import Reason


class PrintCommands(CommandGroup):
    """The commands. Signals: status_message(sentence) with what was written or printed."""

    status_message = Signal(str)

    def handlers(self) -> Mapping[str, Callable[..., object]]:
        """Return what each command does."""
        return {"file.diagram": self.ask, "file.print": self.print_out}

    def reasons(self) -> Mapping[str, Reason]:
        """Return why a command cannot be done now."""
        return dict.fromkeys(("file.diagram", "file.print"), self._no_lanes)

    def _no_lanes(self) -> str:
        return "" if self._document.committed.lanes else "There are no lanes to draw yet"

    def ask(self) -> None:
        """Ask as what the diagram is to be written."""
        from shaftscore_app.timing.diagram_files import PAPERS  # printing is loaded when it is wanted

        paper = self._settings.values.paper
        PictureDialog(self._window, self._theme, tuple(PAPERS), self._ask_where, paper=paper).open()

    def _ask_where(self, kind: str, paper: str) -> None:
        if kind == "pdf":
            self._settings.change(paper=paper)
        path = self._document.path
        stem = path.stem if path is not None else self._document.project.name
        target = self._chosen(f"{stem} diagram.{kind}")
        if target is not None:
            self.write(target, kind, paper)

    def write(self, target: Path, kind: str, paper: str) -> None:
        """Write the diagram of the whole machine, whole or not at all."""
        from shaftscore_app.timing.diagram_files import diagram_bytes  # as above

        report = self._document.whole_report
        self._write(target, "Export diagram", partial(diagram_bytes, kind, self._theme, report, paper))

    def save_drawing(self, stem: str, kind: str, make: Callable[[], bytes]) -> None:
        """Ask where a drawing goes, and write it; kind: its format, stem: of the proposed name."""
        target = self._chosen(f"{stem}.{kind}")
        if target is not None:
            self._write(target, "Save drawing", make)

    def _chosen(self, name: str) -> Path | None:
        """Ask where a file goes that would have a name beside the project; None where that was cancelled."""
        path = self._document.path
        folder = path.parent if path is not None else Path.home()
        return self._picker.picture_to_save(self._window, str(folder / name))

    def _write(self, target: Path, title: str, make: Callable[[], bytes]) -> None:
        """Write a file, whole or not at all, and report it; title: of the dialog where that fails."""
        try:
            write_whole(target, make())
        except OSError as error:
            why = f"{target}: {error.strerror or error}"
            TroubleDialog(self._window, self._theme, title, "Nothing was written.", why).open()
            return
        self.status_message.emit(f"Wrote {target.name}")

    def print_out(self) -> None:
        """Choose a printer and print the diagram on as many pages as it needs."""
        from shaftscore_app.timing.diagram_files import page_layout, paper_of, print_on  # as above

        layout: QPageLayout = page_layout(self._settings.values.paper)
        printer = self._picker.printer(self._window, layout)
        if printer is None:
            return
        paper = paper_of(printer.pageLayout())
        if paper is not None:
            self._settings.change(paper=paper)
        resolution = float(printer.logicalDpiX())
        pages = print_on(printer, self._theme, self._document.whole_report, resolution=resolution)
        self.status_message.emit(f"Printed {pages} {'page' if pages == 1 else 'pages'}")
