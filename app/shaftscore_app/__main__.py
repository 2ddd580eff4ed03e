"""`python -m shaftscore_app`: the same as the command `shaftscore`."""

from shaftscore_app.cli import main

if __name__ == "__main__":
    main()
