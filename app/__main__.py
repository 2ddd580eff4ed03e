"""`python -m app`: the same as the command `shaftscore`."""

from app.cli import main

if __name__ == "__main__":
    main()
