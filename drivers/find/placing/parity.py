"""Seven bits and a parity bit, heard as eight bits."""

MANY = 0.2  # of the bytes have the eighth bit set, or there is nothing to explain
BYTES_MIN = 16

_ODD_ONES = bytes(byte.bit_count() & 1 for byte in range(256))


def without_parity(data: bytes) -> tuple[bytes, str] | None:
    """The bytes without their parity bit, and which parity it is; None where there is none."""
    if len(data) < BYTES_MIN or sum(byte > 127 for byte in data) < MANY * len(data):
        return None
    odd = sum(data.translate(_ODD_ONES))
    if odd in (0, len(data)):
        return bytes(byte & 127 for byte in data), "odd" if odd else "even"
    if all(byte > 127 for byte in data):
        return bytes(byte & 127 for byte in data), "mark"
    return None
