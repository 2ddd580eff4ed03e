"""The dialog that asks where the gates of some states lead from and to."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QFormLayout, QLabel, QWidget

from shaftscore.base.wording import counted, listed, part_name
from shaftscore.model import Flow, LevelState, Project
from shaftscore_app.theme import Theme
from shaftscore_app.widgets.choice import Choice, Option
from shaftscore_app.widgets.dialog import Button, Dialog

MAKE = "OK"
MOST_NAMED = 6


class GatesDialog(Dialog):
    """The dialog; it says how many gates are new and how many are updated."""

    def __init__(
        self,
        parent: QWidget,
        theme: Theme,
        project: Project,
        states: Sequence[LevelState],
        make: Callable[[str, str | None], str],
    ) -> None:
        """Ask about states; make: takes ids of magazine and way, and returns a fault or an empty text."""
        super().__init__(parent, theme, "Gates from blocks", "Where do the items come from and go to?")
        self._make = make
        flow = project.flow or Flow()
        self.source: Choice[str] = Choice(theme, "From")
        self.source.set_options([Option(one.id, part_name(one.id), "magazine") for one in flow.magazines])
        self.to: Choice[str | None] = Choice(theme, "To")
        kinds = (("channel", flow.channels), ("outlet", flow.outlets), ("magazine", flow.magazines))
        ways = [Option(one.id, part_name(one.id), kind) for kind, parts in kinds for one in parts]
        self.to.set_options([*ways, Option(None, "Not followed further")])
        self.source.set_shown(flow.magazines[0].id)
        self.to.set_shown(ways[0].value)
        form = QFormLayout()
        for name, choice in (("From", self.source), ("To", self.to)):
            choice.chosen.connect(choice.set_shown)
            label = QLabel(name)
            label.setFont(theme.font(12))
            label.setBuddy(choice)
            form.addRow(label, choice)
        self.body.addLayout(form)
        self.say(_said(project, flow, states), muted=True)
        self._fault = self.say("", muted=True)
        self._fault.setObjectName("fault")
        self.set_buttons((Button("Cancel"), Button(MAKE, self._go, default=True, stays=True)))
        self.source.setFocus(Qt.FocusReason.OtherFocusReason)

    def _go(self) -> None:
        fault = self._make(self.source.given(), self.to.given())
        self._fault.setText(fault)
        if not fault:
            self.done(Dialog.DialogCode.Accepted)


def _said(project: Project, flow: Flow, states: Sequence[LevelState]) -> str:
    """Name the states, and count the gates that are new and that are updated."""
    names = [f"{project.lane(state.lane).label} {state.level}" for state in states]
    more = [f"{len(names) - MOST_NAMED} more"] if len(names) > MOST_NAMED else []
    known = {gate.state for gate in flow.gates}
    updated = sum(state in known for state in states)
    gates = f"{counted(len(states), 'gate')}: {len(states) - updated} new, {updated} updated."
    return f"{listed([*names[:MOST_NAMED], *more])}. {gates}"
