from __future__ import annotations

import pytest
import shiboken6
from PySide6.QtCore import QSize, Qt
from PySide6.QtGui import QColor, QPalette
from PySide6.QtWidgets import QApplication, QCheckBox, QDialog, QLineEdit, QWidget

from shaftscore_app.theme import Theme, parse_color, tokens
from shaftscore_app.theme.style import style_sheet
from shaftscore_app.timing.layers.blocks import CASING

TEXT, GRAPHICS = 4.5, 3.0
"""Least contrast of text and of graphics: Web Content Accessibility Guidelines 2.1, 1.4.3 and 1.4.11."""

TEXT_PAIRS = [
    ("text", "panel"),
    ("text", "field"),
    ("text", "raised"),
    ("text", "hover"),
    ("text", "accent-soft"),
    ("text", "window"),
    ("text", "material"),
    ("muted", "panel"),
    ("muted", "window"),
    ("muted", "accent-soft"),
    ("muted", "field"),
    ("muted", "hover"),
    ("accent", "strip"),
    ("accent", "panel"),
    ("accent", "accent-soft"),
    ("on-accent", "accent"),
    ("error", "strip"),
    ("error", "panel"),
    ("error", "raised"),
    ("error", "material"),
    ("note", "panel"),
    ("l0-text", "l0"),
    *(("on-level", f"l{rank}") for rank in range(1, 6)),
]
GRAPHIC_PAIRS = [
    ("warning", "strip"),
    ("warning", "panel"),
    ("warning", "material"),
    ("curve", "strip"),
    ("curve", "material"),
    ("edge", "panel"),
    ("edge", "field"),
    ("accent", "window"),
    ("accent", "material"),
    *((f"l{rank}-edge", "material") for rank in range(6)),
    ("accent", CASING),
]
"""The casing is what the cursor and a selected block have towards the fill of a level, which the accent alone
does not stand out from."""


def _luminance(color: QColor) -> float:
    """Relative luminance, WCAG 2.1, definition of "relative luminance"."""

    def linear(part: float) -> float:
        return part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4

    red, green, blue = (linear(part) for part in (color.redF(), color.greenF(), color.blueF()))
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def _contrast(scheme: str, first: str, second: str) -> float:
    """Contrast ratio, WCAG 2.1, definition of "contrast ratio"."""
    lights = sorted(_luminance(parse_color(tokens()[scheme][name])) for name in (first, second))
    return (lights[1] + 0.05) / (lights[0] + 0.05)


def test_black_on_white_is_21_to_1() -> None:
    """Outside value: WCAG 2.1 gives the range of the ratio as 1 to 21."""
    assert (_luminance(QColor("white")) + 0.05) / (_luminance(QColor("black")) + 0.05) == pytest.approx(21)


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize(
    ("pairs", "least"), [(TEXT_PAIRS, TEXT), (GRAPHIC_PAIRS, GRAPHICS)], ids=["text", "graphics"]
)
def test_contrast_of_every_pair_in_use(scheme: str, pairs: list[tuple[str, str]], least: float) -> None:
    weak = {pair: round(_contrast(scheme, *pair), 2) for pair in pairs if _contrast(scheme, *pair) < least}
    assert not weak


def test_both_themes_have_the_same_tokens() -> None:
    assert tokens()["light"].keys() == tokens()["dark"].keys()


def test_following_and_overriding_the_system(qapp: QApplication) -> None:
    system = {"scheme": Qt.ColorScheme.Light}
    theme = Theme(qapp, scheme=lambda: system["scheme"])
    heard: list[bool] = []
    theme.changed.connect(lambda: heard.append(theme.dark))
    system["scheme"] = Qt.ColorScheme.Dark
    theme.follow()
    assert heard == [True]
    theme.set_choice("light")
    theme.follow()
    assert heard == [True, False]
    system["scheme"] = Qt.ColorScheme.Unknown
    theme.set_choice("system")
    assert not theme.dark
    theme.leave()


@pytest.mark.parametrize("choice", ["light", "dark"])
def test_the_palette_comes_from_the_tokens(theme: Theme, choice: str) -> None:
    theme.set_choice(choice)
    palette = QApplication.palette()
    for role, token in (
        (QPalette.ColorRole.Window, "panel"),
        (QPalette.ColorRole.WindowText, "text"),
        (QPalette.ColorRole.Highlight, "accent"),
    ):
        assert palette.color(role) == QColor(tokens()[choice][token])
    assert palette.color(QPalette.ColorGroup.Disabled, QPalette.ColorRole.Text) == theme.color("disabled")


def test_every_token_is_a_colour(theme: Theme) -> None:
    for scheme in tokens().values():
        assert all(parse_color(text).isValid() for text in scheme.values())
    assert theme.color("shade").alpha() == round(0.16 * 255)
    with pytest.raises(KeyError):
        theme.color("pink")


