"""The dialogs, one module a subject."""
