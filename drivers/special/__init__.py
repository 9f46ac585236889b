"""Decoders for gauges that a profile file cannot describe, one file each."""
