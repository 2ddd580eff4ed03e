"""Colours and icons, read through importlib.resources."""
