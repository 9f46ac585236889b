"""Ports: serial lines, device servers and USB, each a source of stamped bytes."""
