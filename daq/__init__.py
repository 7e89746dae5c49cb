"""UNDERSTAND AND KEEP: readings become measured values, decisions and an append-only record."""
