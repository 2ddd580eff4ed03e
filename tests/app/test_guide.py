"""The guide: every page is there, every link and picture leads somewhere, and what is made is not stale."""

from __future__ import annotations

import os
import re
import subprocess
import sys
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from PySide6.QtCore import Qt

from shaftscore.judge.findings.rules import RULES
from shaftscore_app.dialogs.guide import GuideDialog, resolved
from shaftscore_app.menus.actions import COMMANDS, MENUS
from shaftscore_app.runtime.guide import CHAPTERS, anchor_of, guide_folder, page_text, shown_text

if TYPE_CHECKING:
    from pytestqt.qtbot import QtBot

    from shaftscore_app.theme import Theme

ROOT = Path(__file__).resolve().parents[2]
FILES = [file for _, files in CHAPTERS for file in files]
LINK = re.compile(r"\]\(([^)#]+)(?:#[^)]*)?\)")


@pytest.mark.parametrize("file", FILES)
def test_links_and_pictures_lead_somewhere(file: str) -> None:
    for link in LINK.findall(page_text(file)):
        assert (guide_folder() / resolved(file, link)).is_file(), f"{file} names {link}"
        if link.endswith(".png") and not link.startswith("pictures/manual_"):  # paper is white in both themes
            assert link.endswith("_light.png")
            assert (guide_folder() / resolved(file, link.replace("_light", "_dark"))).is_file()


def test_no_page_is_left_out() -> None:
    folder = guide_folder()
    assert {path.relative_to(folder).as_posix() for path in folder.rglob("*.md")} == set(FILES)


def test_the_site_has_the_same_pages() -> None:
    named = set(re.findall(r"[\w/-]+\.md", (ROOT / "mkdocs.yml").read_text(encoding="utf-8")))
    assert named == {file for file in FILES if not file.startswith("findings/")} | {"findings/index.md"}


@pytest.mark.parametrize("rule", RULES)
def test_a_finding_s_page_says_what_the_table_says(rule: str) -> None:
    text, row = page_text(f"findings/{rule}.md"), RULES[rule]
    assert text.startswith(
        f"# {row.title}\n\n*{str(row.severity).capitalize()}, `{rule}` in JSON.* {row.meaning}\n"
    )
    assert [line for line in text.splitlines() if line.startswith("## ")] == [
        "## How it is judged",
        "## Cure",
    ]


def test_reference_pages_say_what_the_code_says() -> None:
    made = subprocess.run(
        [sys.executable, str(ROOT / "docs" / "make_reference.py"), "--check"],
        cwd=ROOT,
        env=os.environ | {"PYTHONPATH": str(ROOT)},
        capture_output=True,
        text=True,
        check=False,
    )
    assert made.returncode == 0, made.stderr


def test_dark_pages_have_dark_pictures() -> None:
    assert "_dark.png" in shown_text("findings/overlap.md", dark=True)
    assert "_light.png" not in shown_text("findings/overlap.md", dark=True)


def test_reading_it(qtbot: QtBot, theme: Theme) -> None:
    from PySide6.QtWidgets import QTreeWidget, QWidget

    home = QWidget()
    qtbot.addWidget(home)
    dialog = GuideDialog(home, theme, "findings/overlap.md")
    dialog.show()
    qtbot.waitUntil(lambda: "Two states of an exclusive rule" in dialog.reader.toPlainText())
    tree = dialog.findChild(QTreeWidget)
    assert tree is not None
    tree.setFocus()
    qtbot.keyClick(tree, Qt.Key.Key_Down)
    qtbot.waitUntil(lambda: dialog.reader.file == "findings/interlock.md")
    dialog.go_to("no such page")
    assert dialog.reader.file == "findings/interlock.md"


def test_searching_it_and_going_back(qtbot: QtBot, theme: Theme) -> None:
    from PySide6.QtWidgets import QTreeWidget, QWidget

    home = QWidget()
    qtbot.addWidget(home)
    dialog = GuideDialog(home, theme)
    dialog.show()
    tree = dialog.findChild(QTreeWidget)
    assert tree is not None
    assert not dialog.back.isEnabled()
    qtbot.keyClick(dialog, Qt.Key.Key_F, Qt.KeyboardModifier.ControlModifier)
    dialog.search.setFocus()
    qtbot.keyClicks(dialog.search, "undercut roller")
    shown = {page for page, item in dialog._items.items() if not item.isHidden()}
    assert "findings/undercut.md" in shown
    assert "reference/shortcuts.md" not in shown
    by_hand = {
        file for file in FILES if {"undercut", "roller"} <= set(re.findall(r"\w+", page_text(file).lower()))
    }
    assert by_hand <= shown
    assert dialog.told.text().startswith(f"{len(shown)} pages")
    dialog.go_to("findings/undercut.md")
    assert dialog.reader.extraSelections()
    qtbot.keyClick(dialog.search, Qt.Key.Key_Return)
    assert dialog.reader.textCursor().selectedText().lower() == "undercut"
    dialog.search.clear()
    assert not any(item.isHidden() for item in dialog._items.values())
    qtbot.mouseClick(dialog.back, Qt.MouseButton.LeftButton)
    assert (dialog.reader.file, dialog.back.isEnabled()) == ("index.md", False)
    qtbot.mouseClick(dialog.forward, Qt.MouseButton.LeftButton)
    assert dialog.reader.file == "findings/undercut.md"


def test_a_link_to_a_heading_goes_there(qtbot: QtBot, theme: Theme) -> None:
    from PySide6.QtCore import QUrl
    from PySide6.QtWidgets import QWidget

    home = QWidget()
    qtbot.addWidget(home)
    dialog = GuideDialog(home, theme, "bring_up.md")
    dialog.show()
    dialog.reader.anchorClicked.emit(QUrl("trouble.md#which-fault-it-is"))
    assert dialog.reader.file == "trouble.md"
    assert dialog.reader.textCursor().block().text() == "Which fault it is"
    assert dialog.reader.verticalScrollBar().value() > 0


@pytest.mark.parametrize("file", FILES)
def test_links_to_headings_name_headings(file: str) -> None:
    for page, anchor in re.findall(r"\]\(([^)#]*)#([^)]+)\)", page_text(file)):
        there = page_text(resolved(file, page) if page else file)
        headings = {anchor_of(one) for one in re.findall(r"^#+ (.*)$", there, re.MULTILINE)}
        assert anchor in headings, f"{file}: {page}#{anchor}"


def test_every_menu_item_that_the_guide_names_is_there() -> None:
    """A path such as File > Save as, in italics, is one of the menus' as they stand."""
    items = {
        (MENUS[command.menu].replace("&", ""), command.title.replace("&", "").rstrip("…"))
        for command in COMMANDS
    }
    named = {
        (page.name, menu, " ".join(item.split()).rstrip("…"))
        for page in guide_folder().rglob("*.md")
        for menu, item in re.findall(r"\*(\w+) > ([^*>]+)\*", page.read_text("utf-8"))
    }
    assert len(named) > 20
    assert sorted(one for one in named if one[1:] not in items) == []
