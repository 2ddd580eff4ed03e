"""What the commands of the menus do, one module a subject.

Each class gives its part of the two tables that `menus.actions` needs: `handlers` and `reasons`.
"""
