"""Folder acquire/inputs."""
