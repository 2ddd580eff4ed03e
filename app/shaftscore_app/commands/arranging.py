"""Arrange timing, the fastest safe speed, untangled stacks: each runs in a process of its own."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import partial
from typing import TYPE_CHECKING

from shaftscore.base.progress import Progress
from shaftscore.base.wording import listed
from shaftscore.judge.checks.spread import StationSpread, angle_text
from shaftscore.model import Project
from shaftscore.model.loader import read_project
from shaftscore.model.saved import saved_form
from shaftscore_app.commands.services import CommandGroup, Services
from shaftscore_app.dialogs.fastest import FastestDialog, SpeedFound
from shaftscore_app.dialogs.running import Request, RunningDialog
from shaftscore_app.dialogs.spreading import SpreadDialog, SpreadFound
from shaftscore_app.dialogs.stacking import StackingDialog, Untangled
from shaftscore_app.menus.actions import Reason
from shaftscore_app.timing.widget import TimingDiagram

if TYPE_CHECKING:
    from shaftscore.placing.changes import MayChange
    from shaftscore_app.dialogs.arrange import ArrangeDialog, Proposal, Refused

SEED = 0
"""The same machine gets the same arrangement."""


@dataclass(frozen=True)
class ArrangeOrder:
    """What a process is to arrange: the bytes of the project's file, the first aim, and what may change."""

    data: bytes
    source: str
    prefer: str
    may: MayChange


def arrange_task(order: ArrangeOrder, progress: Progress) -> Proposal | Refused:
    """Arrange a project; runs in a process of its own. Raises what arranging raises."""
    from shaftscore.placing import Refusal, aim_named, arrange  # the solver takes a second to load
    from shaftscore.placing.telling import best_line, figure_lines, moved_line, refusal_lines
    from shaftscore_app.dialogs.arrange import Proposal, Refused

    project = read_project(order.data, order.source)
    found = arrange(project, aim_named(order.prefer), SEED, progress, order.may)
    if isinstance(found, Refusal):
        return Refused(tuple(refusal_lines(found)))
    moved: dict[str, list[str]] = {}
    for one in found.moved:
        moved.setdefault(one.ref.lane_id, []).append(moved_line(one, project))
    return Proposal(
        data=saved_form(found.project),
        figures=tuple(figure_lines(found)),
        best=best_line(found),
        cancelled=found.cancelled,
        moved={lane: tuple(lines) for lane, lines in moved.items()},
    )


def fastest_task(data: bytes, source: str, progress: Progress) -> SpeedFound:
    """Find the fastest safe speed; runs in a process of its own."""
    from shaftscore.placing.speed import fastest_safe_speed

    found = fastest_safe_speed(read_project(data, source), progress)
    return SpeedFound(found.speed_rpm, found.text, found.fails_at_rpm, found.ended)


def stacking_task(data: bytes, source: str, progress: Progress) -> Untangled:
    """Look for a stack without interference; runs in a process of its own."""
    from shaftscore.base.wording import degrees
    from shaftscore.placing.stacking import lowest_interference

    project = read_project(data, source)
    found = lowest_interference(project, SEED, progress)
    stacks = {stack.id: stack for stack in found.project.stacks}
    orders = [
        f"{stacks[name].label}, bottom to top: "
        f"{listed([lane.label for lane in found.project.discs_of(stacks[name])])}."
        for name in found.orders
    ]
    stations = [
        f"{lane.label} at station {degrees(lane.station_deg)}."
        for lane in (found.project.lane(lane_id) for lane_id in found.stations)
    ]
    changes = (*orders, *stations)
    return Untangled(saved_form(found.project), found.before.pairs, found.after.pairs, changes, found.ended)


def spreading_task(data: bytes, source: str, progress: Progress) -> SpreadFound:
    """Look for stations and spacers at which followers keep apart; runs in a process of its own."""
    from shaftscore.base.wording import counted, millimetres
    from shaftscore.judge.bodies import parts_of
    from shaftscore.judge.checks.spread import collisions, spread_over_stations, tier_spacer_mm
    from shaftscore.solution import solve

    solution = solve(read_project(data, source))
    project = solution.project
    count = 0
    stations: dict[str, float] = {}
    spacers: dict[str, float] = {}
    lines: list[str] = []
    tiers: list[str] = []
    for number, stack in enumerate(project.stacks):
        progress.report(number / len(project.stacks), f"Looking at {stack.label}")
        parts = parts_of(solution, stack)
        colliding = collisions(parts, stack)
        count += len(colliding)
        spread = spread_over_stations(solution, stack, parts, colliding) if colliding else None
        if spread is not None:
            stations.update(spread.stations)
            lines.append(f"{stack.label}, {counted(len(spread.angles_deg), 'station')}:")
            lines += spread_lines(project, spread)
        spacer = tier_spacer_mm(solution, stack, colliding) if colliding else None
        if spacer is not None:
            spacers[stack.id] = spacer
            tiers.append(f"{stack.label}: {millimetres(spacer)} instead of {millimetres(stack.spacer_mm)}")
    return SpreadFound(count, stations, tuple(lines), spacers, tuple(tiers))


