"""Folder acquire/wires."""
