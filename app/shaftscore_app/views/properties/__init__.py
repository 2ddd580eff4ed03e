"""The Properties view: always of the selection (a block, several, a lane, or the machine)."""

from shaftscore_app.views.properties.view import PropertiesView

__all__ = ["PropertiesView"]
