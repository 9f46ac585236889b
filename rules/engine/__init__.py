"""Engines: sheets, sets, parts, what can be measured, which limit applies."""
