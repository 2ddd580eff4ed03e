"""Asks as what the timing diagram is to be written."""

from __future__ import annotations

from collections.abc import Callable

from PySide6.QtWidgets import QGridLayout, QLabel, QWidget

from shaftscore_app.theme import Theme
from shaftscore_app.widgets.choice import Choice, Option
from shaftscore_app.widgets.dialog import Button, Dialog

KINDS = (
    Option("pdf", "PDF", "pages, to print"),
    Option("svg", "SVG", "one picture of lines"),
    Option("png", "PNG", "one picture of pixels"),
)


class PictureDialog(Dialog):
    """Asks for kind and paper; the file is chosen next."""

    def __init__(
        self,
        parent: QWidget,
        theme: Theme,
        papers: tuple[str, ...],
        go: Callable[[str, str], object],
        *,
        paper: str,
    ) -> None:
        """Ask; go: is told kind and paper; paper: the one to begin with."""
        super().__init__(parent, theme, "Export diagram", "The timing diagram as a file")
        self._go = go
        self.kind: Choice[str] = Choice(theme, "Kind of file")
        self.paper: Choice[str] = Choice(theme, "Paper")
        self.kind.set_options(KINDS)
        self.kind.set_shown("pdf")
        self.paper.set_options([Option(name, name) for name in papers])
        self.paper.set_shown(paper)
        self.kind.chosen.connect(self._choose)
        self.paper.chosen.connect(self.paper.set_shown)
        grid = QGridLayout()
        for row, (name, choice) in enumerate((("Kind", self.kind), ("Paper", self.paper))):
            label = QLabel(name)
            label.setFont(theme.font(12))
            label.setBuddy(choice)
            grid.addWidget(label, row, 0)
            grid.addWidget(choice, row, 1)
        grid.setColumnStretch(1, 1)
        self.body.addLayout(grid)
        self.say("The whole turn of all lanes, with its findings and a legend.", muted=True)
        self.set_buttons((Button("Cancel"), Button("Choose the file…", self._done, default=True)))

    def _choose(self, kind: str) -> None:
        self.kind.set_shown(kind)
        self.paper.setEnabled(kind == "pdf")

    def _done(self) -> None:
        self._go(self.kind.given(), self.paper.given())
