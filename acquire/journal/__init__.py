"""The record: what a line is, how it reaches the disk, how it is read, verified and signed."""
