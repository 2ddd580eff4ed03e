"""The table of views: what each is called, how it is made, where it is by default, and its place in the menu.

Adding a view is one module and one row. Docks, the View menu, the order of Tab and the shortcut sheet all
come from the rows. A view is made when it is first asked for; the modules of views that are seldom in front
when the window opens are imported then too.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal, Protocol, runtime_checkable

from PySide6.QtWidgets import QWidget

from shaftscore_app.document import Document
from shaftscore_app.runtime.jobs import Jobs
from shaftscore_app.theme import Theme
from shaftscore_app.views.coverage import CoverageView
from shaftscore_app.views.disc import DiscView
from shaftscore_app.views.findings import FindingsView
from shaftscore_app.views.flow import FlowView
from shaftscore_app.views.load import LoadsView
from shaftscore_app.views.motion import MotionView
from shaftscore_app.views.properties import PropertiesView

DockPlace = Literal["right", "right tabs", "bottom left", "bottom middle", "bottom right"]
"""The right column, top to bottom, tabs on its first view, or a group of tabs in the bottom row."""


@dataclass(frozen=True)
class ViewRow:
    """A view: its name, the title of its dock, its item in the View menu, what makes it, and its place.

    kind: the name of the view's class. menu: the item's text, with the letter of its key. tip: what the item
    does. is_open: whether it is there by default; a view of its own work that needs room is opened by its
    command.
    """

    name: str
    title: str
    menu: str
    tip: str
    kind: str
    make: Callable[[Document, Theme, Jobs], QWidget]
    place: DockPlace
    is_open: bool = True


# Imported where they are made: together they take as long as the rest of the window.


def _state_table(document: Document, theme: Theme, _jobs: Jobs) -> QWidget:
    from shaftscore_app.views.state_table import StateTableView

    return StateTableView(document, theme)


def _stack(document: Document, theme: Theme, jobs: Jobs) -> QWidget:
    from shaftscore_app.views.stack import StackView

    return StackView(document, theme, jobs)


def _shaft(document: Document, theme: Theme, _jobs: Jobs) -> QWidget:
    from shaftscore_app.views.shaft import ShaftView

    return ShaftView(document, theme)


def _follower_parts(document: Document, theme: Theme, _jobs: Jobs) -> QWidget:
    from shaftscore_app.views.follower_parts import FollowerPartsView

    return FollowerPartsView(document, theme)


def _program(document: Document, theme: Theme, _jobs: Jobs) -> QWidget:
    from shaftscore_app.views.program import ProgramView

    return ProgramView(document, theme)


def _bring_up(document: Document, theme: Theme, jobs: Jobs) -> QWidget:
    from shaftscore_app.views.bring_up import BringUpView

    return BringUpView(document, theme, jobs)


def _operation(document: Document, theme: Theme, jobs: Jobs) -> QWidget:
    from shaftscore_app.views.operation import OperationView

    return OperationView(document, theme, jobs)


VIEWS = (
    ViewRow(
        "findings",
        "Findings",
        "&Findings",
        "Go to the findings",
        "FindingsView",
        lambda document, theme, _jobs: FindingsView(document, theme),
        "bottom left",
    ),
    ViewRow(
        "table",
        "State table",
        "&State table",
        "Go to the table of steps and lanes",
        "StateTableView",
        _state_table,
        "bottom left",
    ),
    ViewRow(
        "disc",
        "Disc",
        "Disc",
        "Go to the disc",
        "DiscView",
        DiscView,
        "right",
    ),
    ViewRow(
        "properties",
        "Properties",
        "&Properties",
        "Go to the properties",
        "PropertiesView",
        lambda document, theme, _jobs: PropertiesView(document, theme),
        "right",
    ),
    ViewRow(
        "load",
        "Load",
        "&Load",
        "Go to torque and contact force",
        "LoadsView",
        lambda document, theme, _jobs: LoadsView(document, theme),
        "bottom middle",
    ),
    ViewRow(
        "motion",
        "Motion",
        "Motion",
        "Go to velocity, acceleration and jerk",
        "MotionView",
        MotionView,
        "bottom middle",
    ),
    ViewRow(
        "flow",
        "Flow",
        "Flo&w",
        "Go to what moves through the machine",
        "FlowView",
        FlowView,
        "bottom right",
    ),
    ViewRow("stack", "Stack", "Stac&k", "Go to the stack in 3D", "StackView", _stack, "bottom right"),
    ViewRow(
        "shaft",
        "Shaft",
        "Sh&aft",
        "Go to the shaft in its bearings",
        "ShaftView",
        _shaft,
        "bottom right",
    ),
    ViewRow(
        "followers",
        "Follower parts",
        "Follow&er parts",
        "Go to how the lane is moved",
        "FollowerPartsView",
        _follower_parts,
        "bottom right",
        is_open=False,
    ),
    ViewRow(
        "coverage",
        "Coverage",
        "Co&verage",
        "Go to what the verdict covers",
        "CoverageView",
        lambda document, theme, _jobs: CoverageView(document, theme),
        "right tabs",
    ),
    ViewRow(
        "program",
        "Program maker",
        "Pr&ogram maker",
        "Go to the states made from pictures, truth tables and sequences",
        "ProgramView",
        _program,
        "bottom right",
        is_open=False,
    ),
    ViewRow(
        "bring_up",
        "Bring-up",
        "Bring-&up",
        "Go to what each lane did when the machine was cranked",
        "BringUpView",
        _bring_up,
        "bottom right",
        is_open=False,
    ),
    ViewRow(
        "operation",
        "Operation",
        "Operat&ion",
        "Go to stuck lanes, feed, home and restart, and wear",
        "OperationView",
        _operation,
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
