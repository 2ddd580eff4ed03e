"""The editor and the command line.

Read `document` (the one thing all views show), `theme`, `binding` and `actions` first; `main_window` puts
the parts together, `timing` is the diagram in its middle, `views` the docks about it.
"""

import os

# Before numpy is loaded: else its linear algebra starts threads in each process, which wait by turning for
# 0.08 s of processor time, and the arrays here are too small for several.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