def spread_lines(project: Project, spread: StationSpread) -> list[str]:
    """Return a line a station: its angle and its lanes."""
    lanes: dict[float, list[str]] = {angle: [] for angle in spread.angles_deg}
    for lane_id, angle in spread.stations.items():
        lanes[angle].append(project.lane(lane_id).label)
    return [f"{angle_text(angle)}: {listed(names)}" for angle, names in lanes.items()]


class ArrangeCommands(CommandGroup):
    """The commands."""

    def __init__(self, services: Services, diagram: TimingDiagram) -> None:
        """Serve a window and the diagram that shows what is proposed."""
        super().__init__(services)
        self._diagram = diagram
        self._dialogs: dict[str, RunningDialog] = {}

    def handlers(self) -> Mapping[str, Callable[..., object]]:
        """Return what each command does."""
        return {
            "prove.arrange": self.ask,
            "machine.fastest": self.ask_fastest,
            "machine.stacking": self.ask_stacking,
            "machine.spread": self.ask_spread,
        }

    def reasons(self) -> Mapping[str, Reason]:
        """Return why a command cannot be done now."""
        return {
            "prove.arrange": self._nothing,
            "machine.fastest": self._nothing,
            "machine.stacking": self._no_discs,
            "machine.spread": self._no_discs,
        }

    def _nothing(self) -> str:
        blocks = any(lane.blocks for lane in self._document.committed.lanes)
        return "" if blocks else "There are no blocks yet"

    def _no_discs(self) -> str:
        discs = sum(lane.has_disc for lane in self._document.committed.lanes)
        return "" if discs else "There are no discs yet"

    def ask_stacking(self) -> None:
        """Look for a stack without interference."""
        self._open("machine.stacking", self._made_stacking)

    def ask_spread(self) -> None:
        """Look for stations at which followers keep apart."""
        self._open("machine.spread", self._made_spread)

    def ask(self) -> None:
        """Show the dialog beside the window; where it is shown already, bring it to the front."""
        self._open("prove.arrange", self._made_arrange)

    def ask_fastest(self) -> None:
        """Look for the fastest safe speed."""
        self._open("machine.fastest", self._made_fastest)

    def _open(self, command: str, make: Callable[[], RunningDialog]) -> None:
        if command not in self._dialogs:
            dialog = self._dialogs[command] = make()
            dialog.finished.connect(partial(self._forget, command))
            dialog.show()
        self._dialogs[command].raise_()
        self._dialogs[command].activateWindow()

    def _forget(self, command: str, _result: int) -> None:
        self._dialogs.pop(command, None)

    def _made_arrange(self) -> ArrangeDialog:
        from shaftscore_app.dialogs.arrange import ArrangeDialog  # late: the start can do without placing

        def start(prefer: str, may: MayChange) -> Request[Proposal | Refused]:
            order = ArrangeOrder(saved_form(self._document.committed), self._document.name, prefer, may)
            return partial(self._jobs.request_process, "arrange", arrange_task, (order,))

        return ArrangeDialog(
            self._window, self._theme, self._document, start=start, show=self._diagram.set_ghosts
        )

    def _made_fastest(self) -> FastestDialog:
        def start() -> Request[SpeedFound]:
            order = (saved_form(self._document.committed), self._document.name)
            return partial(self._jobs.request_process, "fastest", fastest_task, order)

        return FastestDialog(self._window, self._theme, self._document, start=start)

    def _made_spread(self) -> SpreadDialog:
        def start() -> Request[SpreadFound]:
            order = (saved_form(self._document.committed), self._document.name)
            return partial(self._jobs.request_process, "spread", spreading_task, order)

        return SpreadDialog(self._window, self._theme, self._document, start=start)

    def _made_stacking(self) -> StackingDialog:
        def start() -> Request[Untangled]:
            order = (saved_form(self._document.committed), self._document.name)
            return partial(self._jobs.request_process, "stacking", stacking_task, order)

        return StackingDialog(self._window, self._theme, self._document, start=start)
