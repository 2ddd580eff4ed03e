"""The docks about the timing diagram, one module a view."""
