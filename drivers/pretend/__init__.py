"""Pretend gauges: the physics of a part, put into bytes, written to a real pseudo serial port."""
