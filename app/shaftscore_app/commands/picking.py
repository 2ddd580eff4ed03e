"""Choosing files, folders and printers: the system's own dialogs, behind a protocol that tests answer."""

from __future__ import annotations

from pathlib import Path
from typing import Protocol

from PySide6.QtGui import QPagedPaintDevice, QPageLayout
from PySide6.QtWidgets import QFileDialog, QWidget

SUFFIX = ".shaft"
KINDS = f"Shaftscore projects (*{SUFFIX})"
IMAGES = "Images (*.png *.gif *.jpg *.jpeg *.bmp *.webp *.pbm *.pgm)"
TABLES = "Tables (*.csv *.tsv *.txt)"


class Picker(Protocol):
    """Lets the person choose a file or a folder; None where they did not."""

    def file_to_open(self, parent: QWidget, folder: str) -> Path | None:
        """Choose a file that is there."""
        ...

    def file_to_save(self, parent: QWidget, proposed: str) -> Path | None:
        """Choose a name."""
        ...

    def folder(self, parent: QWidget, proposed: str, title: str) -> Path | None:
        """Choose a folder; title: says what for."""
        ...

    def table_to_open(self, parent: QWidget, folder: str, title: str) -> Path | None:
        """Choose a table that is there."""
        ...

    def image_to_open(self, parent: QWidget, folder: str) -> Path | None:
        """Choose an image that is there."""
        ...

    def pdf_to_save(self, parent: QWidget, proposed: str) -> Path | None:
        """Choose a name for a PDF."""
        ...

    def picture_to_save(self, parent: QWidget, proposed: str) -> Path | None:
        """Choose a name for a picture of the diagram."""
        ...

    def printer(self, parent: QWidget, layout: QPageLayout) -> QPagedPaintDevice | None:
        """Choose a printer; layout: the page to begin with."""
        ...


class SystemPicker:
    """The system's own dialogs for files and printers."""

    def picture_to_save(self, parent: QWidget, proposed: str) -> Path | None:
        """Choose a name for a picture of the diagram; the suffix is added where there is none."""
        kind = Path(proposed).suffix.removeprefix(".")
        name, _ = QFileDialog.getSaveFileName(
            parent, "Export diagram", proposed, f"{kind.upper()} (*.{kind})"
        )
        return Path(name).with_suffix(f".{kind}") if name else None

    def printer(self, parent: QWidget, layout: QPageLayout) -> QPagedPaintDevice | None:
        """Choose a printer."""
        from PySide6.QtPrintSupport import QPrintDialog, QPrinter  # only printing needs it

        printer = QPrinter(QPrinter.PrinterMode.HighResolution)
        printer.setPageLayout(layout)
        dialog = QPrintDialog(printer, parent)
        dialog.setWindowTitle("Print")
        return printer if dialog.exec() == QPrintDialog.DialogCode.Accepted else None

    def file_to_open(self, parent: QWidget, folder: str) -> Path | None:
        """Choose a file that is there."""
        name, _ = QFileDialog.getOpenFileName(parent, "Open", folder, f"{KINDS};;All files (*)")
        return Path(name) if name else None

    def file_to_save(self, parent: QWidget, proposed: str) -> Path | None:
        """Choose a name; the project's suffix is added where there is none."""
        name, _ = QFileDialog.getSaveFileName(parent, "Save as", proposed, KINDS)
        if not name:
            return None
        path = Path(name)
        return path if path.suffix else path.with_suffix(SUFFIX)

    def folder(self, parent: QWidget, proposed: str, title: str) -> Path | None:
        """Choose a folder; title: says what for."""
        name = QFileDialog.getExistingDirectory(parent, title, proposed)
        return Path(name) if name else None

    def table_to_open(self, parent: QWidget, folder: str, title: str) -> Path | None:
        """Choose a table that is there."""
        name, _ = QFileDialog.getOpenFileName(parent, title, folder, f"{TABLES};;All files (*)")
        return Path(name) if name else None

    def image_to_open(self, parent: QWidget, folder: str) -> Path | None:
        """Choose an image that is there."""
        name, _ = QFileDialog.getOpenFileName(
            parent, "Frames from an image", folder, f"{IMAGES};;All files (*)"
        )
        return Path(name) if name else None

    def pdf_to_save(self, parent: QWidget, proposed: str) -> Path | None:
        """Choose a name for a PDF; the suffix is added where there is none."""
        name, _ = QFileDialog.getSaveFileName(parent, "Build manual", proposed, "PDF (*.pdf)")
        return Path(name).with_suffix(".pdf") if name else None
