"""Folder acquire/bench."""
