"""Make out what is said on a port nobody knows: bytes in, proposals out; no port, no clock."""
