"""The assistant for a new machine: from nothing to a first diagram."""

from shaftscore_app.dialogs.new_machine.assistant import NewMachine

__all__ = ["NewMachine"]
