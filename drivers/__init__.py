"""Bytes to readings: framing, gauge profiles and exact decoding, without ports or clocks."""
