"""The form of the stacks: a list of them, and for the chosen one its shaft, bore, dogs, play and order."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field

from PySide6.QtCore import QSize
from PySide6.QtWidgets import QHBoxLayout, QListWidget, QToolButton, QVBoxLayout, QWidget

from shaftscore.base.errors import Fault
from shaftscore.base.wording import listed
from shaftscore.model import Lane, Project, Stack
from shaftscore_app.document.binding import muted
from shaftscore_app.forms.context import Context
from shaftscore_app.forms.draft import ABSENT, Draft, Entry, draft_in, first_step, text_of
from shaftscore_app.forms.editors import FieldEditor, Mark
from shaftscore_app.forms.listing import ListEditor, ListHabits
from shaftscore_app.forms.record_form import RecordForm
from shaftscore_app.forms.specs import Spec, starter_of
from shaftscore_app.theme import Theme
from shaftscore_app.widgets.choice import Choice, Option


@dataclass
class Homes:
    """Which stack each disc is on, while the form is open; moved: those that go to another."""

    project: Project
    moved: dict[str, str] = field(default_factory=dict)

    def of(self, lane: Lane) -> str:
        """Return the id of the stack that a lane's disc is on."""
        return self.moved.get(lane.id) or self.project.stack_of(lane).id

    def discs_of(self, stack_id: str, order: Sequence[str]) -> list[Lane]:
        """Return the lanes whose discs are on a stack, bottom to top."""
        own = [lane for lane in self.project.lanes if lane.has_disc and self.of(lane) == stack_id]
        place = {lane_id: number for number, lane_id in enumerate(order)}
        return sorted(own, key=lambda lane: place.get(lane.id, len(place)))

    def carried(self, stack_id: str) -> list[str]:
        """Return the names of all lanes on a stack."""
        return [
            lane.label for lane in self.project.lanes if lane.disc_of is None and self.of(lane) == stack_id
        ]


class OrderEditor(FieldEditor):
    """The discs of a stack, bottom to top: moved up and down, or onto another stack."""

    def __init__(self, spec: Spec, theme: Theme, homes: Homes, stacks: Callable[[], Sequence[Draft]]) -> None:
        """Make the editor; stacks: returns the drafts of all stacks."""
        super().__init__(spec)
        self.setProperty("section", True)
        self.marks |= {("Lane", "stack")}
        self._theme, self._homes, self._stacks = theme, homes, stacks
        self._stack_id = ""
        self._order: tuple[str, ...] = ()
        self.list = QListWidget()
        self.list.setAccessibleName("Discs, bottom to top")
        self.list.setFont(theme.font(12))
        self.list.setFixedHeight(theme.px(148))
        self.list.currentRowChanged.connect(lambda _row: self._grey())
        self.to: Choice[str | None] = Choice(theme, "Put the disc onto another stack")
        self.to.chosen.connect(self._put)
        row = QHBoxLayout()
        self.up = self._tool("Disc nearer to the top", 1)
        self.down = self._tool("Disc nearer to the bottom", -1)
        row.addWidget(self.up)
        row.addWidget(self.down)
        row.addWidget(self.to, 1)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.addWidget(self.list)
        column.addLayout(row)
        self.setFocusProxy(self.list)

    def _tool(self, name: str, by: int) -> QToolButton:
        tool = QToolButton()
        tool.setText("Move up" if by > 0 else "Move down")
        tool.setFont(self._theme.font(12))
        tool.setObjectName("chip")
        tool.setIconSize(QSize(self._theme.px(16), self._theme.px(16)))
        tool.setAccessibleName(name)
        tool.setToolTip(name)
        tool.clicked.connect(lambda _on=False: self._move(by))
        return tool

    def value(self) -> Entry:
        """Return the order; `ABSENT` where it is that of the file."""
        return self._order or ABSENT

    def set_value(self, value: Entry) -> None:
        """Show an order."""
        self._order = tuple(map(str, value)) if isinstance(value, tuple) else ()
        self._show(0)

    def set_context(self, draft: Draft) -> None:
        """Take which stack it is."""
        self._stack_id = text_of(draft, "id")

    def refresh(self) -> None:
        """Write the list again."""
        self._show(self.list.currentRow())

    def _discs(self) -> list[Lane]:
        return self._homes.discs_of(self._stack_id, self._order)

    def _show(self, number: int) -> None:
        discs = self._discs()
        with muted(self.list):
            self.list.clear()
            self.list.addItems(
                [f"{place}  {lane.code or ''} {lane.label}" for place, lane in enumerate(discs, 1)]
            )
            self.list.setCurrentRow(min(number, len(discs) - 1))
        others = [stack for stack in self._stacks() if text_of(stack, "id") != self._stack_id]
        named = [Option(text_of(stack, "id"), _summary(stack)) for stack in others]
        self.to.set_options([Option(None, "Stays on this stack"), *named])
        self.to.set_shown(None)
        self.to.setEnabled(bool(others) and bool(discs))
        self._grey()

    def _grey(self) -> None:
        number, count = self.list.currentRow(), self.list.count()
        self.up.setEnabled(0 <= number < count - 1)
        self.down.setEnabled(number > 0)

    def _move(self, by: int) -> None:
        number = self.list.currentRow()
        order = [lane.id for lane in self._discs()]
        order[number], order[number + by] = order[number + by], order[number]
        self._order = tuple(order)
        self._show(number + by)
        self.changed.emit()

    def _put(self, stack_id: str | None) -> None:
        discs, number = self._discs(), self.list.currentRow()
        if stack_id is None or not 0 <= number < len(discs):
            return
        lane_id = discs[number].id
        self._homes.moved[lane_id] = stack_id
        self._order = tuple(own for own in self._order if own != lane_id)
        self._show(number)
        self.changed.emit()


