"""The line in which a cell is typed: it completes words, and the same letter again goes to the next one."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from PySide6.QtCore import QEvent, Qt
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QCompleter, QLineEdit, QWidget

GOES_ON = ",>;"
"""What ends a word after which another one comes."""


class CellLine(QLineEdit):
    """The line. Its words are completed in the order given."""

    def __init__(
        self, parent: QWidget, words: Iterable[str], more: Iterable[str] = (), joiner: str = ""
    ) -> None:
        """Make an empty line that knows words.

        more: two of them with `joiner` between, completed too.
        """
        super().__init__(parent)
        self._joiner = joiner
        self._words, self._more = list(words), list(more)
        self._repeated = 0
        self._before = ""
        self._due, self._held = "", ""
        completer = QCompleter([*self._words, *self._more], self)
        completer.setCompletionMode(QCompleter.CompletionMode.InlineCompletion)
        completer.setCaseSensitivity(Qt.CaseSensitivity.CaseInsensitive)
        self.setCompleter(completer)
        self.textEdited.connect(self._go_on)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Remember what was shown before a key; a joiner that was written already may be typed in full."""
        if self._due and event.text() == self._due[0]:
            self._held, self._due = self._held + event.text(), self._due[1:]
            return
        held, self._held, self._due = self._held if self._due else "", "", ""
        for letter in held.strip():  # the beginning of a word, not of the joiner
            self._type(QKeyEvent(QEvent.Type.KeyPress, 0, Qt.KeyboardModifier.NoModifier, letter))
        self._type(event)

    def _type(self, event: QKeyEvent) -> None:
        self._before = self.text()
        super().keyPressEvent(event)

    def _go_on(self, text: str) -> None:
        """Show the next word of a letter that is typed again, or what may follow a word that was ended."""
        begun = next_word(text, self._words, self._repeated)
        self._repeated = 0 if begun is None else begun[1]
        further = begun or self._further(text)
        if further is not None:
            word, typed = (begun[0], 1) if begun else further
            self.setText(word)
            self.setSelection(len(word), typed - len(word))
        if further is not None and not begun:
            self._due = self._joiner[self._joiner.find(text[-1]) + 1 :]

    def _further(self, text: str) -> tuple[str, int] | None:
        """Return what goes on after a word that was just ended, and how much of it is typed; else None."""
        if not text or text[-1] not in GOES_ON:
            return None
        begun = text[:-1].strip().casefold()
        ended = [word for word in (self._before, *self._words) if word in self._words]
        word = next((word for word in ended if begun and word.casefold().startswith(begun)), None)
        onward = (
            None if word is None else next((m for m in self._more if m.startswith(word + self._joiner)), None)
        )
        return None if word is None or onward is None else (onward, len(word + self._joiner))


def next_word(text: str, words: Sequence[str], repeated: int) -> tuple[str, int] | None:
    """Return the word to which the same letter leads when typed again, and how often it was repeated then.

    text: the letter twice. repeated: how often it was repeated before. None where it is no repetition, some
    word begins so, or only one begins with the letter.
    """
    typed = text.casefold()
    if len(typed) != 2 or typed[0] != typed[1]:
        return None
    found = _beginning(typed[0], words)
    if len(found) < 2 or _beginning(typed, words):
        return None
    return found[(repeated + 1) % len(found)], repeated + 1


def _beginning(typed: str, words: Sequence[str]) -> list[str]:
    return [word for word in words if word.casefold().startswith(typed)]
