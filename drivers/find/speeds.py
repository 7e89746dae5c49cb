"""Which speeds to try next, seen from what came at the wrong one."""

SPEEDS_BAUD = 9600, 115200, 4800, 19200, 2400, 57600, 38400, 1200
LONE_SHARE_MAX = 0.2

# As a port reads a byte: the start bit 0 and eight bits. At the wrong speed nobody knows whether
# the stop bit was one.
_BITS = [[0, *(byte >> at & 1 for at in range(8))] for byte in range(256)]
_HAS_LONE_BIT = [any(a != b != c for a, b, c in zip(x, x[1:], x[2:], strict=False)) for x in _BITS]


def speeds_after(data: bytes) -> tuple[int, ...]:
    """All speeds, the first one first, then those that `data`, heard at it, makes likely.

    A gauge that speaks slower holds each of its bits for two or more of ours: then hardly a byte
    has a bit that differs from both its neighbours.
    """
    first, *others = SPEEDS_BAUD
    if not data:
        return SPEEDS_BAUD
    lone = sum(_HAS_LONE_BIT[byte] for byte in data)
    slower = lone <= LONE_SHARE_MAX * len(data)
    return first, *sorted(others, key=lambda baud: (baud < first) is not slower)
