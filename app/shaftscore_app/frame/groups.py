"""All groups of commands of a window, and the one table of what each command does."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from shaftscore_app.commands.arranging import ArrangeCommands
from shaftscore_app.commands.bench import BenchCommands
from shaftscore_app.commands.edits import EditCommands
from shaftscore_app.commands.exporting import ExportCommands
from shaftscore_app.commands.files import FileCommands
from shaftscore_app.commands.keeping import KeepingCommands
from shaftscore_app.commands.lanes import LaneStudies
from shaftscore_app.commands.machine import MachineCommands
from shaftscore_app.commands.next_step import NextStepCommands
from shaftscore_app.commands.operating import OperatingCommands
from shaftscore_app.commands.printing import PrintCommands
from shaftscore_app.commands.program import ProgramCommands
from shaftscore_app.commands.proving import ProvingCommands
from shaftscore_app.commands.services import CommandGroup, Services
from shaftscore_app.commands.tables import TableCommands
from shaftscore_app.commands.timing import TimingCommands
from shaftscore_app.commands.views import ViewCommands
from shaftscore_app.document.play import Player
from shaftscore_app.menus.actions import Reason
from shaftscore_app.timing.widget import TimingDiagram
from shaftscore_app.views.findings import FindingsView
from shaftscore_app.views.layout import Docks


class CommandGroups:
    """The groups of commands of a window, each by its subject."""

    def __init__(
        self,
        services: Services,
        keep_now: Callable[[], bool],
        *,
        diagram: TimingDiagram,
        docks: Docks,
        player: Player,
    ) -> None:
        """Make all groups; keep_now: writes the draft of what is open, and returns whether there is one."""
        self.files = FileCommands(services)
        self.keeping = KeepingCommands(services, files=self.files, keep_now=keep_now)
        self.exports = ExportCommands(services)
        self.bench = BenchCommands(services)
        self.edits = EditCommands(services)
        self.timing = TimingCommands(services, diagram)
        self.studies = LaneStudies(services)
        self.tables = TableCommands(services, files=self.files, docks=docks)
        self.program = ProgramCommands(services, docks=docks)
        self.proving = ProvingCommands(services)
        self.operating = OperatingCommands(services, docks=docks)
        self.machine = MachineCommands(services)
        self.printing = PrintCommands(services)
        self.next_step = NextStepCommands(services)
        self.arranging = ArrangeCommands(services, diagram)
        self.views = ViewCommands(
            services, docks=docks, diagram=diagram, findings=docks.view(FindingsView), player=player
        )

    def all(self) -> tuple[CommandGroup, ...]:
        """Return every group."""
        return tuple(group for group in vars(self).values() if isinstance(group, CommandGroup))

    def handlers(self) -> Mapping[str, Callable[..., object]]:
        """Return what each command does, by its id."""
        return {key: does for group in self.all() for key, does in group.handlers().items()}

    def reasons(self) -> Mapping[str, Reason]:
        """Return what says why a command cannot be done now, by its id."""
        return {key: reason for group in self.all() for key, reason in group.reasons().items()}
