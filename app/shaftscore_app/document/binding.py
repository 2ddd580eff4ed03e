"""The two helpers through which all values go between the model and the widgets.

`show` brings a value of the model into a widget: silently, and only where it differs, so that neither
an edit loop nor a cursor that jumps to the end can happen. `commit` turns what a person entered into
exactly one undo step, or into the sentence that says why it cannot be.
"""

from __future__ import annotations

from collections.abc import Callable, Hashable, Iterator
from contextlib import contextmanager
from typing import Protocol, TypeVar

from pydantic import ValidationError

from shaftscore.base.errors import ShaftscoreError, one_line
from shaftscore.edits import Edited
from shaftscore_app.document import Document

T = TypeVar("T")


class Mutes(Protocol):
    """A widget whose signals can be held back."""

    def blockSignals(self, block: bool, /) -> bool:  # Qt's name
        """Mute or unmute it."""
        ...


class Shows(Mutes, Protocol[T]):
    """A widget that shows a value."""

    def shown(self) -> T:
        """Return the value that it shows."""
        ...

    def set_shown(self, value: T) -> None:
        """Show another value."""
        ...


@contextmanager
def muted(*widgets: Mutes) -> Iterator[None]:
    """Mute widgets while they are filled."""
    before = [widget.blockSignals(True) for widget in widgets]
    try:
        yield
    finally:
        for widget, was in zip(widgets, before, strict=True):
            widget.blockSignals(was)


def show(widget: Shows[T], value: T) -> None:
    """Show `value` in `widget`: without its signals, and only if it shows another one."""
    if widget.shown() != value:
        with muted(widget):
            widget.set_shown(value)


def commit(document: Document, make: Callable[[], Edited], merge_key: Hashable | None = None) -> str:
    """Make one undo step of what a person entered; give why it cannot be, or an empty text.

    make: applies the edit to `document.committed`. Whatever the model refuses (a bound, a level that
    is not there) comes back as a sentence and changes nothing.
    """
    try:
        edited = make()
    except ValidationError as error:
        return first_fault(error)
    except ShaftscoreError as error:
        return str(error)
    document.perform(edited, merge_key)
    return ""


def first_fault(error: ValidationError) -> str:
    """Write the first thing that a record refused, with the value at fault."""
    fault = error.errors(include_url=False)[0]
    message = fault["msg"].removeprefix("Value error, ")
    given = fault.get("input")
    where = ".".join(str(part) for part in fault["loc"] if isinstance(part, str))
    simple = isinstance(given, int | float | str)
    return one_line(f"{where}: {message}" + (f", got {given}" if simple else ""))
