"""Colours, fonts, sizes and icons, all from the tokens of the design.

A *token* names a use ("panel", "muted", "accent"), never a colour; `resources/tokens.json` holds its
colour for the light and the dark theme. The theme follows the system's colour scheme at once unless
the person chose one. Every size of the design is at 100 % and is multiplied by `u`, the size of the
base text over 13 px.
"""

from __future__ import annotations

import json
import re
from collections.abc import Callable
from functools import lru_cache
from importlib.resources import files
from importlib.resources.abc import Traversable
from typing import Literal
from weakref import WeakSet

import shiboken6
from PySide6.QtCore import QObject, QRectF, QSize, Qt, Signal
from PySide6.QtGui import QColor, QFont, QFontInfo, QIcon, QPainter, QPalette, QPixmap, QScreen
from PySide6.QtSvg import QSvgRenderer
from PySide6.QtWidgets import QApplication, QProxyStyle, QStyle, QStyleOption, QWidget

from shaftscore_app.runtime.late_paint import paint_late
from shaftscore_app.runtime.turns import UNPAINTED
from shaftscore_app.theme.style import style_sheet

Choice = Literal["system", "light", "dark"]
"""What the person chose under View > Theme."""

BASE_PX = 13.0
"""Size of the base text at 100 %, px."""

SCALES = (0.8, 2.0)
"""Least and greatest scale of text and of everything with it."""

_RGBA = re.compile(r"rgba\((\d+),(\d+),(\d+),([\d.]+)\)")
_VAR = re.compile(r"var\(--([a-z0-9-]+)\)")


@lru_cache(maxsize=1)
def _resources() -> Traversable:
    return files("shaftscore_app.resources")


@lru_cache(maxsize=1)
def tokens() -> dict[str, dict[str, str]]:
    """Return the colours of both themes, by scheme and token, as written in the tokens file."""
    text = _resources().joinpath("tokens.json").read_text("utf-8")
    loaded: dict[str, dict[str, str]] = json.loads(text)
    return loaded


@lru_cache(maxsize=256)
def _svg(name: str) -> str:
    return _resources().joinpath("icons", f"{name}.svg").read_text("utf-8")


def icon_text(name: str, token: str, scheme: str) -> str:
    """Return an icon as SVG, in a token's colour of a scheme ("light" or "dark")."""
    colors = tokens()[scheme]
    text = _VAR.sub(lambda match: colors[match[1]], _svg(name))
    return text.replace("currentColor", parse_color(colors[token]).name())


def parse_color(text: str) -> QColor:
    """Read a token's colour: #RRGGBB or rgba(r,g,b,a)."""
    match = _RGBA.fullmatch(text)
    if match is None:
        return QColor(text)
    red, green, blue = (int(match[i]) for i in (1, 2, 3))
    return QColor(red, green, blue, round(float(match[4]) * 255))


class Boxes(QProxyStyle):
    """The Fusion style, with an outline of check boxes that is seen on dark grounds too.

    What it overrides is asked while something is painted. A hint or a measure is asked so often by Qt that
    answering in Python takes a third of the time in which a dialog or a style sheet is laid out.
    """

    def __init__(self) -> None:
        """Build on Fusion."""
        super().__init__("Fusion")

    def drawPrimitive(
        self,
        element: QStyle.PrimitiveElement,
        option: QStyleOption,
        painter: QPainter,
        widget: QWidget | None = None,
    ) -> None:
        """Draw as Fusion does, and the outline of check boxes once more."""
        super().drawPrimitive(element, option, painter, widget)
        if element == QStyle.PrimitiveElement.PE_IndicatorCheckBox:
            painter.save()
            painter.setPen(option.palette.color(QPalette.ColorRole.Dark))
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.drawRect(option.rect.adjusted(0, 0, -1, -1))
            painter.restore()


