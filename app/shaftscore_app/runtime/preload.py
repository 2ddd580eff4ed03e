"""Libraries that a view needs when it is first seen, loaded beside the window once that stands.

Loading them then would keep the window waiting; loading them before would keep it from coming up.
"""

from __future__ import annotations

import logging
from importlib import import_module

from shaftscore_app.runtime.jobs import Jobs
from shaftscore_app.runtime.memory import set_aside

log = logging.getLogger(__name__)

LOAD = "load"
"""Kind of the job."""

MODULES = ("shapely", "shaftscore_app.views.motion_plots", "shaftscore_app.views.stack_gl")
"""Large libraries, and modules that import one."""


def load() -> None:
    """Import them; what cannot be imported here is said by the view that needs it."""
    for name in MODULES:
        try:
            import_module(name)
        except ImportError as error:
            log.info("%s cannot be loaded: %s", name, error)


def load_beside(jobs: Jobs) -> None:
    """Have them imported on a worker."""
    jobs.request(LOAD, load, lambda _nothing: set_aside())
