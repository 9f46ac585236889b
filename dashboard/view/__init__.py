"""Folder dashboard/view."""
