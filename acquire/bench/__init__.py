"""A running bench: its daemon, its children, its desks for commands and overrides, its lock."""
