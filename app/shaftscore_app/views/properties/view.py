"""The view: shows the section that fits the selection, in a column that scrolls."""

from __future__ import annotations

from functools import cached_property
from typing import TypeVar

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QSizePolicy, QStackedWidget, QVBoxLayout, QWidget

from shaftscore_app.document import Document
from shaftscore_app.theme import Theme
from shaftscore_app.views.properties.block import BlockSection
from shaftscore_app.views.properties.form import PropertyForm
from shaftscore_app.views.properties.lane import LaneSection
from shaftscore_app.views.properties.machine import MachineSection
from shaftscore_app.views.properties.several import SeveralSection
from shaftscore_app.widgets.field import Field
from shaftscore_app.widgets.scrolling import upright_scroll

Section = BlockSection | SeveralSection | LaneSection | MachineSection

S = TypeVar("S", bound=PropertyForm)


class PropertiesView(QWidget):
    """Properties of the selection. Each section is made when it is first asked for.

    Signals: form_wanted(command id) when a dialog is wanted.
    """

    form_wanted = Signal(str)

    def __init__(self, document: Document, theme: Theme) -> None:
        """Make the view of a document's selection."""
        super().__init__()
        self._document, self._theme = document, theme
        self._pages = _Pages()
        self._scroll = upright_scroll(self._pages)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.addWidget(self._scroll)
        document.selection_changed.connect(self._put_back)
        document.file_changed.connect(self._put_back)
        for signal in (document.report_changed, document.selection_changed, document.file_changed):
            signal.connect(self.refresh)
        theme.changed.connect(self.refresh)
        self.refresh()

    @cached_property
    def block(self) -> BlockSection:
        """The section of one block."""
        return self._pages.added(BlockSection(self._document, self._theme))

    @cached_property
    def several(self) -> SeveralSection:
        """The section of several blocks."""
        return self._pages.added(SeveralSection(self._document, self._theme))

    @cached_property
    def lane(self) -> LaneSection:
        """The section of a lane."""
        section = self._pages.added(LaneSection(self._document, self._theme))
        section.form_wanted.connect(self.form_wanted)
        return section

    @cached_property
    def machine(self) -> MachineSection:
        """The section of the machine, where nothing is selected."""
        section = self._pages.added(MachineSection(self._document, self._theme))
        section.form_wanted.connect(self.form_wanted)
        return section

    @property
    def section(self) -> Section:
        """The section that fits the selection."""
        blocks = self._document.selection.blocks
        if len(blocks) > 1:
            return self.several
        if blocks:
            return self.block
        return self.lane if self._document.selection.lane_id is not None else self.machine

    def refresh(self) -> None:
        """Show the selection."""
        section = self.section
        section.refresh()
        if self._pages.currentWidget() is not section:
            self._pages.setCurrentWidget(section)
            self._scroll.verticalScrollBar().setValue(0)
        self.setFocusProxy(section.first)

    def _put_back(self) -> None:
        """Put back what cannot be read and was of something else than what is shown now, and say so."""
        for field in self.findChildren(Field):
            if field.isModified() and not field.hasFocus():
                text, why = field.text(), field.fault
                field.put_back()
                self._document.refused.emit(f"“{text}” was not entered: {why}")

    def focus_first(self) -> None:
        """Put the focus into the first field, all its text selected."""
        self.section.first.setFocus(Qt.FocusReason.ShortcutFocusReason)


class _Pages(QStackedWidget):
    """Pages that are only as high as the one that is shown."""

    def __init__(self) -> None:
        super().__init__()
        self.currentChanged.connect(self._fit)

    def added(self, page: S) -> S:
        """Add a page, which takes no room until it is shown."""
        self.addWidget(page)
        self._fit()
        return page

    def _fit(self) -> None:
        policies = QSizePolicy.Policy
        for page in self.findChildren(PropertyForm, options=Qt.FindChildOption.FindDirectChildrenOnly):
            shown = page is self.currentWidget()
            page.setSizePolicy(policies.Preferred, policies.Preferred if shown else policies.Ignored)
        self.adjustSize()
