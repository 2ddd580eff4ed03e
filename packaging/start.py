"""Starts the program from a frozen folder; helpers in processes of their own start here as well."""

import multiprocessing

from shaftscore_app.cli import main

if __name__ == "__main__":
    multiprocessing.freeze_support()
    main()
