"""The other end of the cable: parts, gauges and a hand, known to the daemon by bytes only."""
