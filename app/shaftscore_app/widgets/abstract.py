"""Widgets of which a class leaves something to those that are made from it."""

from __future__ import annotations

from abc import ABCMeta

from PySide6.QtWidgets import QWidget


class AbstractWidgetType(ABCMeta, type(QWidget)):  # type: ignore[misc] # Qt's metaclass is not in its stubs
    """Type of such widgets: Qt's, which also refuses to make one that lacks an abstract method."""

    def __call__(cls, *arguments: object, **named: object) -> object:
        """Make a widget; raises TypeError where its class leaves a method abstract."""
        lacking = ", ".join(sorted(cls.__abstractmethods__))
        if lacking:
            raise TypeError(f"{cls.__name__} is abstract: it has no {lacking} of its own")
        return super().__call__(*arguments, **named)
