"""Sample projects that are shipped with the program."""
