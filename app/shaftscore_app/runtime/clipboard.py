"""The text that was copied, here or in another program."""

from __future__ import annotations

from PySide6.QtCore import QCoreApplication, QEventLoop
from PySide6.QtGui import QGuiApplication


def copied_text() -> str:
    """Return the copied text, also where another program copied it a moment ago.

    On X11 the message that the clipboard has another owner may still wait to be read: until then Qt answers
    with an empty text.
    """
    board = QGuiApplication.clipboard()
    text = board.text()
    if not text:
        QCoreApplication.processEvents(QEventLoop.ProcessEventsFlag.ExcludeUserInputEvents)
        text = board.text()
    return text
