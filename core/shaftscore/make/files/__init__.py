"""One module a file format, and the order that says which parts are written."""
