"""What a port hears at the wrong speed says whether the gauge is slower or faster."""

import pytest

from drivers.find.speeds import SPEEDS_BAUD, speeds_after


def heard_at(listener_baud: int, gauge_baud: int, said: bytes) -> bytes:
    """Bytes with start and stop bit as a port at another speed samples them, bit for bit."""
    line = [b for byte in said for b in (0, *(byte >> i & 1 for i in range(8)), 1)] + [1] * 12
    ratio, at, heard = gauge_baud / listener_baud, 0.0, []
    while at < len(line) - 10 * ratio:
        if line[int(at)]:
            at += ratio / 8
            continue
        bits = [line[int(at + ratio * (i + 1.5))] for i in range(8)]
        heard.append(sum(bit << i for i, bit in enumerate(bits)))
        at += 9.5 * ratio
    return bytes(heard)


SAID = b"".join(b"%+08.3f mm\r\n" % (0.137 * i - 2) for i in range(12))


@pytest.mark.parametrize("gauge_baud", [1200, 2400, 4800])
def test_a_slower_gauge_is_looked_for_at_slower_speeds(gauge_baud):
    assert heard_at(9600, 9600, SAID) == SAID
    assert gauge_baud in speeds_after(heard_at(9600, gauge_baud, SAID))[1:4]


@pytest.mark.parametrize("gauge_baud", [19200, 38400, 57600, 115200])
def test_a_faster_one_at_faster_speeds(gauge_baud):
    assert gauge_baud in speeds_after(heard_at(9600, gauge_baud, SAID))[1:5]


def test_all_speeds_are_tried_the_usual_first():
    assert speeds_after(b"") == SPEEDS_BAUD
    assert set(speeds_after(b"\xf0\x00")) == set(SPEEDS_BAUD)
    assert speeds_after(b"\x55")[0] == SPEEDS_BAUD[0]
