"""Folder acquire/demo."""
