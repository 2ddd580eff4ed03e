"""Points from a table: what was read, how well the curve stands, and whether to use it."""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np
from PySide6.QtWidgets import QLabel, QWidget

from app.dialogs.base import Button, Dialog
from app.theme import Theme
from app.widgets.chart import ChartCanvas
from app.widgets.chart_layout import Chart, Line, Mark
from app.widgets.choice import Choice, Option
from core import wording
from core.model import Lane, MotionPoint
from core.motion.lane_motion import LaneMotion
from core.motion.points import LEAST, Written, spline_through, written_for
from core.motion.segments import Spline
from core.tolerance import LIMIT

USE = "Use these points"
DEGREES = {3: "cubic", 5: "quintic"}


class PointsDialog(Dialog):
    """The curve through the points with its stated error; it may be cubic or quintic."""

    def __init__(
        self,
        parent: QWidget,
        theme: Theme,
        lane: Lane,
        points: Sequence[MotionPoint],
        use: Callable[[Sequence[MotionPoint]], str],
    ) -> None:
        """Show points; use: gives points to the lane, and a fault or an empty text."""
        super().__init__(parent, theme, "Points from CSV", f"{len(points)} points for {lane.label}")
        self._use, self._read = use, points
        best = spline_through(points)
        self._written = Written(tuple(points), best, 0.0)
        self.degree = Choice(theme, "Curve through the points")
        self.degree.set_options([option for degree in DEGREES if (option := _option(points, degree, best))])
        self.degree.chosen.connect(self.choose)
        self.body.addWidget(self.degree)
        self._said = self.say("")
        if lane.blocks:
            self.say(f"The lane’s {wording.counted(len(lane.blocks), 'block')} will give way to them.")
        self.plot = ChartCanvas(theme, "Output, mm")
        self.plot.setMinimumHeight(theme.px(180))
        self.body.addWidget(self.plot, 1)
        self._fault = QLabel()
        self._fault.setObjectName("fault")
        self._fault.setWordWrap(True)
        self.body.addWidget(self._fault)
        self.set_buttons((Button("Cancel"), Button(USE, self._take, stays=True, default=True)))
        self.choose(best.degree)
        self.resize(theme.px(620), theme.px(460))

    @property
    def written(self) -> Written:
        """The points that would be used, and the curve that they stand for."""
        return self._written

    def choose(self, degree: int) -> None:
        """Lay a curve of another degree, or say why that cannot be."""
        try:
            self._written, fault = written_for(self._read, degree), ""
        except ValueError as error:
            fault = f"No {DEGREES[degree]} curve: {error}."
        self._show_fault(fault)
        self.degree.set_shown(self._written.wanted.degree)
        self._said.setText(fit_text(self._written))
        self.plot.set_chart(curve_chart(self._written.wanted, self._read))

    def _take(self) -> None:
        fault = self._use(self._written.points)
        self._show_fault(fault)
        if not fault:
            self.done(Dialog.DialogCode.Accepted)

    def _show_fault(self, fault: str) -> None:
        self._fault.setText(fault)
        self._fault.setVisible(bool(fault))


def _option(points: Sequence[MotionPoint], degree: int, best: Spline) -> Option | None:
    """Offer a degree with its error; None where there are too few points for it."""
    if len(points) < LEAST[degree]:
        return None
    spline = best if degree == best.degree else spline_through(points, degree)
    error = "" if spline.fit_error_mm is None else f"error {wording.millimetres(spline.fit_error_mm, 3)}"
    said = [error, "nearer" if degree == best.degree and error else ""]
    return Option(degree, DEGREES[degree].capitalize(), ", ".join(filter(None, said)))


def fit_text(written: Written) -> str:
    """Say which curve is laid through the points, how far off it may be, and how it is written down."""
    spline = written.wanted
    said = [f"A {DEGREES[spline.degree]} curve goes through all points."]
    if spline.fit_error_mm is None or spline.fit_rms_mm is None:
        said.append("There are too few to tell its error between them.")
    else:
        most, rms = (wording.millimetres(mm, 3) for mm in (spline.fit_error_mm, spline.fit_rms_mm))
        said.append(
            f"Laid through every second one it passes the others within {most} (root mean square {rms}):"
            " between the points it is at most about that far off."
        )
    if written.follows_mm:
        follows = wording.millimetres(wording.up_to(written.follows_mm, 0.0001), 4)
        how = f"follows it within {follows}" if written.follows_mm > LIMIT else "is the same"
        count = wording.counted(len(written.points), "point")
        said.append(f"It is written as {count}, whose own curve {how}.")
    return " ".join(said)


def curve_chart(spline: Spline, points: Sequence[MotionPoint]) -> Chart:
    """Draw the curve with its points as rings, and the highest one named."""
    theta = np.linspace(0.0, 360.0, 721)
    values = LaneMotion((spline,)).at(theta)[0]
    top = max(points, key=lambda point: point.output_mm)
    named = f"{wording.millimetres(top.output_mm)} at {wording.degrees(top.theta_deg)}"
    marks = [Mark(p.theta_deg, p.output_mm, "", hollow=True) for p in points if p is not top]
    marks.append(Mark(top.theta_deg, top.output_mm, named))
    return Chart("mm", (Line(theta, values),), (), tuple(marks), f"{len(points)} points, highest {named}")
