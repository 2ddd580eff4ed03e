"""What the Operation view shows: its pages, each worked out beside the window from one report."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

from shaftscore.bringup.feed import FeedPlan, FeedPlanner
from shaftscore.bringup.feed_sheet import feed_sheet
from shaftscore.bringup.hand_torque import hand_torques
from shaftscore.bringup.home import RestartCard, restart_card
from shaftscore.bringup.restart_sheet import hand_table, restart_sheet
from shaftscore.bringup.sheets import OperationSheet
from shaftscore.bringup.stuck import StuckLanes, stuck_lanes
from shaftscore.bringup.stuck_items import stuck_items
from shaftscore.bringup.stuck_sheet import stuck_details, stuck_sheet
from shaftscore.bringup.wear import MachineWear, machine_wear
from shaftscore.bringup.wear_sheet import wear_sheet
from shaftscore.judge.loads import MachineLoads, machine_loads
from shaftscore.judge.report import Report

NO_FLOW = "What moves through the machine? Describe the flow first."


@dataclass(frozen=True)
class FormButton:
    """A button of a page that opens a form: its text and the command."""

    text: str
    command: str


@dataclass(frozen=True, eq=False)
class OperationResult:
    """A page as worked out: of which report, its sheet, what it is about, and a form that completes it."""

    report: Report
    sheet: OperationSheet
    subject: StuckLanes | FeedPlan | RestartCard | MachineWear | None = None
    form: FormButton | None = None

    def details(self, lane_id: str) -> tuple[str, ...]:
        """Return what is known of the jam of one lane; nothing on other pages."""
        if not isinstance(self.subject, StuckLanes):
            return ()
        one = next((lane for lane in self.subject.lanes if lane.solved.lane.id == lane_id), None)
        return () if one is None else stuck_details(one, stuck_items(self.report.solution, lane_id))


def _loads(report: Report) -> MachineLoads:
    return report.loads or machine_loads(report.solution)


def stuck_page(report: Report, _steps: int | None) -> OperationResult:
    """Work out what a jam of each lane does."""
    found = stuck_lanes(report.solution, _loads(report))
    form = FormButton("Describe motor…", "machine.drive") if report.project.drive is None else None
    return OperationResult(report, stuck_sheet(found), found, form)


def feed_page(report: Report, steps: int | None) -> OperationResult:
    """Work out one answer for every supply; steps: for how many, None for ever."""
    if report.project.flow is None:
        return OperationResult(
            report, OperationSheet(NO_FLOW), None, FormButton("Describe flow…", "machine.flow")
        )
    plan = FeedPlanner(report.solution, steps).plan()
    return OperationResult(report, feed_sheet(plan), plan)


def restart_page(report: Report, _steps: int | None) -> OperationResult:
    """Work out home, the way back to it, and what a hand feels."""
    project = report.project
    card = restart_card(report.solution, None if project.home is None else project.home.angle_deg)
    sheet, loads = restart_sheet(card), _loads(report)
    hands = tuple(
        hand_table(project, stack, hand_torques(project, loads, stack))
        for stack in project.stacks
        if loads.lanes and project.discs_of(stack)
    )
    full = OperationSheet(sheet.head, sheet.sentences, (*sheet.tables, *hands), sheet.cautions)
    return OperationResult(report, full, card)


def wear_page(report: Report, _steps: int | None) -> OperationResult:
    """Work out how parts wear."""
    wear = machine_wear(report.solution, _loads(report))
    form = FormButton("Duty…", "machine.duty") if report.project.duty is None and wear.parts else None
    return OperationResult(report, wear_sheet(wear), wear, form)


PAGES: Mapping[str, Callable[[Report, int | None], OperationResult]] = {
    "Stuck lane": stuck_page,
    "Feed": feed_page,
    "Home and restart": restart_page,
    "Wear": wear_page,
}
"""The pages by name, in order."""
