"""Pictures of nothing: the smallest files that are whole JPEG or PNG, each with its own bytes."""

import struct
import zlib


def png(shade: int = 0) -> bytes:
    """One grey pixel (ISO/IEC 15948)."""

    def chunk(name: bytes, data: bytes) -> bytes:
        crc = zlib.crc32(name + data)
        return struct.pack(">I", len(data)) + name + data + struct.pack(">I", crc)

    header = struct.pack(">IIBBBBB", 1, 1, 8, 0, 0, 0, 0)
    pixel = zlib.compress(bytes([0, shade]))
    return b"\x89PNG\r\n\x1a\n" + b"".join(
        [chunk(b"IHDR", header), chunk(b"IDAT", pixel), chunk(b"IEND", b"")]
    )


def jpeg(said: str = "invented") -> bytes:
    """A start, a comment and an end (ISO/IEC 10918-1): what a photograph begins and ends with."""
    comment = said.encode()
    return b"\xff\xd8\xff\xfe" + struct.pack(">H", len(comment) + 2) + comment + b"\xff\xd9"
