"""LISTEN: bytes from a gauge become readings. Imports nothing of ours; only `reading` leaves."""
