"""The guide: its pages on the left, the page chosen on the right; read from this program's own files."""

from __future__ import annotations

from pathlib import PurePosixPath

from PySide6.QtCore import Qt, QUrl
from PySide6.QtGui import QImage, QTextDocument
from PySide6.QtWidgets import QHBoxLayout, QTextBrowser, QTreeWidget, QTreeWidgetItem, QWidget

from shaftscore_app.runtime.guide import FIRST, guide_folder, pages, shown_text
from shaftscore_app.theme import Theme
from shaftscore_app.widgets.dialog import Button, Dialog

FILE = Qt.ItemDataRole.UserRole


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
        self.verticalScrollBar().setValue(0)

    def loadResource(self, kind: int, name: QUrl | str) -> object:
        """Return a picture of the guide, no wider than the page."""
        if kind != QTextDocument.ResourceType.ImageResource:
            return None
        image = QImage(str(guide_folder() / resolved(self._file, QUrl(name).toString())))
        width = max(self.viewport().width() - self._theme.px(24), self._theme.px(240))
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
        self._tree = QTreeWidget()
        self._tree.setHeaderHidden(True)
        self._tree.setAccessibleName("Guide, contents")
        self._tree.setFixedWidth(theme.px(250))
        self._reader = Reader(theme)
        row = QHBoxLayout()
        row.addWidget(self._tree)
        row.addWidget(self._reader, 1)
        self.body.addLayout(row)
        self.setMinimumSize(theme.px(640), theme.px(420))
        self.resize(theme.px(1040), theme.px(720))
        self.set_buttons((Button("Close", default=True),))
        self._items: dict[str, QTreeWidgetItem] = {}
        self._fill()
        self._tree.currentItemChanged.connect(self._chosen)
        self._reader.anchorClicked.connect(self._follow)
        theme.changed.connect(self._apply_style)
        self.go_to(file)

    @property
    def reader(self) -> Reader:
        """What shows the page."""
        return self._reader

    def go_to(self, file: str) -> None:
        """Choose a page of the contents; an unknown one leaves all as it is."""
        item = self._items.get(file)
        if item is not None:
            self._tree.setCurrentItem(item)

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
                self._items[page.file] = item

    def _chosen(self, item: QTreeWidgetItem | None) -> None:
        if item is not None and item.data(0, FILE):
            self._reader.show_page(item.data(0, FILE))

    def _follow(self, link: QUrl) -> None:
        self.go_to(resolved(self._reader.file, link.toString()))

    def _apply_style(self) -> None:
        self._reader.show_page(self._reader.file)
