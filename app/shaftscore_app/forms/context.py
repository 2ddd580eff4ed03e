"""What a form looks up outside itself: lanes, levels, stacks, materials, and the parts of the flow.

References are chosen from lists. A list comes from the project or, where the form itself makes what is
referred to (the flow), from the draft being edited (`root`).
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

from shaftscore.base import wording
from shaftscore.base.wording import plain
from shaftscore.built.bearings import BEARINGS
from shaftscore.model import Lane, Project
from shaftscore.model.materials import materials_of
from shaftscore_app.forms.draft import Draft, drafts_in, number_of, text_of
from shaftscore_app.widgets.choice import Option

REFERENCES: Mapping[tuple[str, str], str] = {
    ("Lane", "stack"): "stacks",
    ("Lane", "disc_of"): "discs",
    ("GenevaSteps", "stack"): "driving stacks",
    ("CountedSteps", "stack"): "driving stacks",
    ("Disc", "material"): "materials",
    ("FollowerBase", "material"): "materials",
    ("Rod", "material"): "materials",
    ("MachineFrame", "material"): "materials",
    ("TranslatingRoller", "bearing"): "bearings",
    ("SwingingRoller", "bearing"): "bearings",
    ("Magazine", "from"): "sources",
    ("Gate", "from"): "magazines",
    ("Gate", "to"): "ends",
    ("Channel", "to"): "ends",
    ("Branch", "to"): "ends",
    ("Diverter", "lane"): "lanes",
}
"""(record, key): which list its value is chosen from."""

_NOUNS = {"supplies": "supply", "magazines": "magazine", "channels": "channel", "outlets": "outlet"}


@dataclass(frozen=True)
class Context:
    """What a form looks up; root: gives the whole draft being edited."""

    project: Project
    root: Callable[[], Draft] = dict

    def list_of(self, record: type, key: str) -> str:
        """Return the name of the list that a field is chosen from; empty for a field that is typed."""
        return next(
            (REFERENCES[own] for base in record.__mro__ if (own := (base.__name__, key)) in REFERENCES), ""
        )

    def options(self, which: str) -> list[Option[str]]:
        """Return what can be chosen from a list."""
        if which == "stacks":
            return [Option(stack.id, stack.label) for stack in self.project.stacks]
        if which == "driving stacks":
            made = [
                (text_of(one, "id"), text_of(one, "name")) for one in drafts_in(self.root().get("stacks"))
            ]
            return [Option(own, name or own) for own, name in made] or self.options("stacks")
        if which == "materials":
            return [Option(name, name) for name in materials_of(self.project)]
        if which == "bearings":
            return [
                Option(name, name, f"{plain(size.outer_mm)} × {plain(size.width_mm)} mm")
                for name, size in BEARINGS.items()
            ]
        if which in ("lanes", "discs"):
            lanes = [lane for lane in self.project.lanes if which == "lanes" or lane.has_disc]
            return [Option(lane.id, lane.label, lane.code or "") for lane in lanes]
        parts = {"sources": ("supplies", "magazines"), "magazines": ("magazines",)}
        return self._parts(parts.get(which, ("channels", "outlets", "magazines")))

    def _parts(self, kinds: tuple[str, ...]) -> list[Option[str]]:
        draft = self.root()
        named = [(text_of(part, "id"), _NOUNS[kind]) for kind in kinds for part in drafts_in(draft.get(kind))]
        return [Option(name, name, noun) for name, noun in named if name]

    def lane(self, lane_id: str) -> Lane | None:
        """Return a lane by id, or None."""
        return self.project.lane(lane_id) if lane_id in self.project.lane_index else None

    def levels(self, lane_id: str) -> list[Option[str]]:
        """Return the levels of a lane, highest first, with their heights."""
        lane = self.lane(lane_id)
        levels = self.project.levels_of(lane) if lane is not None else {}
        ranked = sorted(levels.items(), key=lambda item: -item[1])
        return [Option(name, name, wording.millimetres(mm)) for name, mm in ranked]

    def first_state(self, place: int = 0) -> Draft:
        """Return the draft of a state to begin with: the highest level of a lane; empty without lanes."""
        for lane in self.project.lanes[place:] or self.project.lanes:
            levels = self.levels(lane.id)
            if levels:
                return {"lane": lane.id, "level": levels[0].value}
        return {}

    def state_words(self, state: Draft) -> str:
        """Name a state: "Mint open", "Mint 2 to 4 mm"."""
        lane = self.lane(text_of(state, "lane"))
        name = lane.label if lane is not None else text_of(state, "lane", "?")
        if "from_mm" in state:
            low, high = (wording.plain(number_of(state, key)) for key in ("from_mm", "to_mm"))
            return f"{name} {low} to {high} mm"
        return f"{name} {text_of(state, 'level', '?')}"
