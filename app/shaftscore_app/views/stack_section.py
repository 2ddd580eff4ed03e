"""A drawn section of a stack, for screens without OpenGL: to scale, heights to the left where they fit."""

from __future__ import annotations

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QPainter, QPaintEvent
from PySide6.QtWidgets import QWidget

from shaftscore.base import wording
from shaftscore.make.drawing.stack_side import (
    SHAFT_ABOVE_MM,
    SHAFT_BELOW_MM,
    STUB_MM,
    RollerMark,
    StackSideLook,
    StackSlab,
    least_pitch,
    stack_rollers,
    stack_side_scene,
    stack_slabs,
)
from shaftscore_app.theme import Theme
from shaftscore_app.theme.scenes import ScenePainting
from shaftscore_app.views.stack_scene import StackScene


def rollers_of(scene: StackScene) -> tuple[RollerMark, ...]:
    """Return the followers of a stack."""
    return stack_rollers(scene.project, scene.stack, scene.plan, scene.riders)


def slabs_of(scene: StackScene) -> tuple[StackSlab, ...]:
    """Return the layers of a stack from the bottom up."""
    codes = {row.lane_id: row.code for row in scene.rows}
    return stack_slabs(scene.stack, scene.plan, scene.rims, codes)


class SectionView(QWidget):
    """The drawing."""

    def __init__(self, theme: Theme) -> None:
        """Make an empty drawing."""
        super().__init__()
        self._theme = theme
        self._scene: StackScene | None = None
        self._rollers: tuple[RollerMark, ...] | None = None  # found when first drawn: mostly it is hidden
        self._selected: str | None = None
        self._troubled: frozenset[str] = frozenset()
        self._labelled = True
        self.setAccessibleName("Section of the stack")

    def show_scene(self, scene: StackScene, selected: str | None, troubled: frozenset[str]) -> None:
        """Show a stack with its selected lane and those whose bodies meet others."""
        if scene is not self._scene:
            self._rollers = None
        self._scene, self._selected, self._troubled = scene, selected, troubled
        self.update()

    def paintEvent(self, event: QPaintEvent) -> None:  # noqa: ARG002 - Qt's signature
        """Draw."""
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.fillRect(self.rect(), self._theme.color("panel"))
        slabs = slabs_of(self._scene) if self._scene is not None else ()
        if not slabs or self._scene is None:
            return
        rollers = self._rollers = rollers_of(self._scene) if self._rollers is None else self._rollers
        axis, scale = self._place(slabs)
        look = StackSideLook(self._selected, self._troubled)
        drawing = stack_side_scene(self._scene.stack, slabs, rollers, look)
        ScenePainting(painter, self._theme, scale, axis).paint(drawing)
        for slab in slabs:
            self._label(painter, slab, axis, scale)

    def _place(self, slabs: tuple[StackSlab, ...]) -> tuple[QPointF, float]:
        """Return where axis and bottom stand, and the scale, px/mm."""
        px = self._theme.px
        self._labelled = self._scale(slabs, px(64)) * least_pitch(slabs) >= px(14)
        left = px(64 if self._labelled else 12)
        height = slabs[-1].top_mm + SHAFT_ABOVE_MM + SHAFT_BELOW_MM
        scale = self._scale(slabs, left)
        bottom = (self.height() + height * scale) / 2 - SHAFT_BELOW_MM * scale
        return QPointF((left + self.width() - px(12)) / 2, bottom), scale

    def _scale(self, slabs: tuple[StackSlab, ...], left: int) -> float:
        """Return the px to a mm with `left` px kept free for labels."""
        px = self._theme.px
        beside = [mark.outer_mm + STUB_MM for mark in self._rollers or ()]
        widest = max([slab.largest_mm for slab in slabs] + beside) or 1.0
        height = slabs[-1].top_mm + SHAFT_ABOVE_MM + SHAFT_BELOW_MM
        wide, high = self.width() - left - px(12), self.height() - px(16)
        return max(0.05, min(wide / (2 * widest), high / height))

    def _label(self, painter: QPainter, slab: StackSlab, axis: QPointF, scale: float) -> None:
        """Write a disc's code and its height at the left."""
        if not slab.label or not self._labelled:
            return
        theme = self._theme
        painter.setFont(theme.font(11))
        painter.setPen(theme.color("text"))
        span = f"{slab.label}  {wording.plain(slab.bottom_mm, 1)}"
        top = axis.y() - slab.bottom_mm * scale - theme.px(14)
        box = QRectF(theme.px(8), top, theme.px(60), theme.px(14))
        painter.drawText(box, Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignBottom, span)
