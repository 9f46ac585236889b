"""Folder acquire/bus."""
