"""The table of views: what each is called, how it is made, where it is by default, and its place in the menu.

Adding a view is one module and one row. Docks, the View menu, the order of Tab and the shortcut sheet all
come from the rows.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal, Protocol, runtime_checkable

from PySide6.QtWidgets import QWidget

from shaftscore_app.document import Document
from shaftscore_app.runtime.jobs import Jobs
from shaftscore_app.theme import Theme
from shaftscore_app.views.bring_up import BringUpView
from shaftscore_app.views.coverage import CoverageView
from shaftscore_app.views.disc import DiscView
from shaftscore_app.views.findings import FindingsView
from shaftscore_app.views.flow import FlowView
from shaftscore_app.views.follower_parts import FollowerPartsView
from shaftscore_app.views.load import LoadsView
from shaftscore_app.views.motion import MotionView
from shaftscore_app.views.operation import OperationView
from shaftscore_app.views.program import ProgramView
from shaftscore_app.views.properties import PropertiesView
from shaftscore_app.views.shaft import ShaftView
from shaftscore_app.views.stack import StackView
from shaftscore_app.views.state_table import StateTableView

DockPlace = Literal["right", "right tabs", "bottom left", "bottom middle", "bottom right"]
"""The right column, top to bottom, tabs on its first view, or a group of tabs in the bottom row."""


@dataclass(frozen=True)
class ViewRow:
    """A view: its name, the title of its dock, its item in the View menu, what makes it, and its place.

    menu: the item's text, with the letter of its key. tip: what the item does. is_open: whether it is there
    by default; a view of its own work that needs room is opened by its command.
    """

    name: str
    title: str
    menu: str
    tip: str
    make: Callable[[Document, Theme, Jobs], QWidget]
    place: DockPlace
    is_open: bool = True


VIEWS = (
    ViewRow(
        "findings",
        "Findings",
        "&Findings",
        "Go to the findings",
        lambda document, theme, _jobs: FindingsView(document, theme),
        "bottom left",
    ),
    ViewRow(
        "table",
        "State table",
        "&State table",
        "Go to the table of steps and lanes",
        lambda document, theme, _jobs: StateTableView(document, theme),
        "bottom left",
    ),
    ViewRow(
        "disc",
        "Disc",
        "Disc",
        "Go to the disc",
        DiscView,
        "right",
    ),
    ViewRow(
        "properties",
        "Properties",
        "&Properties",
        "Go to the properties",
        lambda document, theme, _jobs: PropertiesView(document, theme),
        "right",
    ),
    ViewRow(
        "load",
        "Load",
        "&Load",
        "Go to torque and contact force",
        lambda document, theme, _jobs: LoadsView(document, theme),
        "bottom middle",
    ),
    ViewRow(
        "motion",
        "Motion",
        "Motion",
        "Go to velocity, acceleration and jerk",
        MotionView,
        "bottom middle",
    ),
    ViewRow(
        "flow",
        "Flow",
        "Flo&w",
        "Go to what moves through the machine",
        FlowView,
        "bottom right",
    ),
    ViewRow("stack", "Stack", "Stac&k", "Go to the stack in 3D", StackView, "bottom right"),
    ViewRow(
        "shaft",
        "Shaft",
        "Sh&aft",
        "Go to the shaft in its bearings",
        lambda document, theme, _jobs: ShaftView(document, theme),
        "bottom right",
    ),
    ViewRow(
        "followers",
        "Follower parts",
        "Follow&er parts",
        "Go to how the lane is moved",
        lambda document, theme, _jobs: FollowerPartsView(document, theme),
        "bottom right",
        is_open=False,
    ),
    ViewRow(
        "coverage",
        "Coverage",
        "Co&verage",
        "Go to what the verdict covers",
        lambda document, theme, _jobs: CoverageView(document, theme),
        "right tabs",
    ),
    ViewRow(
        "program",
        "Program maker",
        "Pr&ogram maker",
        "Go to the states made from pictures, truth tables and sequences",
        lambda document, theme, _jobs: ProgramView(document, theme),
        "bottom right",
        is_open=False,
    ),
    ViewRow(
        "bring_up",
        "Bring-up",
        "Bring-&up",
        "Go to what each lane did when the machine was cranked",
        BringUpView,
        "bottom right",
        is_open=False,
    ),
    ViewRow(
        "operation",
        "Operation",
        "Operat&ion",
        "Go to stuck lanes, feed, home and restart, and wear",
        OperationView,
        "bottom right",
        is_open=False,
    ),
)
"""All views, in the order of the View menu and its keys Ctrl+1, Ctrl+2, ..."""

COLUMNS: tuple[DockPlace, ...] = ("right", "right tabs", "bottom left", "bottom middle", "bottom right")
"""The places in the order in which Tab goes through them."""


@runtime_checkable
class SeenView(Protocol):
    """A view that works only while it is seen."""

    def set_seen(self, seen: bool) -> None:
        """Take whether it is in front: behind a tab it costs nothing."""
        ...


def names_in(place: DockPlace) -> tuple[str, ...]:
    """Return the names of the views of a place, in order."""
    return tuple(row.name for row in VIEWS if row.place == place)


def tab_order() -> tuple[str, ...]:
    """Return the names of all views in the order in which Tab goes through them."""
    return tuple(name for place in COLUMNS for name in names_in(place))
