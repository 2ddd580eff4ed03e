"""The panel of the Follower parts view: lengths as fields, the bearing, what the follower does, its parts."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QGridLayout, QLabel, QVBoxLayout, QWidget

from shaftscore.edits.followers import NAMES, MoveKind
from shaftscore.layout.followers import FollowerLayout
from shaftscore_app.document.binding import show
from shaftscore_app.theme import Theme
from shaftscore_app.views.follower_parts_bearings import BearingChooser
from shaftscore_app.views.follower_parts_words import FigureRow
from shaftscore_app.widgets.choice import Choice, Option
from shaftscore_app.widgets.field import Field
from shaftscore_app.widgets.quantities import millimetres

OVER = "◆"
"""Before a figure over its limit: the shape of an error’s sign."""

WIDE = 340
"""Width of the panel, px of the design."""

SIDES = (
    Option("clockwise", "clockwise of the line"),
    Option("counterclockwise", "counterclockwise of the line"),
)
"""Where a pivot may be."""


@dataclass(frozen=True)
class PartsField:
    """A length of the panel: its field in the file, its label, its tooltip, the kinds that have it.

    empty: what an empty field means; None where it must have a value.
    """

    path: str
    label: str
    tip: str
    kinds: tuple[MoveKind, ...]
    empty: str | None = None


LEVERS: tuple[MoveKind, ...] = ("lever", "straight-line")
ALL: tuple[MoveKind, ...] = ("slide", "lever", "straight-line")

FIELDS = (
    PartsField("parts.arm_mm", "Arm to the roller", "From the pivot to the axle of the roller", LEVERS),
    PartsField(
        "parts.output_arm_mm", "Arm to the output", "From the pivot to the hole of the output", ("lever",)
    ),
    PartsField(
        "parts.output_arm_mm",
        "Arm to the coupler",
        "From the pivot to the joint with the coupler",
        ("straight-line",),
    ),
    PartsField(
        "parts.arm_mm",
        "Roller to output",
        "Length of the bar from the roller's axle to the output",
        ("slide",),
    ),
    PartsField(
        "follower.pivot_distance_mm", "Axis to pivot", "From the axis of the stack to the pivot", LEVERS
    ),
    PartsField("follower.guide_start_mm", "Guide start", "Radius at which the guide starts", ("slide",)),
    PartsField(
        "follower.guide_length_mm",
        "Guide length",
        "A guide of two to three times the bar's width does not jam",
        ("slide",),
    ),
    PartsField(
        "parts.links[0].mm",
        "Coupler",
        "Between its joints with the lever and with the guide link",
        ("straight-line",),
        "found by the program",
    ),
    PartsField(
        "parts.links[1].mm",
        "Guide link",
        "From its pivot to its joint; a short one needs less room",
        ("straight-line",),
        "found by the program",
    ),
    PartsField("parts.thickness_mm", "Thickness", "Of the printed bars along the shaft", ALL),
    PartsField(
        "parts.pivot_rod_mm", "Pivot rod", "Diameter of the bought rod on which the lever turns", LEVERS
    ),
    PartsField(
        "parts.spring_hook_mm",
        "Spring hook",
        "From the pivot, of a slide from the roller, to the hole of the spring",
        ALL,
        "none",
    ),
    PartsField("parts.output_hole_mm", "Output hole", "3.2 mm for a screw M3", ALL),
)
"""The fields in the order in which they are shown."""


class FollowerPanel(QWidget):
    """The panel.

    Signals: value_entered(path, mm or None) when a length was entered; side_chosen(side) of the pivot.
    """

    value_entered = Signal(str, object)
    side_chosen = Signal(object)

    def __init__(self, theme: Theme) -> None:
        """Make the panel."""
        super().__init__()
        self._theme = theme
        self.fields: list[tuple[PartsField, Field[float], QLabel]] = []
        self.side: Choice[str] = Choice(theme, "Pivot side")
        self.side.set_options(SIDES)
        self.side.chosen.connect(self.side_chosen)
        self.bearings = BearingChooser(theme)
        self._side_label = QLabel("Pivot side")
        self._heads = {
            name: QLabel(name) for name in ("Lengths", "Bearing for the roller", "Effect", "Parts")
        }
        self.figures, self.parts = QGridLayout(), QGridLayout()
        self._rows: list[tuple[QLabel, QLabel]] = []
        self.bought, self.refused = QLabel(), QLabel()
        self._build()
        self.fit()

    def field(self, path: str) -> Field[float]:
        """Return the field of a path that is shown; raises StopIteration if none is."""
        return next(one for spec, one, _ in self.fields if spec.path == path and not one.isHidden())

    def show_layout(
        self,
        layout: FollowerLayout,
        rows: tuple[FigureRow, ...],
        parts: tuple[FigureRow, ...],
        bought: str,
        refused: str,
        *,
        is_read_only: bool,
    ) -> None:
        """Show a follower: its lengths, figures, parts, what is bought, and why a part cannot be made."""
        kind = layout.parts.kind
        self._heads["Lengths"].setText(NAMES[kind].capitalize())
        for spec, field, label in self.fields:
            is_shown = kind in spec.kinds
            field.setVisible(is_shown)
            label.setVisible(is_shown)
            field.setReadOnly(is_read_only)
            if is_shown:
                show(field, value_of(layout, spec.path))
        side = getattr(layout.lane.follower, "pivot_side", None)
        for widget in (self.side, self._side_label):
            widget.setVisible(side is not None)
        self.side.setEnabled(not is_read_only)
        if side is not None:
            show(self.side, side)
        self._show_rows(rows, parts)
        self.bought.setText(f"To buy: {bought}" if bought else "")
        self.refused.setText(refused)
        self.refused.setVisible(bool(refused))

    def set_fault(self, path: str, sentence: str) -> None:
        """Mark the field of a path, and say why."""
        for spec, field, _ in self.fields:
            if spec.path == path and not field.isHidden():
                field.set_fault(sentence)

    def _show_rows(self, figures: tuple[FigureRow, ...], parts: tuple[FigureRow, ...]) -> None:
        both = (*figures, *parts)
        while len(self._rows) < len(both):
            self._rows.append((QLabel(), QLabel()))
        for grid in (self.figures, self.parts):
            while grid.count():
                grid.takeAt(0)
        for number, (row, (name, value)) in enumerate(zip(both, self._rows, strict=False)):
            grid = self.figures if number < len(figures) else self.parts
            grid.addWidget(name, number, 0)
            grid.addWidget(value, number, 1, Qt.AlignmentFlag.AlignRight)
            name.setText(row.name)
            value.setObjectName("fault" if row.is_over else "")
            value.setText(f"{OVER} {row.value}" if row.is_over else row.value)
            value.setAccessibleName(f"{row.value}, over the limit" if row.is_over else "")
            value.style().polish(value)  # its name decides its colour
            value.setFont(self._theme.font(12, 600))
            name.setFont(self._theme.font(12))
            name.show()
            value.show()
        for name, value in self._rows[len(both) :]:
            name.hide()
            value.hide()

    def _build(self) -> None:
        lengths = QGridLayout()
        lengths.setColumnStretch(1, 1)
        for number, spec in enumerate(FIELDS):
            field: Field[float] = Field(self._theme, spec.label, millimetres(spec.empty))
            field.setToolTip(spec.tip)
            field.entered.connect(self._entering(spec.path))
            label = QLabel(spec.label)
            label.setBuddy(field)
            lengths.addWidget(label, number, 0)
            lengths.addWidget(field, number, 1)
            self.fields.append((spec, field, label))
        lengths.addWidget(self._side_label, len(FIELDS), 0)
        lengths.addWidget(self.side, len(FIELDS), 1)
        self._grids = (lengths, self.figures, self.parts)
        self._column = QVBoxLayout(self)
        lengths_head, bearing_head, does_head, parts_head = self._heads.values()
        self._column.addWidget(lengths_head)
        self._column.addLayout(lengths)
        self._column.addWidget(bearing_head)
        self._column.addWidget(self.bearings)
        for head, grid in ((does_head, self.figures), (parts_head, self.parts)):
            self._column.addWidget(head)
            self._column.addLayout(grid)
        for label in (self.refused, self.bought):
            label.setWordWrap(True)
            self._column.addWidget(label)
        self.bought.setObjectName("muted")
        self._column.addStretch(1)

    def _entering(self, path: str) -> Callable[[object], None]:
        """Return what is done with a value that was entered in a field."""
        return lambda value: self.value_entered.emit(path, value)

    def fit(self) -> None:
        """Take the theme's sizes."""
        px = self._theme.px
        self._column.setContentsMargins(px(12), px(8), px(12), px(8))
        self._column.setSpacing(px(6))
        for grid in self._grids:
            grid.setHorizontalSpacing(px(8))
            grid.setVerticalSpacing(px(4))
        for head in self._heads.values():
            head.setFont(self._theme.font(12, 600))
        for _, _, label in self.fields:
            label.setFont(self._theme.font(12))
        for label in (self.bought, self.refused, self._side_label):
            label.setFont(self._theme.font(12))
        self.bearings.fit()


def value_of(layout: FollowerLayout, path: str) -> float | None:
    """Return the value of a field of a lane's follower or its parts, mm; where absent the one in use."""
    guide = layout.guide
    if path.startswith("parts.links"):
        if guide is None:
            return None
        return guide.coupler_mm if "[0]" in path else guide.guide_mm
    if path == "parts.output_arm_mm":
        return layout.parts.output_mm
    record, _, name = path.partition(".")
    found = getattr(layout.parts if record == "parts" else layout.lane.follower, name, None)
    return None if found is None else float(found)
