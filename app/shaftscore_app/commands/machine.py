"""Commands of the menu Machine, and the forms of a lane's follower and disc."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from functools import partial

from PySide6.QtCore import Signal

from shaftscore.base.errors import ShaftscoreError
from shaftscore.base.wording import counted
from shaftscore.edits import Edited, gates_from_blocks, set_names, size_base_circles, states_of_blocks
from shaftscore.edits.drafts import LanePart, draft_of
from shaftscore.edits.lanes_part import LanesPart
from shaftscore.model import Lane, LevelState
from shaftscore_app.commands.services import CommandGroup
from shaftscore_app.dialogs.form import FormDialog
from shaftscore_app.dialogs.gates import GatesDialog
from shaftscore_app.dialogs.names import NamesDialog
from shaftscore_app.document.binding import commit
from shaftscore_app.document.look import ShownReports
from shaftscore_app.forms.context import Context
from shaftscore_app.forms.disc_form import DiscForm
from shaftscore_app.forms.follower_form import FollowerForm
from shaftscore_app.forms.listing import ListEditor
from shaftscore_app.forms.parts import FORMS
from shaftscore_app.forms.record_form import RecordForm
from shaftscore_app.forms.specs import Spec, specs_of
from shaftscore_app.forms.spring_form import SpringForm
from shaftscore_app.forms.titles import Titles
from shaftscore_app.menus.actions import Reason

ALL_LANES = (
    "What you change goes to all {count} lanes; the values shown are those of {lane}. A lane that has none "
    "gets all of them."
)
"""What the form of several lanes says."""

SIZES = "sizes"
"""Kind of the job that sizes all base circles."""

FROM_PART = re.compile(r"lanes\[\d+\]\.\w+\.?|(drive|flow)\.?")
"""Beginning of a path up to the part that its form edits; the form of the stacks edits all of them."""

LANE_FORMS: Mapping[str, tuple[str, Titles]] = {
    "lane.follower": ("follower", Titles("Follower", "Follower of", size=(640, 760))),
    "lane.disc": ("disc", Titles("Disc", "Disc of", size=(560, 400))),
    "lane.load": (
        "load",
        Titles(
            "Load",
            "Load of",
            "Springs store energy: a follower that is let go strikes. Ease it down before you reach in.",
            "It carries nothing yet: force, stress and torque of the lane are not judged.",
            "Remove load",
            (560, 400),
        ),
    ),
    "lane.parts": (
        "parts",
        Titles(
            "Follower parts",
            "Parts of the follower of",
            absent="Its parts are not described yet: none are made.",
            removal="Remove parts",
            size=(560, 480),
        ),
    ),
}
"""Command id: field of the lane, and the titles of its form; the lane's name follows the heading."""


