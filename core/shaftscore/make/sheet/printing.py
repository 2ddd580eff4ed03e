"""What the build sheet says of printing: every part and every plate with mass, time and filament."""

from __future__ import annotations

from shaftscore.base.wording import number
from shaftscore.make.files.estimate import PrintEstimate, assumptions, summed
from shaftscore.make.files.order import MakeOrder
from shaftscore.make.files.plate_loads import PlateLoad, plate_loads
from shaftscore.make.sheet.paper import MUTED, SMALL_PT, Paper

UNKNOWN, NOT_PRINTED = "not known", "not printed"
"""In place of a figure that cannot be estimated, and of one that there is none of."""


def write_printing(paper: Paper, order: MakeOrder) -> None:
    """Write what each part and each plate needs, and what the estimate assumes."""
    project = order.report.project
    loads = plate_loads(order)
    paper.gap(5.0)
    paper.heading("Printing", keep_mm=30.0)
    paper.say(f"Estimates, not measurements: {assumptions(project.print)}.", SMALL_PT, MUTED)
    paper.gap()
    head = ("plate", "parts", "mass", "time", "filament")
    rows = [_row(load) for load in loads]
    rows.append(("all", "", *figures(summed(load.estimate for load in loads))))
    paper.table(head, rows, (7, 50, 12, 14, 12))
    paper.gap()
    pieces = [
        (item.part.code, item.part.label, str(item.part.count), *figures(item.estimate(project)))
        for item in order.items
    ]
    paper.table(("part", "name", "count", "mass of one", "time", "filament"), pieces, (17, 30, 7, 13, 14, 13))


def _row(load: PlateLoad) -> tuple[str, ...]:
    return (str(load.number), load.parts_text, *figures(load.estimate))


def figures(need: PrintEstimate) -> tuple[str, str, str]:
    """Return mass, time and length of filament as texts."""
    mass = need.mass_g
    return (
        UNKNOWN if mass is None else f"{number(mass, 0 if mass >= 10 else 1)} g",
        _time(need.hours) if need.hours else NOT_PRINTED,
        f"{number(need.filament_m, 1)} m" if need.hours else NOT_PRINTED,
    )


def _time(hours: float) -> str:
    """Write a time in hours and minutes, whole minutes: "2 h 05 min"."""
    minutes = max(1, round(hours * 60))
    return f"{minutes // 60} h {minutes % 60:02d} min" if minutes >= 60 else f"{minutes} min"
