"""Folder acquire/journal."""
