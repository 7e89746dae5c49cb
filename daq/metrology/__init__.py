"""Pure formulas of measurement: no I/O, no clock, no state. Lengths in millimetres."""
