"""The form of the flow: one tab for each kind of part; references are lists, and follow a new name."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence

from PySide6.QtWidgets import QTabWidget, QVBoxLayout, QWidget

from shaftscore.base.errors import Fault
from shaftscore.base.wording import listed, plain
from shaftscore.edits.drafts import inside
from shaftscore.model import Channel, Gate, Magazine, Outlet, Project, Record, Supply
from shaftscore_app.forms.context import Context
from shaftscore_app.forms.draft import Draft, Entry, Value, draft_in, drafts_in, first_step, text_of
from shaftscore_app.forms.editors import FieldEditor, Mark
from shaftscore_app.forms.listing import ListEditor, ListHabits
from shaftscore_app.forms.own import WayEditor
from shaftscore_app.forms.record_form import RecordForm
from shaftscore_app.forms.specs import Spec, starter_of
from shaftscore_app.theme import Theme

KINDS: Mapping[str, tuple[str, str, type[Record]]] = {
    "supplies": ("Supplies", "supply", Supply),
    "magazines": ("Magazines", "magazine", Magazine),
    "gates": ("Gates", "gate", Gate),
    "channels": ("Channels", "channel", Channel),
    "outlets": ("Outlets", "outlet", Outlet),
}
"""Key in the flow, title of the tab, what one is called, its record."""

USERS: Mapping[str, tuple[tuple[str, str], ...]] = {
    "supplies": (("magazines", "from"),),
    "magazines": (("magazines", "from"), ("gates", "from"), ("gates", "to"), ("channels", "to")),
    "channels": (("gates", "to"), ("channels", "to")),
    "outlets": (("gates", "to"), ("channels", "to")),
    "gates": (),
}
"""For each kind of part, (kind, key) of what may refer to it."""


def users_of(flow: Draft, kind: str, name: str) -> Iterator[str]:
    """Yield the ids of the parts of a flow's draft that refer to a part."""
    for other, key in USERS[kind]:
        for part in drafts_in(flow.get(other)):
            value = part.get(key)
            ways = drafts_in(draft_in(value).get("by_state"))
            if value == name or any(way.get("to") == name for way in ways):
                yield text_of(part, "id")


def renamed(flow: Draft, kind: str, old: str, new: str) -> Draft:
    """Let what refers to a part of a flow's draft follow its new id."""
    made = dict(flow)
    for other, key in USERS[kind]:
        made[other] = tuple(_following(part, key, old, new) for part in drafts_in(made.get(other)))
    return {key: parts for key, parts in made.items() if parts}


def _following(part: Draft, key: str, old: str, new: str) -> Draft:
    value = part.get(key)
    if value == old:
        return {**part, key: new}
    if not isinstance(value, Mapping):
        return part
    there = drafts_in(value.get("by_state"))
    ways = tuple({**way, "to": new} if way.get("to") == old else way for way in there)
    return {**part, key: {**value, "by_state": ways}}


class _Lists(dict[str, ListEditor]):
    """The lists of a flow's form by kind, each made when it is first asked for; loops give those made."""

    def __init__(self, make: Callable[[str], ListEditor]) -> None:
        super().__init__()
        self._make = make

    def __missing__(self, kind: str) -> ListEditor:
        self[kind] = self._make(kind)
        return self[kind]


