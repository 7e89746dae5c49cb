"""What is plugged in, what it says, and how to read it: the answers of `benchtally gauges`."""
