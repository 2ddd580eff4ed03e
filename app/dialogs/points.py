"""Points from a table: what was read, how well the curve stands, and whether to use it."""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np
from PySide6.QtWidgets import QLabel, QWidget

from app.dialogs.base import Button, Dialog
from app.theme import Theme
from app.widgets.chart import ChartCanvas
from app.widgets.chart_layout import Chart, Line, Mark
from core import wording
from core.model import Lane, MotionPoint
from core.motion.lane_motion import LaneMotion
from core.motion.points import spline_through
from core.motion.segments import Spline

USE = "Use these points"
DEGREES = {3: "cubic", 5: "quintic"}


class PointsDialog(Dialog):
    """The curve through the points with its stated error."""

    def __init__(
        self,
        parent: QWidget,
        theme: Theme,
        lane: Lane,
        points: Sequence[MotionPoint],
        use: Callable[[], str],
    ) -> None:
        """Show points; use: gives them to the lane, and a fault or an empty text."""
        super().__init__(parent, theme, "Points from CSV", f"{len(points)} points for {lane.label}")
        self._use = use
        spline = spline_through(points)
        self.say(fit_text(spline))
        if lane.blocks:
            self.say(f"The lane’s {wording.counted(len(lane.blocks), 'block')} will give way to them.")
        self.plot = ChartCanvas(theme, "Output, mm")
        self.plot.setMinimumHeight(theme.px(180))
        self.plot.set_chart(curve_chart(spline, points))
        self.body.addWidget(self.plot, 1)
        self._fault = QLabel()
        self._fault.setObjectName("fault")
        self._fault.setWordWrap(True)
        self._fault.hide()
        self.body.addWidget(self._fault)
        self.set_buttons((Button("Cancel"), Button(USE, self._take, stays=True, default=True)))
        self.resize(theme.px(620), theme.px(420))

    def _take(self) -> None:
        fault = self._use()
        self._fault.setText(fault)
        self._fault.setVisible(bool(fault))
        if not fault:
            self.done(Dialog.DialogCode.Accepted)


def fit_text(spline: Spline) -> str:
    """Say which curve is laid through the points and how far off it may be."""
    kind = DEGREES.get(spline.degree, f"degree {spline.degree}")
    if spline.fit_error_mm is None:
        return f"A {kind} curve goes through all points; there are too few to tell its error between them."
    error = wording.millimetres(spline.fit_error_mm, 3)
    return (
        f"A {kind} curve goes through all points. Laid through every second one it passes the others"
        f" within {error}: between the points it is at most about that far off."
    )


def curve_chart(spline: Spline, points: Sequence[MotionPoint]) -> Chart:
    """Draw the curve with its points as rings, and the highest one named."""
    theta = np.linspace(0.0, 360.0, 721)
    values = LaneMotion((spline,)).at(theta)[0]
    top = max(points, key=lambda point: point.output_mm)
    named = f"{wording.millimetres(top.output_mm)} at {wording.degrees(top.theta_deg)}"
    marks = [Mark(p.theta_deg, p.output_mm, "", hollow=True) for p in points if p is not top]
    marks.append(Mark(top.theta_deg, top.output_mm, named))
    return Chart("mm", (Line(theta, values),), (), tuple(marks), f"{len(points)} points, highest {named}")
