"""Side-by-side measurements: every claim about speed is a ratio within one run.

One command prints the tables and stores them (needs the extra `bench`):

    .venv/bin/python -m benchmarks

Each module `bench_*.py` has groups of rows: ours first, then what it is measured against. A row's
`extra_info` holds what is not a time: memory, errors, targets.
"""

import os

# As in the program: else threads of numpy's linear algebra wait by turning, which counts as processor time.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
