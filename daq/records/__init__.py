"""The journal on disk: append-only entries, traces, and the only SQL of the project."""