class Theme(QObject):
    """What everything looks like now. It has many small methods, since everything that paints asks it.

    Signals: changed() when colours or sizes change; whatever paints must then repaint.
    """

    changed = Signal()

    def __init__(
        self,
        app: QApplication | None = None,
        choice: Choice = "system",
        scale: float = 1.0,
        *,
        scheme: Callable[[], Qt.ColorScheme] | None = None,
    ) -> None:
        """Dress the application.

        choice: light, dark or as the system. scale: text size, 1 = 100 %. scheme: returns the system's
        colour scheme; asks Qt if None.
        """
        super().__init__()
        running = app or QApplication.instance()
        if not isinstance(running, QApplication):
            raise RuntimeError("a theme needs a running QApplication")
        self._app = running
        self._scheme = scheme or running.styleHints().colorScheme
        self._system_font = QFont(running.font())
        # a larger text of the system is honoured
        self._system = max(1.0, QFontInfo(self._system_font).pixelSize() / BASE_PX)
        self._choice: Choice = choice
        self._scale = scale
        self._dark = False
        self._pixmaps: dict[tuple[object, ...], QPixmap] = {}
        self._windows: WeakSet[QWidget] = WeakSet()
        self._ask_platform()
        self._apply()
        running.styleHints().colorSchemeChanged.connect(self.follow)
        running.screenAdded.connect(self._take_screen)
        for screen in running.screens():
            screen.geometryChanged.connect(self._take_ratios)

    # What is asked of it

    @property
    def choice(self) -> Choice:
        """What the person chose."""
        return self._choice

    @property
    def dark(self) -> bool:
        """Whether the dark theme is shown."""
        return self._dark

    @property
    def scale(self) -> float:
        """The person's text size, 1 = 100 %."""
        return self._scale

    @property
    def u(self) -> float:
        """Factor for every size of the design: base text size over 13 px, 0.8 to 2."""
        return min(SCALES[1], max(SCALES[0], self._system * self._scale))

    def px(self, size: float) -> int:
        """Scale a size of the design to whole pixels."""
        return round(size * self.u)

    def apply_to(self, window: QWidget) -> None:
        """Apply the style sheet to a window, now and at every change; what is in it or over it inherits it.

        A sheet of the whole application would do the same, but Qt visits the widgets in no order then, and
        three times as long: what a parent hands down is undone and done again.
        """
        self._windows.add(window)
        window.setStyleSheet(style_sheet(self))

    def set_choice(self, choice: Choice) -> None:
        """Follow the system, or override it."""
        if choice != self._choice:
            self._choice = choice
            self._ask_platform()
            self._apply()

    def follow(self) -> None:
        """Take the system's scheme, unless the person chose one."""
        if self._choice == "system" and self._wanted_dark() != self._dark:
            self._apply()

    def leave(self) -> None:
        """Follow the system no longer, and give its font back: the next theme measures it (this one goes)."""
        self._app.styleHints().colorSchemeChanged.disconnect(self.follow)
        self._app.screenAdded.disconnect(self._take_screen)
        for screen in self._app.screens():
            screen.geometryChanged.disconnect(self._take_ratios)
        self._app.setFont(self._system_font)

    def set_scale(self, scale: float) -> None:
        """Change the text size, and everything with it; 0.8 to 2."""
        scale = min(SCALES[1], max(SCALES[0], scale))
        if scale != self._scale:
            self._scale = scale
            self._apply()

    def color(self, token: str, alpha: float = 1.0) -> QColor:
        """Return a token's colour; alpha (0 to 1) thins it. Raises KeyError for an unknown token."""
        color = parse_color(self._tokens[token])
        if alpha < 1.0:
            color.setAlphaF(color.alphaF() * alpha)
        return color

    def css(self, token: str) -> str:
        """Return a token's colour as a style sheet writes it."""
        color = self.color(token)
        return f"rgba({color.red()},{color.green()},{color.blue()},{color.alphaF():.3f})"

    def font(self, size: float = BASE_PX, weight: int = 400) -> QFont:
        """Return the interface font at `size` px of the design, figures of equal width."""
        font = QFont(self._system_font)
        font.setPixelSize(max(8, round(size * self.u)))
        font.setWeight(QFont.Weight(weight))
        font.setFeature(QFont.Tag("tnum"), 1)
        return font

    def pixmap(self, name: str, size: float = 20.0, token: str = "text", dpr: float | None = None) -> QPixmap:
        """Draw an icon of the project, `size` px of the design, in a token's colour."""
        ratio = dpr or self._app.devicePixelRatio()
        key = (name, size, token, ratio)
        if key not in self._pixmaps:
            self._pixmaps[key] = self._drawn(name, self.px(size), token, ratio)
        return self._pixmaps[key]

    def icon(self, name: str, size: float = 20.0, token: str = "text", on: str | None = None) -> QIcon:
        """Return an icon with its greyed state, for every screen; `on` is the token of the checked state."""
        icon = QIcon()
        for ratio in self._ratios:
            icon.addPixmap(self.pixmap(name, size, token, ratio))
            icon.addPixmap(self.pixmap(name, size, "disabled", ratio), QIcon.Mode.Disabled)
            if on is not None:
                checked = self.pixmap(name, size, on, ratio)
                icon.addPixmap(checked, QIcon.Mode.Normal, QIcon.State.On)
                icon.addPixmap(checked, QIcon.Mode.Active, QIcon.State.On)
        return icon

    # Inside

    @property
    def _tokens(self) -> dict[str, str]:
        return tokens()["dark" if self._dark else "light"]

    def _ask_platform(self) -> None:
        """Inform the platform, for what it draws itself (title bars, file dialogs)."""
        schemes = {
            "system": Qt.ColorScheme.Unknown,
            "light": Qt.ColorScheme.Light,
            "dark": Qt.ColorScheme.Dark,
        }
        self._app.styleHints().setColorScheme(schemes[self._choice])

    def _wanted_dark(self) -> bool:
        if self._choice != "system":
            return self._choice == "dark"
        return self._scheme() == Qt.ColorScheme.Dark

    def _take_screen(self, screen: QScreen) -> None:
        """Have the icons drawn for a new screen too."""
        screen.geometryChanged.connect(self._take_ratios)
        self._take_ratios()

    def _take_ratios(self) -> None:
        """Redraw the icons where the scales of the screens have changed."""
        if self._ratios != self._screens_ratios():
            self._apply()

    def _screens_ratios(self) -> list[float]:
        return sorted({screen.devicePixelRatio() for screen in self._app.screens()})

    def _apply(self) -> None:
        self._dark = self._wanted_dark()
        self._ratios = self._screens_ratios()
        self._pixmaps.clear()
        if not isinstance(self._app.style(), Boxes):
            self._app.setStyle(Boxes())
        self._app.setPalette(self._palette())
        self._app.setFont(self.font())
        sheet = style_sheet(self)
        for window in filter(shiboken6.isValid, self._windows):
            if window.styleSheet() != sheet:  # setting it costs a visit to every widget
                window.setStyleSheet(sheet)
            paint_late(window, UNPAINTED)
        self.changed.emit()

    def _palette(self) -> QPalette:
        palette = QPalette()
        for role, token in _ROLES.items():
            palette.setColor(role, self.color(token))
        for role in (QPalette.ColorRole.WindowText, QPalette.ColorRole.Text, QPalette.ColorRole.ButtonText):
            palette.setColor(QPalette.ColorGroup.Disabled, role, self.color("disabled"))
        return palette

    def _drawn(self, name: str, size: int, token: str, ratio: float) -> QPixmap:
        text = icon_text(name, token, "dark" if self._dark else "light")
        pixmap = QPixmap(QSize(round(size * ratio), round(size * ratio)))
        pixmap.fill(Qt.GlobalColor.transparent)
        painter = QPainter(pixmap)
        QSvgRenderer(text.encode()).render(painter, QRectF(pixmap.rect()))
        painter.end()
        pixmap.setDevicePixelRatio(ratio)
        return pixmap


