"""The guide: its pages on the left, the page chosen on the right; read from this program's own files."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import PurePosixPath

from PySide6.QtCore import Qt, QUrl
from PySide6.QtGui import QImage, QKeySequence, QShortcut, QTextCharFormat, QTextCursor, QTextDocument
from PySide6.QtWidgets import (
    QHBoxLayout,
    QLabel,
    QLineEdit,
    QPushButton,
    QSplitter,
    QTextBrowser,
    QTextEdit,
    QTreeWidget,
    QTreeWidgetItem,
    QWidget,
)

from shaftscore.base.wording import counted
from shaftscore_app.runtime.guide import FIRST, anchor_of, guide_folder, pages, pages_with, shown_text
from shaftscore_app.theme import Theme
from shaftscore_app.widgets.dialog import Button, Dialog

FILE = Qt.ItemDataRole.UserRole

MOST_MARKS = 2000
"""Places of words that are marked on a page at most."""


class Reader(QTextBrowser):
    """Shows a page; a link to another page goes there, a link out of the guide does nothing."""

    def __init__(self, theme: Theme) -> None:
        """Show pages in the theme's colours and size."""
        super().__init__()
        self._theme = theme
        self._file = FIRST
        self.setOpenLinks(False)
        self.setFont(theme.font(13))
        self.setAccessibleName("Guide, page")

    @property
    def file(self) -> str:
        """The page shown."""
        return self._file

    def show_page(self, file: str) -> None:
        """Show a page of the guide from its top."""
        self._file = file
        self.document().setDefaultStyleSheet(f"a {{ color: {self._theme.css('accent')}; }}")
        self.setMarkdown(shown_text(file, dark=self._theme.dark))
        self._set_apart()
        self.verticalScrollBar().setValue(0)

    def _set_apart(self) -> None:
        """Set a margin about the page, and room between paragraphs and headings."""
        px = self._theme.px
        self.document().setDocumentMargin(px(16))
        cursor, block = QTextCursor(self.document()), self.document().begin()
        while block.isValid():
            shape = block.blockFormat()
            in_table = QTextCursor(block).currentTable() is not None
            shape.setBottomMargin(0 if in_table else px(4 if block.textList() else 8))
            shape.setTopMargin(px(10) if shape.headingLevel() > 1 else 0)
            cursor.setPosition(block.position())
            cursor.setBlockFormat(shape)
            block = block.next()

    def show_heading(self, anchor: str) -> None:
        """Go to the heading that a link names after its #; an unknown one leaves the page where it is."""
        block = self.document().begin()
        while anchor and block.isValid():
            if block.blockFormat().headingLevel() and anchor_of(block.text()) == anchor:
                self.setTextCursor(QTextCursor(block))
                at = self.document().documentLayout().blockBoundingRect(block).top()
                self.verticalScrollBar().setValue(round(at))
                return
            block = block.next()

    def mark(self, typed: str) -> None:
        """Mark the words of a text wherever they stand on the page."""
        shown = QTextCharFormat()
        shown.setBackground(self._theme.color("accent-soft"))
        shown.setFontUnderline(True)
        marks: list[QTextEdit.ExtraSelection] = []
        for word in typed.split():
            cursor = self.document().find(word)
            while not cursor.isNull() and len(marks) < MOST_MARKS:
                mark = QTextEdit.ExtraSelection()
                mark.cursor, mark.format = cursor, shown
                marks.append(mark)
                cursor = self.document().find(word, cursor)
        self.setExtraSelections(marks)

    def go_on(self, typed: str) -> bool:
        """Go to the next place of the first word of a text; returns False where none is left below."""
        words = typed.split()
        return bool(words) and self.find(words[0])

    def loadResource(self, kind: int, name: QUrl | str) -> object:
        """Return a picture of the guide, no wider than the page."""
        if kind != QTextDocument.ResourceType.ImageResource:
            return None
        image = QImage(str(guide_folder() / resolved(self._file, QUrl(name).toString())))
        width = max(self.viewport().width() - self._theme.px(40), self._theme.px(240))
        if image.width() > width:
            return image.scaledToWidth(width, Qt.TransformationMode.SmoothTransformation)
        return image


def resolved(page: str, link: str) -> str:
    """Return the file that a link on a page means, within the guide."""
    parts: list[str] = []
    for part in (PurePosixPath(page).parent / link.partition("#")[0]).parts:
        if part == "..":
            parts = parts[:-1]
        else:
            parts.append(part)
    return "/".join(parts)