class StacksForm(FieldEditor):
    """Edits {"stacks": drafts, "homes": {lane: stack}}."""

    def __init__(self, theme: Theme, project: Project) -> None:
        """Make the list of stacks with the form of one."""
        super().__init__(None)
        self._list: ListEditor | None = None  # the form asks for it while it is being made
        self._homes = Homes(project)
        self.marks |= {("Project", "stacks"), ("Stack", "id")}
        own: Mapping[Mark, Callable[[Spec], FieldEditor]] = {
            ("Stack", "order"): lambda spec: OrderEditor(spec, theme, self._homes, self._drafts)
        }
        skip = frozenset({("Stack", "id")})
        context = Context(project, lambda: {"stacks": tuple(self._drafts())})
        self.form = RecordForm(theme, context, [Stack], own=own, skip=skip)
        habits = ListHabits("stack", {"": ""}, self._starter, _summary, self._refusal)
        self._list = ListEditor(None, theme, self.form, habits)
        self._list.changed.connect(self._take)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.addWidget(self._list)
        self.setFocusProxy(self._list)

    @property
    def list(self) -> ListEditor:
        """The list."""
        assert self._list is not None
        return self._list

    def _drafts(self) -> Sequence[Draft]:
        return self._list.drafts() if self._list is not None else ()

    def value(self) -> Draft:
        """Return the draft."""
        there = {draft.get("id") for draft in self._drafts()}
        homes = {lane: stack for lane, stack in self._homes.moved.items() if stack in there}
        return {"stacks": tuple(self._drafts()), "homes": homes}

    def set_value(self, value: Entry) -> None:
        """Show a draft."""
        homes = draft_in(value, "homes")
        self._homes.moved = {lane: text_of(homes, lane) for lane in homes}
        self.list.set_value(draft_in(value).get("stacks"))

    def set_faults(self, faults: Sequence[Fault]) -> Sequence[Fault]:
        """Mark lines and fields."""
        return self.list.set_faults(faults)

    def unread(self) -> str:
        """Describe why what is being typed cannot be read."""
        return self.list.unread()

    def field_at(self, path: str) -> QWidget:
        """Choose the stack of a path, and return the widget of its field."""
        key, rest = first_step(path)
        return self.list.field_at(rest if key == "stacks" else path)

    def all_marks(self) -> frozenset[Mark]:
        """Return all marks."""
        return self.marks | self.list.all_marks()

    def _take(self) -> None:
        self.form.refresh()
        self.changed.emit()

    def _starter(self, _kind: str, there: Sequence[Draft]) -> Draft:
        taken = [draft.get("id") for draft in there] + [stack.id for stack in self._homes.project.stacks]
        name = next(own for n in range(2, len(taken) + 3) if (own := f"stack_{n}") not in taken)
        return {"id": name, "name": f"Stack {len(there) + 1}", **starter_of(Stack)}

    def _refusal(self, draft: Draft) -> str:
        carried = self._homes.carried(text_of(draft, "id"))
        if carried:
            return f"{_summary(draft)} carries {listed(carried[:5])}; put them onto another stack first"
        return "A machine has at least one stack" if len(self._drafts()) == 1 else ""


def _summary(draft: Draft) -> str:
    return text_of(draft, "name") or text_of(draft, "id", "?")
