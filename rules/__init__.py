"""Readings to sizes to findings to verdicts: pure, exact, without clock, files or bus."""
