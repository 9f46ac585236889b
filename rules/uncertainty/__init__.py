"""Folder rules/uncertainty."""
