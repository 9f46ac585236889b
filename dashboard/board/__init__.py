"""Folder dashboard/board."""
