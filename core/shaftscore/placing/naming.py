"""What the maker gave, in words: the members of a core, and how to loosen them."""

from __future__ import annotations

from functools import partial

from shaftscore.base.angles import wrap
from shaftscore.base.wording import degrees, listed
from shaftscore.edits import BlockRef
from shaftscore.judge.findings.naming import block_text, lane_text, state_text
from shaftscore.model import Block, Project, Window
from shaftscore.placing.problem import Reason
from shaftscore.placing.shortest import Shortest
from shaftscore.rules.kinds import meaning_of
from shaftscore.rules.nominal import deg_per_s


class Names:
    """Words for the reasons of one project."""

    def __init__(self, project: Project, shortest: Shortest) -> None:
        """Keep the project, and the lengths that its moves need."""
        self._project, self._shortest = project, shortest

    def of(self, reason: Reason) -> str:
        """Describe what the maker gave, as a sentence."""
        say = {
            "rule": self._rule,
            "window": self._window,
            "locked": self._locked,
            "shortest": self._move,
            "kept": self._kept,
            "step": self._step,
            "guarded": self._guarded,
            "gate": self._gate,
            "channel": self._channel,
            "outlet": self._outlet,
            "magazine": self._magazine,
        }
        return say[reason.kind](reason)

    def loosened(self, reason: Reason, by_deg: float) -> str:
        """Describe what to do to loosen a reason by some degrees."""
        by = degrees(by_deg)
        if reason.kind in ("window", "locked", "step"):
            return self._moved(reason, by)
        if reason.kind == "shortest":
            move = f"{by} less for the move to {self._level(reason)}"
            return f"Give {self._lane(reason)} a larger disc or another law: {move}."
        if reason.kind == "kept":
            what = "start times to change" if reason.of == "starts" else "shorter dwells"
            return f"Allow {what}: {by} is enough."
        if reason.kind == "rule":
            return f"Ask {by} less of rule {int(reason.of) + 1}."
        return f"Shorten the times of {reason.kind} {reason.of} by what the shaft turns in {by}."

    def _moved(self, reason: Reason, by: str) -> str:
        """Describe what lets a block move further."""
        if reason.kind == "window":
            return f"Widen the window of {self._block(reason)} by {by}."
        if reason.kind == "locked":
            return f"Unlock {self._block(reason)}; it has to move by {by}."
        return f"Let the order of steps change: {self._block(reason)} has to leave its step by {by}."

    def _record(self, reason: Reason) -> Block:
        return self._project.lane(str(reason.of)).blocks[reason.block]

    def _block(self, reason: Reason) -> str:
        return block_text(self._project, BlockRef(str(reason.of), reason.block))

    def _lane(self, reason: Reason) -> str:
        return lane_text(self._project, str(reason.of))

    def _level(self, reason: Reason) -> str:
        return self._record(reason).level

    def _window(self, reason: Reason) -> str:
        window = self._record(reason).window
        assert isinstance(window, Window)
        ends = f"{degrees(window.earliest_deg)} to {degrees(wrap(window.latest_deg))}"
        return f"{self._block(reason)} starts within its window, {ends}."

    def _locked(self, reason: Reason) -> str:
        return f"{self._block(reason)} is locked at {degrees(self._record(reason).start_deg)}."

    def _move(self, reason: Reason) -> str:
        needed = degrees(self._shortest.known(str(reason.of), reason.block))
        return f"The move of {self._lane(reason)} to {self._level(reason)} needs {needed}."

    def _kept(self, reason: Reason) -> str:
        if reason.of == "starts":
            return "Start times stay as drawn."
        return "Dwells keep the required part of the length drawn."

    def _step(self, reason: Reason) -> str:
        return f"{self._block(reason)} stays in its step of the state table."

    def _guarded(self, reason: Reason) -> str:
        levels = listed(self._project.lane(str(reason.of)).guarded)
        return f"{self._lane(reason)} sweeps through a guarded level ({levels}) wherever its blocks stand."

    def _rule(self, reason: Reason) -> str:
        rule, project = self._project.rules[int(reason.of)], self._project
        return meaning_of(rule).demand(rule, partial(state_text, project), deg_per_s(project))

    def _gate(self, reason: Reason) -> str:
        return f"Gate {reason.of} opens as long as its items need, and in between is loaded again."

    def _channel(self, reason: Reason) -> str:
        return f"The items in channel {reason.of} keep their headway and find their way."

    def _outlet(self, reason: Reason) -> str:
        return f"Outlet {reason.of} gets what it expects, in that order."

    def _magazine(self, reason: Reason) -> str:
        return f"Magazine {reason.of} never runs empty on its supply."
