"""Folder rules/engine."""
