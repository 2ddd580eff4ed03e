"""Points of a lane: a table to type in, how well the curve through them stands, and whether to use it."""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np
from PySide6.QtWidgets import QHBoxLayout, QLabel, QVBoxLayout, QWidget

from shaftscore.base import wording
from shaftscore.base.errors import ProjectError
from shaftscore.base.tolerance import LIMIT
from shaftscore.edits import points_of
from shaftscore.kinematics.motion.lane_motion import LaneMotion
from shaftscore.kinematics.motion.points import LEAST, Written, spline_through, written_for
from shaftscore.kinematics.motion.segments import TurnSpline
from shaftscore.model import Lane, MotionPoint
from shaftscore_app.theme import Theme
from shaftscore_app.widgets.chart import ChartCanvas
from shaftscore_app.widgets.chart_layout import Chart, ChartLine, Mark
from shaftscore_app.widgets.choice import Choice, Option
from shaftscore_app.widgets.dialog import Button, Dialog
from shaftscore_app.widgets.text_grid import TextGrid, TextModel

USE = "Use these points"
HEADS = ("Angle, °", "Output, mm")
HINT = "Type angles and outputs, or paste them from a spreadsheet: three points at least."
TOO_WIDE = "Nothing was pasted: copy two columns, angle and output, and paste them below Angle."
LEAST_ROWS = 2
"""With no more rows than this, nothing is wrong yet."""

MOST_FAULTS = 4
"""So many faults are said at once."""

DEGREES = {3: "cubic", 5: "quintic"}


class PointsDialog(Dialog):
    """Points typed, pasted or read from a file, and the curve through them with its stated error.

    The curve may be cubic or quintic; it is redrawn with every point.
    """

    def __init__(
        self,
        parent: QWidget,
        theme: Theme,
        lane: Lane,
        points: Sequence[MotionPoint],
        *,
        use: Callable[[Sequence[MotionPoint]], str],
        ask_file: Callable[[PointsDialog], object],
    ) -> None:
        """Show points, if any.

        use: gives points to the lane, and a fault or an empty text. ask_file: asks for a file to show.
        """
        super().__init__(parent, theme, "Points", f"Points of {lane.label}")
        self._use = use
        self._read: tuple[MotionPoint, ...] = ()
        self._written: Written | None = None
        self.model = TextModel(theme, HEADS)
        self.grid = TextGrid(theme, "Points: angle, output", self.model, lambda _index: [])
        self.degree: Choice[int] = Choice(theme, "Curve through the points")
        self.plot = ChartCanvas(theme, "Output, mm")
        self._said, self._fault = QLabel(), QLabel()
        self._build(lane, ask_file)
        self.model.edited.connect(self._read_table)
        self.grid.paste_refused.connect(lambda _text: self._show_fault(TOO_WIDE))
        self.show_points(points)
        self.grid.setFocus()

    @property
    def written(self) -> Written:
        """The points that would be used, and the curve that they stand for. Raises ValueError without one."""
        if self._written is None:
            raise ValueError("these points make no curve")
        return self._written

    def show_points(self, points: Sequence[MotionPoint]) -> None:
        """Fill the table with points."""
        self.model.replace([(exact(p.theta_deg), exact(p.output_mm)) for p in points])

    def choose(self, degree: int) -> None:
        """Lay a curve of another degree, or say why that cannot be."""
        try:
            self._written, fault = written_for(self._read, degree), ""
        except ValueError as error:
            fault = f"No {DEGREES[degree]} curve: {error}."
        self._show_fault(fault)
        self.degree.set_shown(self.written.wanted.degree)
        self._said.setText(fit_text(self.written))
        self.plot.set_chart(curve_chart(self.written.wanted, self._read))

    # Inside

    def _read_table(self) -> None:
        """Lay the curve through what stands in the table, or say what is wrong with it."""
        rows = self.model.texts()
        used = [number for number, row in enumerate(rows) if any(row)]
        if used and not all(rows[used[-1]]):
            rows[used[-1]] = []  # it is still being typed
        try:
            self._read = points_of(rows, "the table")
            best = spline_through(self._read)
        except (ProjectError, ValueError) as error:
            self._written = None
            self._said.setText(HINT)
            faults = error.faults if isinstance(error, ProjectError) else (error,)
            self._show_fault("\n".join(map(str, faults[:MOST_FAULTS])) if len(used) > LEAST_ROWS else "")
        else:
            self._written = Written(self._read, best, 0.0)
            offered = [option for degree in DEGREES if (option := _option(self._read, degree, best))]
            degree = self.degree.shown()
            self.degree.set_options(offered)
            kept = {option.value for option in offered} & {degree}
            self.choose(next(iter(kept), best.degree))
        for part in (self.degree, self.plot):
            part.setVisible(self._written is not None)
        self.button(USE).setEnabled(self._written is not None)

    def _take(self) -> None:
        fault = self._use(self.written.points)
        self._show_fault(fault)
        if not fault:
            self.done(Dialog.DialogCode.Accepted)

    def _show_fault(self, fault: str) -> None:
        self._fault.setText(fault)
        self._fault.setVisible(bool(fault))

    def _build(self, lane: Lane, ask_file: Callable[[PointsDialog], object]) -> None:
        px, row, column = self._theme.px, QHBoxLayout(), QVBoxLayout()
        self.grid.setFixedWidth(px(230))
        row.addWidget(self.grid)
        row.addLayout(column, 1)
        for label in (self._said, self._fault):
            label.setWordWrap(True)
            label.setFont(self._theme.font(13))
        self._fault.setObjectName("fault")
        self.degree.chosen.connect(self.choose)
        self.plot.setMinimumHeight(px(180))
        column.addWidget(self.degree)
        column.addWidget(self._said)
        column.addWidget(self.plot, 1)
        column.addWidget(self._fault)
        column.addStretch()
        self.body.addLayout(row, 1)
        if lane.blocks:
            self.say(f"The lane’s {wording.counted(len(lane.blocks), 'block')} will be replaced.")
        file = Button("From a file…", lambda: ask_file(self), stays=True)
        self.set_buttons((file, Button("Cancel"), Button(USE, self._take, stays=True, default=True)))
        self.resize(px(760), px(500))


