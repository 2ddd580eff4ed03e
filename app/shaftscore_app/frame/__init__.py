"""The window: bars, status, start page, and what puts them together."""
