"""Folder dashboard/server."""
