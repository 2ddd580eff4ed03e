"""The command line: one module a command, `program` puts them together.

What a command needs is imported inside it, so that each starts as fast as it can and none but the editor
loads Qt.
"""

from shaftscore_app.cli.program import main

__all__ = ["main"]