class GuideDialog(Dialog):
    """The guide, in a window that can stay open beside the editor's."""

    def __init__(self, parent: QWidget, theme: Theme, file: str = FIRST) -> None:
        """Open the guide at a page."""
        super().__init__(parent, theme, "Guide")
        self._tree, self._reader = QTreeWidget(), Reader(theme)
        self.search, self.told = QLineEdit(), QLabel()
        self.back, self.forward = QPushButton("Back"), QPushButton("Forward")
        self._items: dict[str, QTreeWidgetItem] = {}
        self._been: list[str] = []
        self._place = -1
        self._build()
        self._fill()
        self._connect()
        self.set_buttons((Button("Close", default=True),))
        self.setMinimumSize(theme.px(640), theme.px(420))
        self.resize(theme.px(1040), theme.px(720))
        self.go_to(file)

    @property
    def reader(self) -> Reader:
        """What shows the page."""
        return self._reader

    def go_to(self, file: str, anchor: str = "") -> None:
        """Choose a page of the contents, at a heading; an unknown page leaves all as it is."""
        item = self._items.get(file)
        if item is None:
            return
        if self._tree.currentItem() is item and self._reader.file == file:
            self._reader.show_heading(anchor)
            return
        item.setHidden(False)
        self._tree.setCurrentItem(item)
        self._reader.show_heading(anchor)

    # Inside

    def _build(self) -> None:
        theme, px = self._theme, self._theme.px
        self._tree.setHeaderHidden(True)
        self._tree.setAccessibleName("Guide, contents")
        self._tree.setWordWrap(True)
        self._tree.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.search.setAccessibleName("Search the guide")
        self.search.setPlaceholderText("Search the guide")
        self.told.setObjectName("muted")
        for widget in (self._tree, self.search, self.told, self.back, self.forward):
            widget.setFont(theme.font(12))
        self.back.setToolTip("The page before (Alt+Left)")
        self.forward.setToolTip("The page after (Alt+Right)")
        bar = QHBoxLayout()
        bar.setSpacing(px(8))
        for widget in (self.back, self.forward):
            widget.setAutoDefault(False)
            bar.addWidget(widget)
        bar.addWidget(self.search)
        bar.addWidget(self.told, 1)
        self.search.setFixedWidth(px(240))
        halves = QSplitter(Qt.Orientation.Horizontal)
        halves.addWidget(self._tree)
        halves.addWidget(self._reader)
        halves.setStretchFactor(1, 1)
        halves.setSizes([px(270), px(770)])
        halves.setChildrenCollapsible(False)
        self.body.addLayout(bar)
        self.body.addWidget(halves, 1)

    def _connect(self) -> None:
        self._tree.currentItemChanged.connect(self._chosen)
        self._reader.anchorClicked.connect(self._follow)
        self.search.textChanged.connect(self._look_for)
        self.search.returnPressed.connect(self._next_match)
        self.back.clicked.connect(lambda: self._go_by(-1))
        self.forward.clicked.connect(lambda: self._go_by(1))
        for keys, by in ((QKeySequence.StandardKey.Back, -1), (QKeySequence.StandardKey.Forward, 1)):
            QShortcut(QKeySequence(keys), self).activated.connect(self._going(by))
        QShortcut(QKeySequence.StandardKey.Find, self).activated.connect(self._begin_search)
        self._theme.changed.connect(self._apply_style)

    def _fill(self) -> None:
        for heading, own in pages():
            home: QTreeWidget | QTreeWidgetItem = self._tree
            if heading:
                home = QTreeWidgetItem(self._tree, [heading])
                home.setFlags(Qt.ItemFlag.ItemIsEnabled)
                home.setExpanded(heading != "Findings")
            for page in own:
                item = QTreeWidgetItem(home, [page.title])
                item.setData(0, FILE, page.file)
                item.setToolTip(0, page.title)
                self._items[page.file] = item

    def _chosen(self, item: QTreeWidgetItem | None) -> None:
        file = None if item is None else item.data(0, FILE)
        if not file:
            return
        if self._place < 0 or self._been[self._place] != file:
            del self._been[self._place + 1 :]
            self._been.append(file)
            self._place += 1
        self._reader.show_page(file)
        self._reader.mark(self.search.text())
        self._show_ways()

    def _show_ways(self) -> None:
        self.back.setEnabled(self._place > 0)
        self.forward.setEnabled(self._place + 1 < len(self._been))

    def _going(self, by: int) -> Callable[[], None]:
        return lambda: self._go_by(by)

    def _go_by(self, by: int) -> None:
        """Go to the page that was read before (-1) or after (1)."""
        if 0 <= self._place + by < len(self._been):
            self._place += by
            self.go_to(self._been[self._place])
            self._show_ways()

    def _follow(self, link: QUrl) -> None:
        text = link.toString()
        self.go_to(resolved(self._reader.file, text) or self._reader.file, text.partition("#")[2])

    # Search

    def _begin_search(self) -> None:
        self.search.setFocus(Qt.FocusReason.ShortcutFocusReason)
        self.search.selectAll()

    def _look_for(self, typed: str) -> None:
        """List the pages with all words of what is typed, and mark them on the page shown."""
        found = pages_with(typed)
        for file, item in self._items.items():
            item.setHidden(file not in found)
        for number in range(self._tree.topLevelItemCount()):
            top = self._tree.topLevelItem(number)
            if top is not None and top.childCount():
                own = [top.child(place) for place in range(top.childCount())]
                top.setHidden(all(one is None or one.isHidden() for one in own))
                top.setExpanded(bool(typed.strip()) or top.text(0) != "Findings")
        self.told.setText(f"{counted(len(found), 'page')}, Enter goes on" if typed.strip() else "")
        self._reader.mark(typed)

    def _next_match(self) -> None:
        """Go to the next match on the page, then to the next page that was found."""
        if self._reader.go_on(self.search.text()):
            return
        files = [file for file, item in self._items.items() if not item.isHidden()]
        here = files.index(self._reader.file) if self._reader.file in files else -1
        if files:
            self.go_to(files[(here + 1) % len(files)])
            self._reader.go_on(self.search.text())

    def _apply_style(self) -> None:
        self._reader.show_page(self._reader.file)
        self._reader.mark(self.search.text())
