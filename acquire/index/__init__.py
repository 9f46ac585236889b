"""Folder acquire/index."""
