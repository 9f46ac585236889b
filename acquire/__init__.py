"""The daemon and the command line: everything that has effects lives in this room."""