def test_icons_take_the_themes_colours(theme: Theme) -> None:
    from importlib.resources import files

    names = [
        f.name.removesuffix(".svg")
        for f in files("shaftscore_app.resources").joinpath("icons").iterdir()
        if f.name.endswith("svg")
    ]
    assert len(names) > 40
    for choice in ("light", "dark"):
        theme.set_choice(choice)
        for name in names:
            assert _inked(theme, name), f"{name} draws nothing"
        image = theme.pixmap("close", 20, "accent", 2.0).toImage()
        assert image.width() == round(40 * theme.u)
        inks = {
            image.pixelColor(x, y).name()
            for x in range(40)
            for y in range(40)
            if image.pixelColor(x, y).alpha() == 255
        }
        assert theme.color("accent").name() in inks


def test_icons_are_redrawn_for_screens_of_other_scales(
    qtbot, theme: Theme, monkeypatch: pytest.MonkeyPatch
) -> None:
    assert [size.width() for size in theme.icon("close", 20).availableSizes()] == [theme.px(20)]
    monkeypatch.setattr(theme, "_screens_ratios", lambda: [1.0, 2.0])
    screen = QApplication.primaryScreen()
    with qtbot.waitSignal(theme.changed):
        screen.geometryChanged.emit(screen.geometry())
    drawn = theme.icon("close", 20)
    assert drawn.pixmap(QSize(theme.px(20), theme.px(20)), 2.0).width() == 2 * theme.px(20)
    with qtbot.assertNotEmitted(theme.changed):
        screen.geometryChanged.emit(screen.geometry())


def _inked(theme: Theme, name: str) -> bool:
    image = theme.pixmap(name, 20, "text", 1.0).toImage()
    return any(image.pixelColor(x, y).alpha() for x in range(image.width()) for y in range(image.height()))


@pytest.mark.parametrize(("scale", "u"), [(0.5, 0.8), (0.8, 0.8), (1.0, 1.0), (1.5, 1.5), (3.0, 2.0)])
def test_everything_scales_with_the_text(theme: Theme, scale: float, u: float) -> None:
    base = theme.u
    theme.set_scale(scale)
    assert theme.u == pytest.approx(min(2.0, max(0.8, base * u)))
    assert theme.px(100) == round(100 * theme.u)
    assert theme.font(13).pixelSize() == round(13 * theme.u)
    theme.set_scale(1.0)


def test_figures_have_equal_width(theme: Theme) -> None:
    from PySide6.QtGui import QFontMetricsF

    metrics = QFontMetricsF(theme.font(12))
    assert len({metrics.horizontalAdvance(digit * 10) for digit in "0123456789"}) == 1


def test_the_sheet_names_no_colour_of_its_own(theme: Theme) -> None:
    from importlib.resources import files

    sheet = files("shaftscore_app.resources").joinpath("sheet.qss").read_text("utf-8")
    assert "#" not in sheet.replace("QToolButton#", "").replace("QLabel#", "").replace("QFrame#", "").replace(
        "QPushButton#", ""
    ).replace("QListView#", "")
    assert "$" not in style_sheet(theme)


@pytest.mark.parametrize("choice", ["light", "dark"])
def test_check_boxes_have_an_outline_that_is_seen(qtbot, theme: Theme, choice: str) -> None:
    theme.set_choice(choice)
    box = QCheckBox("3MF, to print")
    qtbot.addWidget(box)
    box.show()
    picture, middle = box.grab().toImage(), box.height() // 2
    shades = {picture.pixelColor(x, middle).name() for x in range(20)}
    assert theme.color("edge").name() in shades


def test_a_dressed_window_hands_its_sheet_down_and_follows_each_change(qtbot, theme: Theme) -> None:
    window = QWidget()
    qtbot.addWidget(window)
    field, dialog = QLineEdit(window), QDialog(window)
    theme.apply_to(window)
    inner = QLineEdit(dialog)
    for scale in (1.0, 2.0):
        theme.set_scale(scale)
        assert window.styleSheet() == style_sheet(theme)
        for line in (field, inner):
            line.ensurePolished()
            assert line.maximumHeight() == theme.px(22) + 2  # the border is 1 px at every size


def test_a_window_that_is_gone_is_dressed_no_more(theme: Theme) -> None:
    window = QWidget()
    theme.apply_to(window)
    shiboken6.delete(window)
    theme.set_scale(1.5)
    assert theme.scale == 1.5


def test_the_next_theme_finds_the_systems_text_size(qapp: QApplication) -> None:
    first = Theme(qapp, "light", 2.0)
    first.leave()
    second = Theme(qapp, "light")
    assert second.u < first.u
    second.leave()
