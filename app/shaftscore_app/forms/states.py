"""The editor of a state: a lane and one of its levels, or a range of its output."""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial

from PySide6.QtWidgets import QHBoxLayout

from shaftscore.base.errors import Fault
from shaftscore.edits.drafts import inside
from shaftscore_app.forms.context import Context
from shaftscore_app.forms.draft import Draft, Entry, draft_in, number_of, text_of
from shaftscore_app.forms.editors import FieldEditor, left_in, put_back, settle
from shaftscore_app.forms.specs import Spec
from shaftscore_app.theme import Theme
from shaftscore_app.widgets.choice import Choice, Option
from shaftscore_app.widgets.field import Field
from shaftscore_app.widgets.quantities import millimetres


class Ranged:
    """Chosen instead of a level."""


RANGE = Ranged()
"""Stands for "a range of the output" among the levels."""


class StateEditor(FieldEditor):
    """Chooses a lane, and a level of it or a range."""

    def __init__(self, spec: Spec | None, theme: Theme, context: Context, name: str, lane: str = "") -> None:
        """Make the editor, called `name`; lane: the only one that may be chosen, if one is given."""
        super().__init__(spec)
        pairs = (("LevelState", "lane"), ("LevelState", "level"), ("RangeState", "lane"))
        self.marks |= {*pairs, ("RangeState", "from_mm"), ("RangeState", "to_mm")}
        self._context, self._only = context, lane
        self._draft: Draft = {}
        self.lane: Choice[str] = Choice(theme, f"{name}, lane")
        self.level: Choice[str | Ranged] = Choice(theme, f"{name}, level")
        self.low = Field(theme, f"{name}, from", millimetres())
        self.high = Field(theme, f"{name}, to", millimetres())
        self.lane.chosen.connect(self._choose_lane)
        self.level.chosen.connect(self._choose_level)
        for field, key in ((self.low, "from_mm"), (self.high, "to_mm")):
            field.typed.connect(partial(self._take, field, key))
            field.entered.connect(partial(self._take, field, key))
            field.left_unread.connect(self.changed)
            field.dropped.connect(lambda field=field, key=key: self._take(field, key, put_back(field)))
        row = QHBoxLayout(self)
        row.setContentsMargins(0, 0, 0, 0)
        row.setSpacing(theme.px(4))
        for widget, share in ((self.lane, 3), (self.level, 3), (self.low, 2), (self.high, 2)):
            row.addWidget(widget, share)
        self.lane.setVisible(not lane)
        self.setFocusProxy(self.level if lane else self.lane)
        self._show()

    def value(self) -> Draft:
        """Return the draft of the state."""
        return dict(self._draft)

    def set_value(self, value: Entry) -> None:
        """Show a state."""
        self._draft = dict(draft_in(value))
        self._show()

    def set_faults(self, faults: Sequence[Fault]) -> Sequence[Fault]:
        """Mark the ends of a range; the other faults are told beside the row."""
        told = list(faults)
        for field, key in ((self.low, "from_mm"), (self.high, "to_mm")):
            own = inside(told, key)
            if not field.unread():
                field.set_fault(own[0].message if own else "")
        return faults

    def unread(self) -> str:
        """Describe why what is typed cannot be read."""
        return self.low.unread() or self.high.unread()

    def left_unread(self) -> str:
        """Describe why what was left in an end of the range cannot be read."""
        return left_in(self.low, self.high)

    def refresh(self) -> None:
        """Offer the lanes again."""
        self._show()

    def _show(self) -> None:
        lane_id = self._lane_id
        lanes = self._context.options("lanes")
        levels: list[Option[str | Ranged]] = [*self._context.levels(lane_id)]
        level, ranged = text_of(self._draft, "level") or None, "from_mm" in self._draft
        if level is not None and level not in [option.value for option in levels]:
            levels.append(Option(level, level, "not there"))
        self.lane.set_options(lanes)
        self.lane.set_shown(lane_id)
        self.level.set_options([*levels, Option(RANGE, "A range…")])
        self.level.set_shown(RANGE if ranged else level)
        for field, key in ((self.low, "from_mm"), (self.high, "to_mm")):
            field.setVisible(ranged)
            if not field.isModified():
                field.set_shown(number_of(self._draft, key))

    def _choose_lane(self, lane_id: str) -> None:
        levels = self._context.levels(lane_id)
        names = [option.value for option in levels]
        draft: Draft = {**self._draft, "lane": lane_id}
        if "from_mm" not in draft and draft.get("level") not in names and names:
            draft = {**draft, "level": names[0]}
        self._set(draft)

    @property
    def _lane_id(self) -> str:
        return text_of(self._draft, "lane", self._only)

    def _choose_level(self, level: str | Ranged) -> None:
        lane = {"lane": self._lane_id}
        if isinstance(level, Ranged):
            heights = (
                self._context.project.levels_of(found).values()
                if (found := self._context.lane(lane["lane"]))
                else ()
            )
            self._set({**lane, "from_mm": 0.0, "to_mm": max(heights, default=0.0)})
        else:
            self._set({**lane, "level": level})

    def _take(self, field: Field[float], key: str, value: float | None) -> None:
        settle(field, value)
        if self._draft.get(key) != value:
            self._draft = {**self._draft, key: value}
            self.changed.emit()

    def _set(self, draft: Draft) -> None:
        self._draft = draft
        self._show()
        self.changed.emit()
