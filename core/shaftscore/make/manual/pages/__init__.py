"""The pages of the manual, one module each: a function gives the flowables of its section."""