class MachineCommands(CommandGroup):
    """The commands.

    Signals: status_message(sentence) with why something could not be done; view_wanted(name) when a view is
    to be shown with room; gates_wanted() when the gates of the selected lanes are to be asked about.
    """

    status_message = Signal(str)
    view_wanted = Signal(str)
    gates_wanted = Signal()

    def handlers(self) -> Mapping[str, Callable[..., object]]:
        """Return what each command does."""
        machine: dict[str, Callable[..., object]] = {key: partial(self.open_form, key) for key in FORMS}
        lane = {key: partial(self.open_lane_form, key) for key in LANE_FORMS}
        parts = {"lane.parts": lambda: self.view_wanted.emit("followers")}
        own: dict[str, Callable[..., object]] = {
            "machine.sizes": self.size_base_circles,
            "machine.notes": self.ask_names,
            "block.rule": self.rule_from_blocks,
            "block.gates": self.ask_gates,
            "lane.gates": self.gates_wanted.emit,
        }
        return {**machine, **lane, **parts, **own}

    def reasons(self) -> Mapping[str, Reason]:
        """Return why a command cannot be done now."""
        lanes = self._no_lanes
        return {
            "machine.rules": lanes,
            "machine.sizes": self._all_auto,
            "block.rule": self._no_rule,
            "block.gates": self._no_gates,
            "lane.follower": self._no_follower,
            "lane.disc": self._no_disc,
            "lane.parts": self._no_follower,
            "lane.load": self._no_lane,
            "lane.gates": self._no_lane,
        }

    def open_at(self, key: str, path: str) -> bool:
        """Open the form of a command at a field; returns False where the command opens no form.

        path: of the field, as `not_described` names it.
        """
        if key not in FORMS and key not in LANE_FORMS:
            return False
        dialog = self.open_form(key) if key in FORMS else self.open_lane_form(key)
        if dialog is not None:
            dialog.go_to(FROM_PART.sub("", path))
        return True

    def open_form(self, key: str) -> FormDialog:
        """Open the form of a part of the machine."""
        form = FORMS[key]
        editor = form.editor(self._theme, self._document.committed)
        return self._open(
            FormDialog(
                self._window,
                self._theme,
                self._document,
                part=form.part,
                editor=editor,
                titles=form.titles,
                starter=form.starter,
            )
        )

    def rule_from_blocks(self) -> None:
        """Open the rules with a new one of the states of the selected blocks."""
        if self._no_rule():
            return
        first, second, *more = (draft_of(state) for state in self._states())
        dialog = self.open_form("machine.rules")
        if isinstance(dialog.editor, ListEditor):
            dialog.editor.append({"kind": "exclusive", "states": (first, second, *more)})

    def ask_gates(self) -> None:
        """Ask where the gates of the selected blocks' states lead from and to."""
        if not self._no_gates():
            project, states = self._document.committed, self._states()
            GatesDialog(self._window, self._theme, project, states, self._make_gates).open()

    def _make_gates(self, source: str, to: str | None) -> str:
        document = self._document
        refs = document.selection.blocks
        return commit(document, lambda: gates_from_blocks(document.committed, refs, source, to))

    def open_lane_form(self, key: str) -> FormDialog | None:
        """Open the form of a part of the selected lanes; None where no lane is selected."""
        lanes = self._lanes_for(key)
        if not lanes:
            return None
        field, titles = LANE_FORMS[key]
        lane = lanes[0]
        spec = next(spec for spec in specs_of(Lane) if spec.key == field)
        context = Context(self._document.committed)
        editor = self._editor_of(key, context, spec, lanes)
        ids = tuple(own.id for own in lanes)
        several = len(lanes) > 1
        what = counted(len(lanes), "lane") if several else lane.label
        dialog = FormDialog(
            self._window,
            self._theme,
            self._document,
            part=LanesPart(ids, field) if several else LanePart(lane.id, field),
            editor=editor,
            titles=replace(titles, heading=f"{titles.heading} {what}"),
        )
        if several:
            dialog.add_remark(ALL_LANES.format(count=len(lanes), lane=lane.label))
        return self._open(dialog)

    def _editor_of(self, key: str, context: Context, spec: Spec, lanes: Sequence[Lane]) -> RecordForm:
        """Make the form of a part of lanes."""
        if key == "lane.follower":
            return FollowerForm(self._theme, context, spec.records)
        if key == "lane.disc":
            return DiscForm(self._theme, context, spec.records, lanes)
        own = {("Load", "spring"): partial(SpringForm, self._theme, context)}
        return RecordForm(self._theme, context, spec.records, own=own)

    def ask_names(self) -> None:
        """Ask for name and notes."""
        NamesDialog(self._window, self._theme, self._document.committed, self._set_names).open()

    def _set_names(self, name: str, notes: str) -> str:
        document = self._document
        return commit(document, lambda: set_names(document.committed, name, notes))

    def size_base_circles(self) -> None:
        """Let every disc be as small as its limits allow.

        That solves every lane, which is done beside the window; what is edited meanwhile is sized too.
        """
        document = self._document
        before = document.committed

        def work() -> tuple[Edited, ShownReports]:
            edited = size_base_circles(before)
            return edited, document.look_at(edited.project)

        def done(sized: tuple[Edited, ShownReports]) -> None:
            if document.committed is before:
                document.perform(sized[0], seen=sized[1])
            else:
                self.size_base_circles()

        self._jobs.request(SIZES, work, done, self._not_sized)

    def _not_sized(self, error: Exception) -> None:
        if not isinstance(error, ShaftscoreError):
            raise error
        self.status_message.emit(str(error))

    # Inside

    def _open(self, dialog: FormDialog) -> FormDialog:
        dialog.open()
        return dialog

    @property
    def _lane(self) -> Lane | None:
        return self._document.selection.lane_in(self._document.committed)

    def _lanes_for(self, key: str) -> list[Lane]:
        """Return the selected lanes that have such a part, the one selected last first."""
        project = self._document.committed
        ids = [own for own in self._document.selection.lane_ids if own in project.lane_index]
        has = {"lane.follower": lambda lane: lane.kind != "index", "lane.disc": lambda lane: lane.has_disc}
        lanes = [project.lane(own) for own in reversed(ids)]
        return [lane for lane in lanes if key not in has or has[key](lane)]

    def _states(self) -> tuple[LevelState, ...]:
        return states_of_blocks(self._document.committed, self._document.selection.blocks)

    def _no_rule(self) -> str:
        return "" if len(self._states()) > 1 else "Select blocks of two states: a rule is between them"

    def _no_gates(self) -> str:
        flow = self._document.committed.flow
        if not self._document.selection.blocks:
            return "No block is selected"
        return "" if flow is not None and flow.magazines else "There are no magazines: see Machine > Flow…"

    def _no_lanes(self) -> str:
        return "" if self._document.committed.lanes else "There are no lanes yet"

    def _no_lane(self) -> str:
        return "" if self._lane is not None else "No lane is selected"

    def _no_follower(self) -> str:
        lane = self._lane
        if lane is None:
            return "No lane is selected"
        return f"{lane.label} is of kind index: it has no follower" if lane.kind == "index" else ""

    def _no_disc(self) -> str:
        lane = self._lane
        if lane is None:
            return "No lane is selected"
        return "" if lane.has_disc else f"{lane.label} is of kind {lane.kind}: it has no disc of its own"

    def _all_auto(self) -> str:
        discs = [lane for lane in self._document.committed.lanes if lane.has_disc]
        if not discs:
            return "There are no discs yet"
        sized = all(lane.disc.base_radius_mm == "auto" for lane in discs)
        return "All base circles are sized by their limits already" if sized else ""
