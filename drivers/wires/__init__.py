"""One pure parser for each way a gauge speaks: bytes in, numbers as text out, no port, no clock."""
