"""One pure parser for each way a gauge speaks: bytes in, parsed values out, no port and no clock."""
