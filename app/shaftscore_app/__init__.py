"""The editor and the command line.

Read `document` (the one thing all views show), `theme`, `binding` and `actions` first; `main_window` puts
the parts together, `timing` is the diagram in its middle, `views` the docks about it.
"""
