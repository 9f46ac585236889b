"""Folder rules/bench."""
