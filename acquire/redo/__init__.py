"""Folder acquire/redo."""
