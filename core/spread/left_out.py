"""What the chance says nothing about, in sentences for people."""

from __future__ import annotations

from core.model import Project

ALWAYS = "Contact forces and whether bodies meet are judged in the machine as drawn only."
MAGAZINES = "What magazines hold in time is judged as drawn; in other machines, that supplies keep pace."
ORDER = "The order at the outlets is judged in the machine as drawn only."


def left_out(project: Project) -> tuple[str, ...]:
    """Say what the chance leaves out of a project."""
    flow = project.flow
    if flow is None:
        return (ALWAYS,)
    has_order = any(outlet.expects for outlet in flow.outlets)
    return tuple(filter(None, (MAGAZINES if flow.magazines else "", ORDER if has_order else "", ALWAYS)))
