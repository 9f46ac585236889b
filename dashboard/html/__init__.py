"""Folder dashboard/html."""
