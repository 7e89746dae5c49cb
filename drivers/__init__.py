"""LISTEN: bytes from a gauge become readings. Imports nothing of ours; `reading.py` is what leaves."""
