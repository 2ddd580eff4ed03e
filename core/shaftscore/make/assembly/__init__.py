"""Proof of the assembly."""