class FlowForm(FieldEditor):
    """Edits the draft of a flow.

    A tab is filled when it is first shown, or when something in it is wrong: all five at once would keep the
    window waiting.
    """

    def __init__(self, theme: Theme, project: Project) -> None:
        """Make a tab for each kind of part."""
        super().__init__(None)
        self._theme = theme
        self._context = Context(project, self._root)
        self._before: Draft = {}
        self._given: Draft = {}
        self.lists = _Lists(self._made)
        self.tabs = QTabWidget()
        self.tabs.setFont(theme.font(12, 500))
        self._pages = {kind: self._added(title) for kind, (title, _, _) in KINDS.items()}
        self.tabs.currentChanged.connect(lambda number: self.lists[tuple(KINDS)[number]])
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.addWidget(self.tabs)
        self.setFocusProxy(self.tabs.tabBar())
        self.marks |= {("Flow", kind) for kind in KINDS}

    def _added(self, title: str) -> QVBoxLayout:
        """Add an empty tab."""
        page = QWidget()
        column = QVBoxLayout(page)
        column.setContentsMargins(0, 0, 0, 0)
        self.tabs.addTab(page, title)
        return column

    def _made(self, kind: str) -> ListEditor:
        """Fill the tab of a kind."""
        title, noun, record = KINDS[kind]
        own: Mapping[Mark, Callable[[Spec], FieldEditor]] = {
            ("Channel", "to"): lambda spec: WayEditor(spec, self._theme, self._context)
        }
        form = RecordForm(self._theme, self._context, [record], own=own)

        def starter(_kind: str, there: Sequence[Draft]) -> Draft:
            return self._starter(kind, there)

        def refusal(draft: Draft) -> str:
            return self._refusal(kind, draft)

        habits = ListHabits(noun, {kind: title}, starter, self._summary, refusal, ordered=kind != "outlets")
        made = ListEditor(None, self._theme, form, habits)
        made.set_value(self._given.get(kind, ()))
        made.changed.connect(lambda: self._take(kind))
        self._pages[kind].addWidget(made)
        made.show()
        made.refresh()
        return made

    def _root(self) -> Draft:
        """Return the draft, also while the form is being built."""
        made: dict[str, Value] = {kind: editor.drafts() for kind, editor in self.lists.items()}
        return {kind: made.get(kind, self._given.get(kind, ())) for kind in KINDS}

    # As an editor

    def value(self) -> Draft:
        """Return the draft."""
        return {kind: drafts for kind, drafts in self._root().items() if drafts}

    def set_value(self, value: Entry) -> None:
        """Show a draft."""
        self._given = draft_in(value)
        for kind, editor in self.lists.items():
            editor.set_value(self._given.get(kind, ()))
        _ = self.lists[tuple(KINDS)[self.tabs.currentIndex()]]
        self._refresh()

    def set_faults(self, faults: Sequence[Fault]) -> Sequence[Fault]:
        """Mark tabs, lines and fields."""
        loose = [fault for fault in faults if fault.path.split("[")[0] not in KINDS]
        for number, (kind, (title, _, _)) in enumerate(KINDS.items()):
            own = inside(list(faults), kind)
            if own or kind in self.lists:
                loose += self.lists[kind].set_faults(own)
            self.tabs.setTabText(number, f"{title} ({len(own)} wrong)" if own else title)
        return loose

    def unread(self) -> str:
        """Describe why what is being typed cannot be read."""
        return next((said for editor in self.lists.values() if (said := editor.unread())), "")

    def field_at(self, path: str) -> QWidget:
        """Show the list of a path, and return the widget of its field; without a path what adds a part."""
        kind, rest = first_step(path)
        kind = kind if isinstance(kind, str) and kind in KINDS else next(iter(KINDS))
        self.tabs.setCurrentIndex([*KINDS].index(kind))
        return self.lists[kind].field_at(rest) if rest else self.lists[kind].add

    def all_marks(self) -> frozenset[Mark]:
        """Return the marks of all tabs."""
        return self.marks.union(*(self.lists[kind].all_marks() for kind in KINDS))

    # Inside

    def _take(self, kind: str) -> None:
        """Let references follow a part whose id has changed."""
        old = [text_of(draft, "id") for draft in drafts_in(self._before.get(kind))]
        new = [text_of(draft, "id") for draft in self.lists[kind].drafts()]
        changed = [pair for pair in zip(old, new, strict=False) if pair[0] != pair[1]]
        if len(old) == len(new) and len(changed) == 1 and all(changed[0]) and changed[0][1] not in old:
            flow = self._given = renamed(self.value(), kind, *changed[0])
            for other, editor in self.lists.items():
                if other != kind:
                    editor.set_value(flow.get(other, ()))
        self._refresh()
        self.changed.emit()

    def _refresh(self) -> None:
        self._before = self._root()
        for editor in self.lists.values():
            editor.refresh()

    def _starter(self, kind: str, there: Sequence[Draft]) -> Draft:
        _, noun, record = KINDS[kind]
        taken = [draft.get("id") for draft in there]
        name = next(own for n in range(1, len(taken) + 2) if (own := f"{noun}_{n}") not in taken)
        draft: dict[str, Value] = {"id": name, **starter_of(record)}
        if kind == "gates":
            draft |= {"state": self._context.first_state(len(there)), **self._first("from", "magazines")}
        if kind == "channels":
            draft |= self._first("to", "ends")
        if kind == "magazines":
            draft |= self._first("from", "sources")
        return draft

    def _first(self, key: str, which: str) -> dict[str, Value]:
        options = self._context.options(which)
        return {key: options[0].value} if options else {}

    def _refusal(self, kind: str, draft: Draft) -> str:
        own = text_of(draft, "id")
        users = list(dict.fromkeys(users_of(self.value(), kind, own)))
        if not users:
            return ""
        return f"{own} is named by {listed(users[:5])}; let them name another first"

    def _summary(self, draft: Draft) -> str:
        rate = draft.get("rate_per_min")
        name = text_of(draft, "id", "?")
        return f"{name}, {plain(rate)} per min" if isinstance(rate, int | float) else name