def exact(value: float) -> str:
    """Write a number so that reading it gives the very same one."""
    return np.format_float_positional(value, trim="-")


def _option(points: Sequence[MotionPoint], degree: int, best: TurnSpline) -> Option[int] | None:
    """Offer a degree with its error; None where there are too few points for it."""
    if len(points) < LEAST[degree]:
        return None
    spline = best if degree == best.degree else spline_through(points, degree)
    error = "" if spline.fit_error_mm is None else f"error {wording.millimetres(spline.fit_error_mm, 3)}"
    said = [error, "nearer" if degree == best.degree and error else ""]
    return Option(degree, DEGREES[degree].capitalize(), ", ".join(filter(None, said)))


def fit_text(written: Written) -> str:
    """Describe which curve is laid through the points, how far off it may be, and how it is written down."""
    spline = written.wanted
    said = [f"A {DEGREES[spline.degree]} curve goes through all points."]
    if spline.fit_error_mm is None or spline.fit_rms_mm is None:
        said.append("There are too few points to estimate its error between them.")
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


def curve_chart(spline: TurnSpline, points: Sequence[MotionPoint]) -> Chart:
    """Draw the curve with its points as rings, and the highest one named."""
    theta = np.linspace(0.0, 360.0, 721)
    values = LaneMotion((spline,)).at(theta)[0]
    top = max(points, key=lambda point: point.output_mm)
    named = f"{wording.millimetres(top.output_mm)} at {wording.degrees(top.theta_deg)}"
    marks = [Mark(p.theta_deg, p.output_mm, "", hollow=True) for p in points if p is not top]
    marks.append(Mark(top.theta_deg, top.output_mm, named))
    return Chart(
        "mm", (ChartLine(theta, values),), (), tuple(marks), f"{len(points)} points, highest {named}"
    )
