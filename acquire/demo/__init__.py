"""The demonstration: simulated gauges and a simulated hand before a real daemon."""
