"""Large libraries loaded beside the window: one once it stands, others when a view is first seen.

Loading them on the window's thread would keep it waiting; loading them before they are needed would keep it
from coming up, or take memory for what nobody looks at.
"""

from __future__ import annotations

import logging
from collections.abc import Callable
from importlib import import_module

from shaftscore_app.runtime.jobs import Jobs

log = logging.getLogger(__name__)

LOAD = "load"
"""Kind of the jobs, before the name of what is loaded."""

SOON = "shapely"
"""What is needed sooner or later, whatever is looked at."""


def load(name: str) -> None:
    """Import a module; what cannot be imported here is said by the view that needs it."""
    try:
        import_module(name)
    except ImportError as error:
        log.info("%s cannot be loaded: %s", name, error)


def load_beside(jobs: Jobs) -> None:
    """Have what is needed soon imported on a worker."""
    load_for(jobs, SOON, lambda _nothing: None)


def load_for(jobs: Jobs, name: str, then: Callable[[None], None]) -> None:
    """Have a module imported on a worker of its own, and `then` called on the window's thread."""
    jobs.request(f"{LOAD} {name}", lambda: load(name), then)
