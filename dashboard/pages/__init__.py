"""Folder dashboard/pages."""