def program_icon() -> QIcon:
    """Return the program's own icon, at the sizes that title bars and task bars ask for."""
    picture = _resources().joinpath("desktop", "shaftscore.svg").read_bytes()
    icon = QIcon()
    for size in (16, 24, 32, 48, 64, 128, 256):
        pixmap = QPixmap(size, size)
        pixmap.fill(Qt.GlobalColor.transparent)
        painter = QPainter(pixmap)
        QSvgRenderer(picture).render(painter, QRectF(pixmap.rect()))
        painter.end()
        icon.addPixmap(pixmap)
    return icon


_ROLES = {
    QPalette.ColorRole.Window: "panel",
    QPalette.ColorRole.WindowText: "text",
    QPalette.ColorRole.Base: "field",
    QPalette.ColorRole.AlternateBase: "panel",
    QPalette.ColorRole.Text: "text",
    QPalette.ColorRole.PlaceholderText: "muted",
    QPalette.ColorRole.Button: "panel",
    QPalette.ColorRole.ButtonText: "text",
    QPalette.ColorRole.BrightText: "error",
    QPalette.ColorRole.ToolTipBase: "raised",
    QPalette.ColorRole.ToolTipText: "text",
    QPalette.ColorRole.Highlight: "accent",
    QPalette.ColorRole.HighlightedText: "on-accent",
    QPalette.ColorRole.Accent: "accent",
    QPalette.ColorRole.Link: "accent",
    QPalette.ColorRole.LinkVisited: "accent",
    QPalette.ColorRole.Light: "raised",
    QPalette.ColorRole.Midlight: "hover",
    QPalette.ColorRole.Mid: "line",
    QPalette.ColorRole.Dark: "edge",
    QPalette.ColorRole.Shadow: "edge",
}
