"""Folder acquire/report."""
