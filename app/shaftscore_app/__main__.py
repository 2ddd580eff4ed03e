"""`python -m shaftscore_app`: the same as the command `shaftscore`."""

from shaftscore_app.runtime.safe_start import forget_current_folder

if __name__ == "__main__":
    forget_current_folder()  # before any library is looked for
    from shaftscore_app.cli import main

    main()
