"""Menus, shortcuts and the shortcut sheet, from one table."""
